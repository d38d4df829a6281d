package session

import "testing"

// A heading in pounds, degrees Fahrenheit or millilitres is read in that unit,
// and an empty log in US units asks for them.
func TestHeadingsInOtherUnits(t *testing.T) {
	log, findings := read(t, map[string]string{"sessions.csv": "session,date,start,end,status,weight_before_lb,temperature_before_f,UF removed ml\n" +
		"a,2025-11-03,18:30,21:30,done,158.5,97.9,1850\n"})
	if got := said(findings); len(got) > 0 {
		t.Errorf("found %q", got)
	}
	for field, want := range map[Field]string{"weight_before": "158.5 [lb_av]", "temperature_before": "97.9 [degF]", "uf_removed": "1850 mL"} {
		if v := log.Sessions[0].Value(field); !v.OK() || v.Decimal.String()+" "+v.Unit != want {
			t.Errorf("%s is %s %s, want %s", field, v.Decimal, v.Unit, want)
		}
	}
	changed := 0
	for _, c := range USUnits.ColumnsOf(SheetSessions) {
		h, ok := columnHeaded(SheetSessions, c.Name)
		if !ok {
			t.Fatalf("%s cannot be read back", c.Name)
		}
		if h.own.Name != c.Name {
			changed++
		}
	}
	if changed != 5 {
		t.Errorf("%d columns are in US units, want three weights and two temperatures", changed)
	}
}

// A time after a date is no error. It is told unless it is midnight or the
// start of the session.
func TestTimeBehindTheDate(t *testing.T) {
	for date, want := range map[string]int{"2025-11-03 00:00": 0, "2025-11-03 18:30:00": 0, "2025-11-03T18:30": 0, "3/11/2025 6:30 pm": 0, "2025-11-03 09:12": 1} {
		log, findings := read(t, map[string]string{"sessions.csv": "session,date,start,end,status\na," + date + ",18:30,21:30,done\n"})
		told := 0
		for _, f := range findings {
			if f.Rule == "log-date-time" {
				told++
			}
		}
		if one := log.Sessions[0]; !one.Date.OK() && date[0] == '2' || one.Broken && date[0] == '2' || told != want {
			t.Errorf("%s: date read %v, held back %v, told %d times, want %d", date, one.Date.OK(), one.Broken, told, want)
		}
	}
}
