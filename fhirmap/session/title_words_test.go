package session

import "testing"

// A word that means one word of a column is taken, any other is kept; a misspelt one
// and a word of another column are asked about.
func TestWordsOfColumns(t *testing.T) {
	const heads = "session,time,medicine,kind,dose,dose_unit,route\n"
	for _, tt := range []struct{ kind, route, want string }{
		{"other", "lock", ""}, {"other", "subcutaneous", ""}, {"EPO", "s.c.", ""}, {"other", "orally", ""},
		{"other", "catheter", ""},
		{"lock", "catheter lock", ""}, {"circuit", "vein", "anticoagulant, ESA, iron, other; circuit is a word for the column route"},
		{"antibiotic", "nose", ""}, {"anticoagulent", "circuit", "anticoagulant"}, {"Other", "Circuit", ""},
	} {
		_, findings := read(t, map[string]string{aboutFile: aboutOK, "sessions.csv": "session,date,start,end,status\na,2025-11-03,18:30,21:30,done\n",
			"medicines.csv": heads + "a,21:30,taurolidine," + tt.kind + ",4,mL," + tt.route + "\n"})
		got := ""
		for _, f := range findings {
			got += f.Expected.String()
		}
		if got != tt.want {
			t.Errorf("%+v: %s", tt, got)
		}
	}
}
