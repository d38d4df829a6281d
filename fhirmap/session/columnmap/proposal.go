package columnmap

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// Proposal is what a sheet of the person's own seems to hold, for them to
// confirm or change line by line.
type Proposal struct {
	Lines []Line
	// HasStatus reports a column that says whether a session was done.
	HasStatus bool
	// AsksDateStyle reports dates whose day could be the month.
	AsksDateStyle bool

	data []byte
	name string
}

// Line is a column of the sheet, or a cell of a form, and what it may mean.
type Line struct {
	Heading string
	// To are the columns of the log, as in "sessions.weight_before", none for
	// a column of which nothing is known; Unit is the unit of its numbers.
	To []string
	// Of is what the column is about where one column has many, such as a
	// blood test and when it was drawn.
	Of      []string
	Unit    string
	IsSure  bool     // the program has no doubt
	Repeats bool     // it is read as it is or not at all
	Samples []string // its first filled cells
}

// The choices for a line beside a column and unit such as
// "sessions.weight_before@lb".
const (
	Keep     = "keep"
	LeaveOut = "leave out"
)

// Propose looks at a file as [SuggestFor] does.
func Propose(data []byte, name string) (*Proposal, error) {
	d, err := sketchOf(data, name)
	if err != nil {
		return nil, err
	}
	p := &Proposal{AsksDateStyle: d.dayFirst != "", data: data, name: name}
	d.each(func(one *suggestion, g *groupSketch) {
		l := Line{Heading: one.heading, Unit: one.unit, IsSure: one.sure > unsure, Repeats: g != nil, Samples: d.samples[one.heading]}
		if len(one.fields) > 0 && (g == nil || g.sure > unsure) {
			l.To = one.names(false)
			l.Of = slices.DeleteFunc([]string{one.set["test"], one.set["what"], one.set["when"]}, func(word string) bool { return word == "" })
		}
		p.HasStatus = p.HasStatus || len(one.fields) > 0 && one.fields[0] == "status"
		p.Lines = append(p.Lines, l)
	})
	return p, nil
}

// each visits the columns of a sketch, with the group that they are in, if any.
func (d *sketch) each(visit func(one *suggestion, g *groupSketch)) {
	for i := range d.columns {
		visit(&d.columns[i], nil)
	}
	for i := range d.groups {
		for j := range d.groups[i].columns {
			visit(&d.groups[i].columns[j], &d.groups[i])
		}
	}
	for i := range d.unread {
		visit(&d.unread[i], nil)
	}
}

// Confirmed is what a person says of a [Proposal].
type Confirmed struct {
	Lines     []string // a choice for each line
	AllDone   bool     // every session was done
	DateStyle string   // dmy or mdy, where that is asked
}

// Copy reads the sheet as confirmed into the cells of a log of our own. The
// findings are about what was not read, or is kept in another unit. The error
// says which choices do not fit together, or why the sheet cannot be read.
func (p *Proposal) Copy(said Confirmed, opts session.Options) (*session.Grid, []issue.Finding, error) {
	d, err := sketchOf(p.data, p.name)
	if err != nil {
		return nil, nil, err
	}
	d.allDone = said.AllDone
	if p.AsksDateStyle {
		form := d.dayFirst
		if said.DateStyle == "mdy" {
			form = strings.NewReplacer("dd", "mm", "mm", "dd").Replace(form)
		}
		d.line("date_form = %s", quoted(form))
	}
	line := 0
	d.each(func(one *suggestion, g *groupSketch) {
		one.choose(said.Lines[line])
		line++
		if one.sure == unsure {
			d.ignored = append(d.ignored, one.heading)
		}
	})
	d.columns, d.notes = append(d.columns, d.unread...), nil
	d.columns = keepSure(d.columns)
	for i := range d.groups {
		d.groups[i].columns = keepSure(d.groups[i].columns)
	}
	m, err := Parse([]byte(d.draft().Text), "map.toml")
	if err != nil {
		return nil, nil, err
	}
	r := &reading{m: m}
	if err := r.add(p.data, p.name); err != nil {
		return nil, nil, err
	}
	r.gather()
	if r.partial {
		for _, f := range r.findings {
			return nil, nil, fmt.Errorf("%s: %s", p.name, f.Details)
		}
	}
	r.mapped.AboutName, r.mapped.About = "log.toml", []byte(anyone)
	log, findings := session.ReadMapped(r.mapped, opts)
	for _, f := range findings {
		if strings.HasPrefix(f.Rule, "map-") {
			r.findings = append(r.findings, f)
		}
	}
	if len(log.Sessions) == 0 {
		return nil, nil, errors.New("with these choices no treatment can be read")
	}
	grid, err := r.mapped.Grid(log)
	return grid, r.findings, err
}

func keepSure(all []suggestion) (kept []suggestion) {
	for _, one := range all {
		if one.sure > unsure {
			kept = append(kept, one)
		}
	}
	return kept
}

// choose makes a suggestion what the person says that the column is.
func (s *suggestion) choose(choice string) {
	s.why, s.doubts = []string{"confirmed"}, nil
	switch choice {
	case Keep:
		s.sure = sure
	case LeaveOut, "":
		s.sure = unsure
	default:
		to, unit, _ := strings.Cut(choice, "@")
		sheet, field, _ := strings.Cut(to, ".")
		s.sheet, s.fields, s.unit, s.split, s.sure = session.Sheet(sheet), []session.Field{session.Field(field)}, unit, "", sure
	}
}
