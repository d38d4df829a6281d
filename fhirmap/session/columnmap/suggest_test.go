package columnmap_test

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"runsheet.example/fhirmap/session"
	"runsheet.example/fhirmap/session/columnmap"
	"runsheet.example/validate/issue"
)

// A draft is a map that can be read as it is, and every value it reads is the
// one that the reviewed map reads from the same cell, in the same unit: what
// the draft does not know it leaves out, it does not misread.
func TestDraftsOfTheSheets(t *testing.T) {
	for _, name := range sheetNames {
		t.Run(name, func(t *testing.T) {
			full := filepath.Join(sheetsDir, name)
			draft, err := columnmap.Suggest(full)
			if err != nil {
				t.Fatal(err)
			}
			if _, err := columnmap.Parse([]byte(draft.Text), "draft.toml"); err != nil {
				t.Fatalf("the draft is no map: %v\n%s", err, draft.Text)
			}
			if draft.Sure < 6 {
				t.Errorf("%s\n%s", draft.Summary(), draft.Text)
			}
			compareDraft(t, full, name, draft.Text)
		})
	}
}

func compareDraft(t *testing.T, full, name, text string) {
	t.Helper()
	// What the person would do first.
	text = strings.Replace(text, "# [table.set]\n# \"sessions.status\"", "[table.set]\n\"sessions.status\"", 1)
	text = strings.Replace(text, "# absences", "absences", 1)
	text = strings.Replace(text, "# skip_rows", "skip_rows", 1)
	text = strings.Replace(text, `# "early" = "done"`, `"early" = "cut short"`, 1)
	m, err := columnmap.Parse([]byte(text), "draft.toml")
	if err != nil {
		t.Fatal(err)
	}
	about, err := os.ReadFile(filepath.Join(filepath.Dir(full), "log.toml"))
	if err != nil {
		about, err = os.ReadFile(filepath.Join(filepath.Dir(full), "map.toml"))
	}
	if err != nil {
		t.Fatal(err)
	}
	got, findings, err := columnmap.Read(full, m, &columnmap.About{Name: "about.toml", Text: about}, session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range findings {
		if f.Severity == issue.Error {
			t.Errorf("%s %s: %s", f.Rule, f.Cells[0], f.Details)
		}
	}
	want, _ := readSheet(t, name)
	if len(got.Sessions) != len(want.Sessions) {
		t.Fatalf("%d sessions, want %d", len(got.Sessions), len(want.Sessions))
	}
	values, all := 0, 0
	for i, s := range got.Sessions {
		other := want.Sessions[i]
		if !s.Start.Time.Equal(other.Start.Time) || !s.End.Time.Equal(other.End.Time) || s.Status != other.Status || len(s.Readings) != len(other.Readings) || len(s.Labs) != len(other.Labs) {
			t.Fatalf("session %s differs from %s", s.ID, other.ID)
		}
		all += len(other.Values)
		values += sameValues(t, s.Values, other.Values)
		for j, r := range s.Readings {
			all += len(other.Readings[j].Values)
			values += sameValues(t, r.Values, other.Readings[j].Values)
		}
	}
	if values*10 < all*8 {
		t.Errorf("the draft reads %d of %d values", values, all)
	}
}

func sameValues(t *testing.T, got, want map[session.Field]session.Value) int {
	t.Helper()
	for field, v := range got {
		if w := want[field]; w != v {
			t.Errorf("%s: %+v, want %+v", field, v, w)
		}
	}
	return len(got)
}

// Headings in six languages, with what stands below them, and what they may
// be. "?" before the target: it is left as a comment.
func TestHeadingsInSixLanguages(t *testing.T) {
	weights, pounds, either := "72,4;71,9;73,0", "160.2;159.8;161.0", "120;121;119"
	pairs, temps := "142/78;138/80;151/77", "36,4;36,6;36,2"
	tests := []struct{ heading, cells, want string }{
		{"Weight before", weights, "sessions.weight_before kg"},
		{"Weight before", pounds, "?sessions.weight_before"}, // 160 kg and 160 lb are both weights
		{"Weight before (lb)", pounds, "sessions.weight_before lb"},
		{"Weight before (kg)", "720;719;730", "?sessions.weight_before"},
		{"Pre-dialysis weight", either, "?sessions.weight_before"},
		{"Weight", weights, "?sessions.weight_before"},
		{"Gewicht vorher", weights, "sessions.weight_before kg"},
		{"Gewicht nach HD (kg)", weights, "sessions.weight_after kg"},
		{"Trockengewicht", weights, "sessions.dry_weight kg"},
		{"Poids après", weights, "sessions.weight_after kg"},
		{"Poids sec", weights, "sessions.dry_weight kg"},
		{"Peso antes (kg)", weights, "sessions.weight_before kg"},
		{"Peso después", weights, "sessions.weight_after kg"},
		{"Peso seco", weights, "sessions.dry_weight kg"},
		{"Gewicht voor", weights, "sessions.weight_before kg"},
		{"Gewicht na", weights, "sessions.weight_after kg"},
		{"Streefgewicht", weights, "sessions.dry_weight kg"},
		{"Peso prima", weights, "sessions.weight_before kg"},
		{"Peso dopo (kg)", weights, "sessions.weight_after kg"},
		{"RR vor", pairs, "sessions.bp_before_systolic sessions.bp_before_diastolic mmHg"},
		{"Blutdruck nach", pairs, "sessions.bp_after_systolic sessions.bp_after_diastolic mmHg"},
		{"Blutdruck stehend vor", pairs, "sessions.bp_before_standing_systolic sessions.bp_before_standing_diastolic mmHg"},
		{"TA avant", pairs, "sessions.bp_before_systolic sessions.bp_before_diastolic mmHg"},
		{"Tensión arterial antes", pairs, "sessions.bp_before_systolic sessions.bp_before_diastolic mmHg"},
		{"Presión arterial antes", pairs, "sessions.bp_before_systolic sessions.bp_before_diastolic mmHg"},
		{"Bloeddruk voor", pairs, "sessions.bp_before_systolic sessions.bp_before_diastolic mmHg"},
		{"Pressione arteriosa dopo", pairs, "sessions.bp_after_systolic sessions.bp_after_diastolic mmHg"},
		{"Systolic before", "142;138;151", "sessions.bp_before_systolic mmHg"},
		{"Diastole nach", "78;80;77", "sessions.bp_after_diastolic mmHg"},
		{"BP", pairs, "?sessions.bp_before_systolic"},
		{"Puls nach", "72;75;80", "sessions.pulse_after /min"},
		{"Pouls avant", "72;75;80", "sessions.pulse_before /min"},
		{"Pulso antes", "72;75;80", "sessions.pulse_before /min"},
		{"Hartslag voor", "72;75;80", "sessions.pulse_before /min"},
		{"Temperatur vor", temps, "sessions.temperature_before °C"},
		{"Température avant (°C)", temps, "sessions.temperature_before °C"},
		{"Temp pre", "97.5;98.2;97.9", "sessions.temperature_before °F"},
		{"UF", "1,8;2,1;1,9", "sessions.uf_removed L"},
		{"UF-Volumen (ml)", "1800;2100;1900", "sessions.uf_removed mL"},
		{"UF-Ziel", "1800;2100;1900", "sessions.uf_goal mL"},
		{"UF-mål (ml)", "1800;2100;1900", "sessions.uf_goal mL"},
		{"UF / prévue (ml)", "1800;2100;1900", "sessions.uf_goal mL"},
		{"UF / réalisée (ml)", "1800;2100;1900", "sessions.uf_removed mL"},
		{"UF gepland (ml)", "1800;2100;1900", "sessions.uf_goal mL"},
		{"UF prevista", "1800;2100;1900", "sessions.uf_goal mL"},
		{"UF programada", "1800;2100;1900", "sessions.uf_goal mL"},
		{"UF geplant", "1800;2100;1900", "sessions.uf_goal mL"},
		{"UF planned", "1800;2100;1900", "sessions.uf_goal mL"},
		{"UF célérték (ml)", "1800;2100;1900", "?sessions.uf_removed"}, // a language that is not known
		{"UF planned/done", "1800;2100;1900", "?sessions.uf_goal"},
		{"Treatment time planned (min)", "240;238;241", "?sessions.treated_time"},
		{"Blood flow prescribed", "300;320;310", "?sessions.blood_flow"},
		{"Ultrafiltración objetivo", "1800;2100;1900", "sessions.uf_goal mL"},
		{"Blutfluss", "300;320;310", "sessions.blood_flow mL/min"},
		{"Débit sang (ml/min)", "300;320;310", "sessions.blood_flow mL/min"},
		{"Flujo de sangre", "300;320;310", "sessions.blood_flow mL/min"},
		{"Bloedflow", "300;320;310", "sessions.blood_flow mL/min"},
		{"Flusso sangue", "300;320;310", "sessions.blood_flow mL/min"},
		{"Qd (ml/min)", "500;500;500", "sessions.dialysate_flow mL/min"},
		{"Dialysate flow", "9;9;9", "sessions.dialysate_flow L/h"},
		{"Behandlungszeit (min)", "240;238;241", "sessions.treated_time min"},
		{"Durée", "4:00;3:58;4:01", "sessions.treated_time h:mm"},
		{"Date de la séance", "03/11/2025;05/11/2025;14/11/2025", "sessions.date"},
		{"Fecha", "03/11/2025;05/11/2025;14/11/2025", "sessions.date"},
		{"Data", "03/11/2025;05/11/2025;14/11/2025", "sessions.date"},
		{"Datum", "warm;kalt;warm", "?sessions.date"},
		{"Inicio", "18:30;18:32;18:29", "sessions.start"},
		{"Fine", "22:30;22:32;22:29", "sessions.end"},
		{"Einde", "22:30;22:32;22:29", "sessions.end"},
		{"Observaciones", "bien;calambres;bien", "sessions.notes"},
		{"Opmerkingen", "goed;kramp;goed", "sessions.notes"},
		{"Bemerkungen", "gut;Krampf;gut", "sessions.notes"},
		{"Natrium Dialysat (mmol/l)", "138;138;140", "sessions.dialysate_sodium mmol/L"},
		{"Kalium", "2;2;3", "?sessions.dialysate_potassium"}, // of the dialysate, or of the blood
		{"Harnstoff vor", "22;24;21", "?labs.value"},         // no unit: two laboratories use two
		{"Venöser Druck", "150;148;152", "?readings.venous_line_pressure"},
	}
	for _, tt := range tests {
		t.Run(tt.heading+" "+tt.cells, func(t *testing.T) {
			if got := suggested(t, tt.heading, tt.cells); got != tt.want {
				t.Errorf("suggested %q, want %q", got, tt.want)
			}
		})
	}
}

var entryForm = regexp.MustCompile(`(?m)^(# )?\s*\[\[table\.(?:column|group\.column)\]\]\n(?:(?:# )?\s*(?:cell|heading|column) = .*\n)*(?:# )?\s*to = (.*)\n(?:(?:# )?\s*split = .*\n)?(?:(?:# )?\s*unit = "(.*)"\n)?`)

// suggested drafts a map for a sheet with one heading to look at, and returns
// what it goes to.
func suggested(t *testing.T, heading, cells string) string {
	t.Helper()
	var text strings.Builder
	text.WriteString("Completed;Needle problems;" + heading + "\n")
	for _, cell := range strings.Split(cells, ";") {
		text.WriteString("yes;none;" + cell + "\n")
	}
	draft, err := columnmap.SuggestFor([]byte(text.String()), "sheet.csv")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := columnmap.Parse([]byte(draft.Text), "draft.toml"); err != nil {
		t.Fatalf("%v\n%s", err, draft.Text)
	}
	all := entryForm.FindAllStringSubmatch(draft.Text, -1)
	last := all[len(all)-1]
	targets := strings.NewReplacer(`"`, "", "[", "", "]", "", ",", "").Replace(last[2])
	if targets == "value" {
		targets = "labs.value"
	}
	if last[1] != "" {
		return "?" + strings.Fields(targets)[0]
	}
	unit := map[string]string{"ml": "mL", "ml/min": "mL/min", "mmol/l": "mmol/L"}[last[3]]
	if unit == "" {
		unit = last[3]
	}
	return strings.TrimSpace(targets + " " + unit)
}

func TestNothingToSuggest(t *testing.T) {
	for name, text := range map[string]string{"a.csv": "x;y\n1;2\n", "b.csv": "", "c.xlsx": "no workbook"} {
		if d, err := columnmap.SuggestFor([]byte(text), name); err == nil {
			t.Errorf("%s: drafted %q", name, d.Text)
		}
	}
}

// A draft passes over no row: days of the week beside the date, and a line of
// means, leave every row of the sheet in it.
func TestDraftPassesOverNothing(t *testing.T) {
	var text strings.Builder
	text.WriteString("Day;Date;Start;End;Weight before (kg);Weight after (kg);UF;UF\n")
	for _, row := range []string{"Mon;2025-11-03", "Wed;2025-11-05", "Fri;2025-11-14", "Mean;"} {
		text.WriteString(row + ";18:30;22:30;72,4;70,2;2,2;2,4\n")
	}
	draft, err := columnmap.SuggestFor([]byte(text.String()), "sheet.csv")
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range strings.Split(draft.Text, "\n") {
		if strings.HasPrefix(strings.TrimSpace(line), "skip_rows") {
			t.Errorf("the draft passes over rows: %s", line)
		}
		if strings.HasPrefix(line, `heading = "Day"`) || strings.HasPrefix(line, `heading = "UF"`) {
			t.Errorf("the draft takes a column that may be another: %s", line)
		}
	}
	if !strings.Contains(draft.Text, "\nheading = \"Date\"\nto = \"sessions.date\"") {
		t.Errorf("the dates are not found:\n%s", draft.Text)
	}
}
