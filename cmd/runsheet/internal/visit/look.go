package visit

import (
	"slices"
	"strings"
	"time"

	"runsheet.example/validate/issue"
)

// look lists what is outside what was prescribed, each with its limit and the
// source of the limit, and other facts of the span; of the sessions cut short
// and of those not done it names at most so many.
func (b *builder) look(most int) []string {
	var items []string
	add := func(text string) {
		if text != "" {
			items = append(items, text)
		}
	}
	add(b.heldBackText())
	add(b.events())
	add(b.outside(aboveLimit, "uf_rate_per_kg", ufLimit, func(v float64) bool { return v > 0 },
		issue.T("Above the unit's own limit (UF limit of the prescription): UF rate in {} of {} sessions: {}"), issue.T("{} ({} over {})")))
	add(b.outside(shortTime, "treated_time", prescribedTime, func(v float64) bool { return v < -shortenedBy },
		issue.T("Outside what was prescribed: more than 10 min too short (Saran et al 2003) in {} of {} sessions: {}"), issue.T("{} ({} of {} min)")))
	for _, s := range [...]status{notDone, cutShort} {
		for _, text := range b.reasons(s, most) {
			add(text)
		}
	}
	add(b.fewerWeeks())
	for _, text := range b.hypotension() {
		add(text)
	}
	for _, m := range measures {
		if n := b.series(m.key).other; n > 0 {
			add(b.t(issue.T("{}: {} sessions in another unit, at another blood flow or by another method are left out", m.name, n)))
		}
	}
	switch {
	case len(b.plans) > 0 && b.plans[0].from.After(b.to):
		add(b.t(issue.T("The prescription begins on {}, after these sessions; there is nothing to compare them with.", b.date(b.plans[0].from))))
	case len(items) > 0:
	case b.compared():
		add(b.t(issue.T("Nothing outside what was prescribed stands in these sessions.")))
	default:
		add(b.t(issue.T("Nothing is prescribed here to compare the sessions with.")))
	}
	if b.child {
		add(b.t(issue.T("Intradialytic hypotension is not assessed: its definitions are for adults.")))
	}
	return items
}

// compared reports whether any session has something prescribed beside it.
func (b *builder) compared() bool {
	return slices.ContainsFunc(b.treatments, func(t treatment) bool {
		_, short := t.values[shortTime]
		_, above := t.values[aboveLimit]
		return short || above
	})
}

func (b *builder) heldBackText() string {
	n := b.undated
	for _, t := range b.treatments {
		if t.status == heldBack {
			n++
		}
	}
	if n == 0 {
		return ""
	}
	return b.t(issue.Text{Key: issue.OneOrMany(n, "{} session is held back because of mistakes in the log; its values are not on this page",
		"{} sessions are held back because of mistakes in the log; their values are not on this page"), Args: []any{n}})
}

// outside lists the sessions whose difference from what was prescribed is
// beyond, with value and limit.
func (b *builder) outside(difference, given, limit string, beyond func(float64) bool, line, one issue.Text) string {
	const most = 4
	of, hits := 0, []treatment{}
	for _, t := range b.treatments {
		if v, ok := t.values[difference]; ok {
			of++
			if beyond(v.number) {
				hits = append(hits, t)
			}
		}
	}
	if len(hits) == 0 {
		return ""
	}
	var parts []string
	for i, t := range hits {
		if i == most-1 && len(hits) > most {
			parts = append(parts, b.t(issue.T("and {} more", len(hits)-i)))
			break
		}
		one.Args = []any{b.shortDate(t.start), b.n(t.values[given].text), b.n(t.values[limit].text)}
		parts = append(parts, b.t(one))
	}
	line.Args = []any{len(hits), of, strings.Join(parts, ", ")}
	return b.t(line)
}

// reasons lists the sessions of a status, with their reasons.
func (b *builder) reasons(s status, most int) []string {
	var of []treatment
	for _, t := range b.treatments {
		if t.status == s {
			of = append(of, t)
		}
	}
	var items []string
	for i, t := range of {
		if i == most-1 && len(of) > most {
			days := make([]time.Time, 0, len(of))
			for _, other := range of[i:] {
				days = append(days, day(other.start))
			}
			return append(items, b.t(issue.T("{} more {}: {}", len(days), issue.Literal(b.statusName(s)), b.dates(days))))
		}
		text := b.t(issue.T("{}, {}", b.shortDate(t.start), issue.Literal(b.statusName(s))))
		if t.reason != "" && !b.opts.NoNotes {
			text += b.t(issue.T(": “{}”", b.short(t.reason, wordsOfReason*most/3)))
		}
		items = append(items, text)
	}
	return items
}

