package fhirmap

import (
	"slices"
	"strings"

	"runsheet.example/fhirmap/session"
)

// withheld replaces an omitted text where a resource requires one.
const withheld = "left out: no free text was asked for"

// withoutWords returns the log without its free texts. It keeps numbers,
// times, words of fixed lists, identifiers, lots and codes, and the names of
// medicines and symptoms in our own tables.
func withoutWords(log *session.Log) *session.Log {
	out := *log
	out.About.Clinic = session.Text{}
	out.About.Prescriptions = each(log.About.Prescriptions, func(p *session.Prescription) {
		p.Dialyser, p.Anticoagulant = session.Text{}, session.Text{}
	})
	out.About.Accesses = each(log.About.Accesses, func(a *session.Access) { a.Site = session.Text{} })
	out.About.Devices = each(log.About.Devices, func(d *session.Device) { d.Name = session.Text{} })
	out.Sessions = eachAt(log.Sessions, func(s *session.Session) {
		s.Reason, s.Texts = session.Text{}, listedTexts(s.Texts)
		s.Checks = eachAt(s.Checks, func(c *session.Check) {
			c.Result, c.ByWhom = listed(session.SheetChecks, "result", c.Result), listed(session.SheetChecks, "by_whom", c.ByWhom)
			c.Words = session.Text{}
			if listed(session.SheetChecks, "what", c.What) == (session.Text{}) {
				c.What.Text, c.Kind.Name = withheld, withheld
			}
		})
		s.Readings = eachAt(s.Readings, func(r *session.Reading) { r.Note = session.Text{} })
		s.Medicines = eachAt(s.Medicines, func(m *session.Medicine) {
			m.Route = listed(session.SheetMedicines, "route", m.Route)
			if _, ok := substances[strings.ToLower(m.Name.Text)]; !ok {
				m.Name.Text = withheld
			}
		})
		s.Labs = eachAt(s.Labs, func(l *session.Lab) { l.Laboratory = session.Text{} })
		s.Events = eachAt(s.Events, func(e *session.Event) {
			e.Action = session.Text{}
			if strings.Trim(e.AlarmNumber.Text, "0123456789") != "" {
				e.AlarmNumber = session.Text{}
			}
			if _, ok := symptoms[strings.ToLower(strings.TrimSpace(e.What.Text))]; !ok {
				e.What.Text = withheld
			}
		})
	})
	return &out
}

// listedTexts are the texts of a session that are words of a list.
func listedTexts(texts map[session.Field]session.Text) map[session.Field]session.Text {
	out := map[session.Field]session.Text{}
	for field, text := range texts {
		switch {
		case field == "prescription": // it selects one and is not written
			out[field] = text
		case field == "needle_gauge" && strings.Trim(text.Text, "0123456789") == "":
			out[field] = text
		default:
			out[field] = listed(session.SheetSessions, field, text)
		}
	}
	return out
}

// listed returns a text that is one of its column's words, otherwise none.
func listed(sheet session.Sheet, field session.Field, text session.Text) session.Text {
	for _, c := range session.Columns {
		if c.Sheet == sheet && c.Field == field && slices.Contains(c.Choices, text.Text) {
			return text
		}
	}
	return session.Text{}
}

// each returns a copy of a list with each item changed.
func each[T any](list []T, change func(*T)) []T {
	out := append([]T(nil), list...)
	for i := range out {
		change(&out[i])
	}
	return out
}

// eachAt returns a list of changed copies.
func eachAt[T any](list []*T, change func(*T)) []*T {
	out := make([]*T, len(list))
	for i, item := range list {
		changed := *item
		change(&changed)
		out[i] = &changed
	}
	return out
}
