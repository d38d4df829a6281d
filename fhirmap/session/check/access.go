package check

import (
	"slices"
	"strconv"
	"strings"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// catheter is the kind of access that has no needles.
const catheter = "catheter"

// needled are the columns of what is done with needles.
var needled = []session.Field{"needling", "needle_gauge", "arterial_needle_site", "venous_needle_site"}

// Where only a catheter lies, where only an access with needles lies, and what
// people write of the ends of a catheter where sites are asked for (common
// practice).
var (
	veins  = []string{"jugular", "subclavi"}
	arms   = []string{"forearm", "upper arm", "unterarm", "oberarm"}
	lumens = []string{"lumen", "schenkel", "cath", "kath", "red", "blue", "rot", "blau", "jugular", "subclavi"}
)

func containsAny(t session.Text, words []string) bool {
	return t.OK() && slices.ContainsFunc(words, func(word string) bool { return strings.Contains(strings.ToLower(t.Text), word) })
}

// accesses finds needles for a catheter, and a catheter's site or lock for
// another access: in log.toml, and in sessions. If most sessions contradict a
// line of log.toml, it reports that line.
func (c *checker) accesses() {
	reported := map[string]bool{}
	for _, a := range c.log.About.Accesses {
		if a.NeedleGauge.OK() {
			c.gauge(nil, session.Text{Text: a.NeedleGauge.Text, Cell: a.NeedleGauge.Cell})
		}
		if cells := againstAccess(a); len(cells) > 0 {
			c.accessLine(a.Kind, cells)
			reported[a.Kind.Text] = true
		}
	}
	against, used := map[session.Text][]*session.Session{}, map[session.Text]int{}
	for _, s := range c.inRows() {
		c.gauge(s, s.Texts["needle_gauge"])
		kind := c.accessOf(s)
		used[kind]++
		if kind.OK() && !reported[kind.Text] && len(againstKind(s, kind.Text)) > 0 {
			against[kind] = append(against[kind], s)
		}
	}
	for kind, all := range against {
		if len(all) > fewest && float64(len(all)) >= most*float64(used[kind]) {
			c.accessLine(kind, againstKind(all[0], kind.Text))
			continue
		}
		for _, s := range all {
			cells := againstKind(s, kind.Text)
			f := at("clin-unlike-plan", "a catheter is used without needles, and needles are written here", cells[0])
			f.Expected = issue.T("an empty cell, or another access")
			if kind.Text != catheter {
				f.Details, f.Expected = issue.T("there is a catheter lock, and no catheter was in use on this day"), issue.T("another route, or the catheter in log.toml")
			}
			f.Cells = append(cells, kind.Cell)
			c.add(f, s)
		}
	}
}

// gauge finds a needle gauge that dialysis needles do not have.
func (c *checker) gauge(s *session.Session, t session.Text) {
	const low, high = 14, 18 // thicker to thinner (memory)
	n, err := strconv.Atoi(strings.TrimRight(strings.ToLower(t.Text), " g"))
	if err != nil || n >= low && n <= high {
		return
	}
	f := at("clin-unusual", "dialysis needles have other gauges", t.Cell)
	f.Value, f.Expected = t.Text, issue.T("usually {} to {}", low, high)
	c.add(f, s)
}

// accessLine reports the kind of an access that other cells contradict.
func (c *checker) accessLine(kind session.Text, cells []issue.Cell) {
	f := at("clin-unlike-plan", "the kind of the access contradicts what else is written of it", kind.Cell)
	f.Value, f.Expected = kind.Text, issue.T("perhaps {}", catheter)
	if kind.Text == catheter {
		f.Expected = issue.T("perhaps {}", issue.Or([]string{"fistula", "graft"}))
	}
	f.Cells = append(f.Cells, cells...)
	c.add(f, nil)
}

// againstAccess are the cells of an access that its kind rules out.
func againstAccess(a session.Access) (cells []issue.Cell) {
	if a.Kind.Text != catheter {
		if a.Kind.OK() && containsAny(a.Site, veins) {
			cells = append(cells, a.Site.Cell)
		}
		return cells
	}
	if a.Needling.OK() {
		cells = append(cells, a.Needling.Cell)
	}
	if a.NeedleGauge.OK() {
		cells = append(cells, a.NeedleGauge.Cell)
	}
	if containsAny(a.Site, arms) {
		cells = append(cells, a.Site.Cell)
	}
	return cells
}

// againstKind are the cells of a session that a kind of access rules out.
func againstKind(s *session.Session, kind string) (cells []issue.Cell) {
	if kind == catheter {
		for _, field := range needled {
			if t := s.Texts[field]; t.OK() && !containsAny(t, lumens) {
				cells = append(cells, t.Cell)
			}
		}
		return cells
	}
	for _, m := range s.Medicines {
		if m.Route.Text == "catheter lock" {
			cells = append(cells, m.Route.Cell)
		}
	}
	return cells
}

// accessOf is the kind of access that a session used: the one of all accesses
// of its day, or which of them it names; empty when that is not known.
func (c *checker) accessOf(s *session.Session) (kind session.Text) {
	used := strings.ToLower(s.Texts["access"].Text)
	for _, a := range c.log.About.Accesses {
		switch {
		case !s.Date.OK() || !a.Kind.OK() || a.ValidFrom.Time.After(s.Date.Time) || used != "" && used != a.Kind.Text:
		case kind.OK() && (kind.Text == catheter) != (a.Kind.Text == catheter):
			return session.Text{}
		default:
			kind = a.Kind
		}
	}
	return kind
}
