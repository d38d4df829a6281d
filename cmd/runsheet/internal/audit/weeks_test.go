package audit

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"runsheet.example/cmd/runsheet/internal/roster"
	"runsheet.example/validate/manifest"
)

// attended writes sessions as "DAY KIND", such as "2025-01-06 done"; a second log
// is "DAY KIND other".
func attended(t *testing.T, texts []string) (out []session) {
	t.Helper()
	kinds := map[string]kind{"done": done, "cut": cutShort, "not": notDone, "silent": unexplained, "again": done}
	logs := map[bool]*Export{false: {Dir: "a", Log: "one"}, true: {Dir: "b", Log: "two"}}
	for i, text := range texts {
		words := strings.Fields(text)
		at, err := time.Parse(time.DateOnly, words[0])
		if err != nil {
			t.Fatal(err)
		}
		s := session{id: fmt.Sprint(i), from: logs[len(words) > 2], day: dayOf(at), start: at.Unix() + 3600, end: at.Unix() + 7200, kind: kinds[words[1]]}
		if words[1] == "again" {
			s.start, s.end = s.end+600, s.end+6000
		}
		out = append(out, s)
	}
	return out
}

// wasDone are days of a week from a Monday on, each with a session that was done.
func wasDone(monday string, offsets ...int) (out []string) {
	at, _ := time.Parse(time.DateOnly, monday)
	for _, n := range offsets {
		out = append(out, at.AddDate(0, 0, n).Format(time.DateOnly)+" done")
	}
	return out
}