// fewerWeeks lists whole weeks of the span with fewer sessions than prescribed,
// those held back counted.
func (b *builder) fewerWeeks() string {
	var days []time.Time
	of, held := 0, b.undated
	for _, w := range b.weeksOf() {
		if w.planned == "" || w.part {
			continue
		}
		of, held = of+1, held+w.held
		if float64(w.done+w.held) < w.plannedNumber {
			days = append(days, w.monday)
		}
	}
	if len(days) == 0 {
		return ""
	}
	text := b.t(issue.T("Outside what was prescribed: fewer sessions in {} of {} whole weeks, those from {}", len(days), of, b.dates(days)))
	if held > 0 {
		text += b.t(issue.T("; a session held back counts as written down"))
	}
	if b.undated > 0 {
		text += b.t(issue.T("; {} without a day may belong to these weeks", b.undated))
	}
	return text
}

// hypotension counts the sessions by each definition that is met.
func (b *builder) hypotension() []string {
	met, of := map[string][]time.Time{}, map[string]int{}
	var names []string
	for _, t := range b.treatments {
		for name, yes := range t.hypotension {
			if of[name]++; yes {
				met[name] = append(met[name], day(t.start))
			}
		}
	}
	for name := range met {
		names = append(names, name)
	}
	slices.Sort(names)
	var items []string
	for _, name := range names {
		items = append(items, b.t(issue.T("Intradialytic hypotension by {}: {} of {} sessions that can be assessed: {}", name, len(met[name]), of[name], b.dates(met[name]))))
	}
	return items
}

// events counts the events of each kind and quotes the latest, those of
// sessions held back too.
func (b *builder) events() string {
	type kind struct {
		name   string
		n      int
		latest string
	}
	var kinds []kind
	for i := len(b.treatments) - 1; i >= 0; i-- {
		t := b.treatments[i]
		for _, e := range slices.Backward(t.events) {
			at := slices.IndexFunc(kinds, func(k kind) bool { return k.name == e.kind })
			if at < 0 {
				latest := b.shortDate(t.start)
				if e.text != "" && !b.opts.NoNotes {
					latest = b.t(issue.T("{} “{}”", latest, b.short(e.text, 40)))
				}
				if t.status == heldBack {
					latest += b.t(issue.T(" (held back)"))
				}
				kinds, at = append(kinds, kind{name: e.kind, latest: latest}), len(kinds)
			}
			kinds[at].n++
		}
	}
	if len(kinds) == 0 {
		return ""
	}
	parts := make([]string, len(kinds))
	for i, k := range kinds {
		parts[i] = b.t(issue.T("{} {}, latest {}", issue.Text{Key: k.name}, k.n, k.latest))
	}
	return b.t(issue.T("Events written down: {}", strings.Join(parts, "; ")))
}

// week is one week of the calendar.
type week struct {
	monday time.Time
	// part reports that the span has not all of its days. done counts the
	// sessions that took place, held those held back; planned is what the
	// prescription of the Monday asks for, "" if it does not say.
	part          bool
	done, held    int
	planned       string
	plannedNumber float64
}

// count is the number of sessions done, and of those held back.
func (w week) count() string {
	if w.held > 0 {
		return itoa(w.done) + "+" + itoa(w.held)
	}
	return itoa(w.done)
}

// weeksOf are the weeks of the span.
func (b *builder) weeksOf() []week {
	var weeks []week
	for m := monday(b.from); !m.After(b.to); m = m.AddDate(0, 0, 7) {
		w := week{monday: m, part: m.Before(b.from) || m.AddDate(0, 0, 6).After(b.to)}
		p, _ := b.planOn(m)
		if v, ok := p.values["sessions"]; ok {
			w.planned, w.plannedNumber = b.n(v.text), v.number
		}
		for _, t := range b.treatments {
			switch in := monday(t.start).Equal(m); {
			case in && t.took():
				w.done++
			case in && t.status == heldBack:
				w.held++
			}
		}
		if n, ok := b.weekDone[m]; ok && !w.part {
			w.done = n // a treatment that was started again counts once
		}
		weeks = append(weeks, w)
	}
	return weeks
}

// monday is the first day of the week of a day.
func monday(t time.Time) time.Time { return day(t).AddDate(0, 0, -(int(t.Weekday())+6)%7) }
