package adequacy

import (
	"strconv"
	"time"

	"runsheet.example/fhirmap/measure"
	"runsheet.example/fhirmap/session"
)

// weeks returns the weeks of the kinetic model, which are all weeks of the
// log.
func (t Table) weeks() []Week {
	calendar := measure.NewCalendar(t.Log)
	weeks := make([]Week, 0, len(t.Kinetics.Weeks))
	for _, k := range t.Kinetics.Weeks {
		w := Week{Monday: k.Monday, Kinetic: k, Prescribed: prescribed(t.Log, k.Monday)}
		sunday := w.Monday.AddDate(0, 0, 6)
		w.Whole = calendar.Covers(w.Monday, sunday)
		w.Counted = calendar.Days(w.Monday, 7)
		w.Excess = measure.WeightExcess(t.Log, w.Monday, 7)
		w.rolling(calendar, sunday)
		weeks = append(weeks, w)
	}
	for _, s := range t.Sessions {
		if w := weekOf(weeks, s); w != nil && !s.Broken && s.Status != session.SkippedStatus {
			w.add(s)
		}
	}
	return weeks
}

func weekOf(weeks []Week, s measure.Session) *Week {
	if !s.Date.OK() {
		return nil
	}
	for i := range weeks {
		if day := s.Date.Time; !day.Before(weeks[i].Monday) && day.Before(weeks[i].Monday.AddDate(0, 0, 7)) {
			return &weeks[i]
		}
	}
	return nil
}

// rolling counts seven and 28 days: a calendar week hides a gap across its
// border.
func (w *Week) rolling(calendar measure.Calendar, sunday time.Time) {
	w.Fewest, w.Most = -1, -1
	for back := 0; back < 7; back++ {
		last := sunday.AddDate(0, 0, -back)
		first := last.AddDate(0, 0, -6)
		if !calendar.Covers(first, last) {
			continue
		}
		n := calendar.Days(first, 7).Done
		if w.Fewest < 0 || n < w.Fewest {
			w.Fewest = n
		}
		w.Most = max(w.Most, n)
	}
	if first := sunday.AddDate(0, 0, -27); calendar.Covers(first, sunday) {
		w.Month = calendar.Days(first, 28)
	}
}

// prescribed is the prescribed number of sessions a week, by the prescription
// in force on the first day of the week, otherwise by the first one within it.
func prescribed(log *session.Log, monday time.Time) string {
	for back := 0; back < 7; back++ {
		p, ok := log.About.PrescriptionOn(monday.AddDate(0, 0, back))
		switch {
		case ok && p.SessionsPerWeek.OK():
			return p.SessionsPerWeek.Decimal.String()
		case ok && len(p.Weekdays) > 0:
			return strconv.Itoa(len(p.Weekdays))
		case ok:
			return ""
		}
	}
	return ""
}

func (w *Week) add(s measure.Session) {
	if s.Status == session.CutShort {
		w.CutShort++
	}
	if litres, ok := measure.Litres(s.Session.Value("uf_removed")); ok {
		w.UFLitres += litres
	} else {
		w.WithoutUF++
	}
	if rate, ok := s.Value("uf_rate_per_kg"); ok {
		highest, err := strconv.ParseFloat(w.MaxUFRate, 64)
		if err != nil || rate.Result.Value > highest {
			w.MaxUFRate = rate.Result.Rounded()
		}
	}
	for _, v := range s.Values {
		if v.Key() == "std_kt_v_weekly" {
			w.Doses = append(w.Doses, v)
		}
	}
}