// Each week has what the plan says, or an explanation; 2025-01-06 is a Monday.
func TestAttendance(t *testing.T) {
	const monday, next, third = "2025-01-06", "2025-01-13", "2025-01-20"
	person := func(change func(p *roster.Person)) []roster.Person {
		p := roster.Person{Identifier: roster.Identifier{System: "s", Value: "N"}, Row: 2, PerWeek: 3}
		change(&p)
		return []roster.Person{p}
	}
	plain := person(func(*roster.Person) {})
	leave := func(from, to string) []roster.Person {
		return person(func(p *roster.Person) { p.Leave = []roster.Leave{{From: from, To: to, Reason: "hospital"}} })
	}
	three := slices.Concat(wasDone(monday, 0, 2, 4), wasDone(next, 0, 2, 4), wasDone(third, 0, 2, 4))
	for name, c := range map[string]struct {
		rows     []roster.Person
		plan     []manifest.Expected
		held     []Held
		sessions []string
		from, to string
		want     string // rules, and unexplained
	}{
		"all": {rows: plain, sessions: three, from: monday, to: "2025-01-26", want: "0"},
		"one missing": {rows: plain, sessions: slices.Concat(wasDone(monday, 0, 2, 4), wasDone(next, 0, 4), wasDone(third, 0, 2, 4)), from: monday, to: "2025-01-26",
			want: "audit-week-unexplained 1"},
		"one more":        {rows: plain, sessions: slices.Concat(wasDone(monday, 0, 1, 2, 4), wasDone(next, 0, 4)), from: monday, to: "2025-01-19", want: "audit-week-unexplained 1"},
		"cut short":       {rows: plain, sessions: append(wasDone(monday, 0, 2), "2025-01-10 cut"), from: monday, to: "2025-01-12", want: "0"},
		"started again":   {rows: plain, sessions: append(wasDone(monday, 0), "2025-01-10 cut", "2025-01-10 again"), from: monday, to: "2025-01-12", want: "audit-week-unexplained 1"},
		"not, and why":    {rows: plain, sessions: append(wasDone(monday, 0, 2), "2025-01-10 not"), from: monday, to: "2025-01-12", want: "0"},
		"not, and silent": {rows: plain, sessions: append(wasDone(monday, 0, 2), "2025-01-10 silent"), from: monday, to: "2025-01-12", want: "audit-week-unexplained 1"},
		"held back": {rows: plain, sessions: wasDone(monday, 0, 2), held: []Held{{Session: "x", Day: "2025-01-10"}, {Session: "x", Day: "2025-01-10"}},
			from: monday, to: "2025-01-12", want: "0"},
		"held back, no day": {rows: plain, sessions: wasDone(monday, 0, 2), held: []Held{{Session: "x"}}, from: monday, to: "2025-01-12", want: "audit-week-unexplained 1"},
		"alternate days": {rows: person(func(p *roster.Person) { p.PerWeek = 3.5 }), from: monday, to: "2025-01-26", want: "0",
			sessions: slices.Concat(wasDone(monday, 1, 3, 5), wasDone(next, 0, 2, 4, 6), wasDone(third, 1, 3, 5))},
		"alternate days, one missing in two weeks": {rows: person(func(p *roster.Person) { p.PerWeek = 3.5 }), sessions: three, from: monday, to: "2025-01-26",
			want: "audit-week-unexplained 1"},
		"leave":            {rows: leave(next, "2025-01-19"), sessions: slices.Concat(wasDone(monday, 0, 2, 4), wasDone(third, 0, 2, 4)), from: monday, to: "2025-01-26", want: "0"},
		"one day of leave": {rows: leave("2025-01-15", "2025-01-15"), sessions: slices.Concat(wasDone(monday, 0, 2, 4), wasDone(next, 0)), from: monday, to: "2025-01-19", want: "audit-week-unexplained 1"},
		"ends in a week":   {rows: plain, sessions: slices.Concat(wasDone(monday, 4), wasDone(next, 0, 2)), from: "2025-01-10", to: "2025-01-17", want: "0"},
		"left the unit":    {rows: person(func(p *roster.Person) { p.To = "2025-01-12" }), sessions: wasDone(monday, 0, 2, 4), from: monday, to: "2025-01-26", want: "0"},
		"after leaving":    {rows: person(func(p *roster.Person) { p.To = "2025-01-12" }), sessions: three, from: monday, to: "2025-01-26", want: "audit-patient-unknown 0"},
		"plan of the record": {rows: person(func(p *roster.Person) { p.PerWeek = 0 }), plan: []manifest.Expected{{From: next, SessionsPerWeek: "4"}, {From: "2025-01-01", SessionsPerWeek: "3"}},
			sessions: three, from: monday, to: "2025-01-26", want: "audit-week-unexplained audit-week-unexplained 2"},
		"plan changes in a week": {rows: append(person(func(p *roster.Person) { p.To = "2025-01-15" }), person(func(p *roster.Person) { p.From, p.PerWeek = "2025-01-16", 5 })...),
			sessions: slices.Concat(wasDone(monday, 0, 2, 4), wasDone(next, 0, 2, 4)), from: monday, to: "2025-01-19", want: "0"},
		"two plans": {rows: plain, plan: []manifest.Expected{{From: "2025-01-01", SessionsPerWeek: "4"}}, sessions: three, from: monday, to: "2025-01-26", want: "audit-plan-differs 0"},
		"no plan":   {rows: person(func(p *roster.Person) { p.PerWeek = 0 }), sessions: wasDone(monday, 0), from: monday, to: "2025-01-12", want: "0"},
		"an absent month": {rows: plain, sessions: slices.Concat(three, wasDone("2025-01-27", 0, 2, 4), wasDone("2025-03-03", 0, 2, 4)), from: monday, to: "2025-03-09",
			want: "audit-month-absent 12"},
		"a month on leave":  {rows: leave("2025-02-01", "2025-03-02"), sessions: slices.Concat(three, wasDone("2025-01-27", 0, 2, 4), wasDone("2025-03-03", 0, 2, 4)), from: monday, to: "2025-03-09", want: "0"},
		"nothing":           {rows: plain, from: monday, to: "2025-01-19", want: "audit-patient-absent 6"},
		"nothing, no days":  {rows: plain, want: "audit-patient-absent 0"},
		"all on leave":      {rows: leave("2025-01-01", "2025-01-31"), from: monday, to: "2025-01-19", want: "0"},
		"not on the roster": {sessions: wasDone(monday, 0), from: monday, to: "2025-01-12", want: "audit-patient-unknown 0"},
		"first and last":    {rows: plain, sessions: slices.Concat(wasDone(monday, 4), wasDone(third, 0)), want: "audit-week-unexplained 3"},
		"two logs":          {rows: plain, sessions: append(wasDone(monday, 0, 2, 4), "2025-01-06 done other"), from: monday, to: "2025-01-12", want: "audit-log-second 0"},
	} {
		t.Run(name, func(t *testing.T) {
			a := &audit{opts: Options{From: c.from, To: c.to, Roster: "roster.csv"}, onRoster: true, tally: newTally()}
			a.complete(&patient{key: "s|N", rows: c.rows, plan: c.plan, held: c.held, sessions: attended(t, c.sessions)})
			got := ""
			for _, f := range a.findings {
				got += f.Rule + " "
			}
			if got += fmt.Sprint(a.report.Patients[0].Unexplained); got != c.want {
				t.Errorf("%s, want %s: %+v", got, c.want, a.report.Patients[0])
			}
		})
	}
}
