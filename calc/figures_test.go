package calc

import (
	"slices"
	"strings"
	"testing"
)

// Each statement's scope, from the texts named in Figures: who is described,
// and one step outside on every side.
func TestFiguresStayInTheirScope(t *testing.T) {
	adult := func(sessions, hours, kru float64) Patient {
		return Patient{AgeYears: Known(63), SessionsPerWeek: Known(sessions), HoursPerSession: Known(hours), KruMLPerMin: Known(kru), SurfaceM2: Known(1.73), DialysateMLMin: Known(200)}
	}
	with := func(c Patient, change func(*Patient)) Patient {
		change(&c)
		return c
	}
	const home = " casino2023-std"
	const kdoqi = "kdoqi2006-urr-min kdoqi2006-urr-target kdoqi2006-spktv-min kdoqi2006-spktv-target"
	for name, c := range map[string]struct {
		patient Patient
		want    string
	}{
		"three a week, no residual function": {adult(3, 4, 0), kdoqi + " uk2019-ektv" + home + " kdoqi2006-time-min uk2019-hours"},
		"three a week, 1.9 mL/min":           {adult(3, 4, 1.9), kdoqi + home + " kdoqi2006-time-min"},
		"three a week, 2 mL/min":             {adult(3, 4, 2), home[1:]},
		"three a week, clearance not known":  {with(adult(3, 4, 0), func(c *Patient) { c.KruMLPerMin = Maybe{} }), "uk2019-ektv" + home + " uk2019-hours"},
		"1.5 mL/min in a small person":       {with(adult(3, 4, 1.5), func(c *Patient) { c.SurfaceM2 = Known(1.25) }), home[1:] + " kdoqi2006-time-min"},
		"2.5 mL/min in a large person":       {with(adult(3, 4, 2.5), func(c *Patient) { c.SurfaceM2 = Known(2.3) }), kdoqi + home},
		"surface not known":                  {with(adult(3, 4, 1), func(c *Patient) { c.SurfaceM2 = Maybe{} }), home[1:] + " kdoqi2006-time-min"},
		"three nights of 5 h":                {adult(3, 5, 1), strings.TrimPrefix(kdoqi, "kdoqi2006-urr-min ") + home + " kdoqi2006-time-min"},
		"six short sessions":                 {adult(6, 2.5, 0), home[1:]},
		"alternate days":                     {adult(3.5, 5, 0), home[1:]},
		"two a week":                         {adult(2, 5, 0), ""},
		"six short sessions, 500 mL/min":     {with(adult(6, 2.5, 0), func(c *Patient) { c.DialysateMLMin = Known(500) }), ""},
		"six short sessions, 200.1 mL/min":   {with(adult(6, 2.5, 0), func(c *Patient) { c.DialysateMLMin = Known(200.1) }), ""},
		"dialysate flow not known":           {with(adult(6, 2.5, 0), func(c *Patient) { c.DialysateMLMin = Maybe{} }), ""},
		"schedule not known":                 {with(adult(3, 4, 0), func(c *Patient) { c.SessionsPerWeek = Maybe{} }), ""},
		"a boy of 17":                        {with(adult(3, 4, 0), func(c *Patient) { c.AgeYears = Known(17) }), ""},
		"age not known":                      {with(adult(3, 4, 0), func(c *Patient) { c.AgeYears = Maybe{} }), ""},
	} {
		t.Run(name, func(t *testing.T) {
			var got []string
			for _, f := range Figures() {
				if f.Scope.Includes(c.patient) {
					got = append(got, f.ID)
				}
			}
			if strings.Join(got, " ") != c.want {
				t.Errorf("got  %s\nwant %s", strings.Join(got, " "), c.want)
			}
		})
	}
}

func TestFiguresAreSourced(t *testing.T) {
	var seen []string
	for _, f := range Figures() {
		if slices.Contains(seen, f.ID) {
			t.Errorf("%s twice", f.ID)
		}
		seen = append(seen, f.ID)
		if f.Source == "" || f.Read == "" || f.Scope.Quote == "" || f.Unit == "" || strings.Contains(f.Read, "memory") {
			t.Errorf("%s: incomplete or not read", f.ID)
		}
		if !slices.ContainsFunc(Vocabulary(), func(s InputSpec) bool { return s.Key == f.Key && s.Unit == f.Unit }) {
			t.Errorf("%s: %s in %s is not in the vocabulary", f.ID, f.Key, f.Unit)
		}
	}
}
