package open

import (
	"slices"
	"strings"

	"runsheet.example/cmd/runsheet/internal/steps"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// found is a finding as a page shows it, in the words of the check command.
type found struct {
	Mistake, Note bool // neither is a thing to look at
	IsAnswered    bool
	Answered      string // when and why the person said that it is right
	Answer        string // names the finding in an answer, "" where there can be none
	Reason        string // typed into a page that was not saved
	Text          string
	Value         string
	Expected      string
	Mend          string
	Also          []string // further cells
	Place         string
	Page, Asked   string // where the question is that mends it, and its name
	Rule          string
	What, Why     string
	Source        string
	Field         string // id of the field it is at, "" for none
	Label         string
}

func foundOf(l issue.Language, f issue.Finding) found {
	f = l.Finding(f)
	out := found{
		Mistake: f.Severity == issue.Error, Note: f.Severity == issue.Information,
		Text: upper(onPages(l, f.Details.String())), Value: f.Value, Expected: onPages(l, f.Expected.String()), Mend: upper(onPages(l, f.Mend.String())), Rule: f.Rule,
	}
	if f.Accepted != nil {
		out.IsAnswered, out.Answered = true, l.Text(f.Accepted.Text())
	}
	if rule, ok := issue.Lookup(f.Rule); ok {
		rule, _ = l.Rule(rule)
		out.What, out.Why, out.Source = upper(rule.What), upper(rule.Why), rule.Source
	}
	for i, cell := range f.Cells {
		if i == 0 {
			out.Place = placeOf(l, cell)
		} else {
			out.Also = append(out.Also, placeOf(l, cell))
		}
	}
	for _, q := range session.AboutRows {
		isIts := len(f.Cells) > 0 && f.Cells[0].Heading == q.Part+"."+q.Key && strings.EqualFold(f.Cells[0].File, "log.toml")
		if q.Key != "" && (isIts || q.Part == "log" && out.Page == "" && strings.Contains(f.Expected.String()+f.Mend.String(), q.Key)) {
			out.Page, out.Asked = "/about#"+q.Part+"-"+q.Key, l.Text(issue.T("About you"))+": "+l.Text(issue.T(q.Label))
		}
	}
	return out
}

// onPages puts the questions and steps of the pages in place of the files and
// names of a log folder, which nobody sees here.
func onPages(l issue.Language, text string) string {
	say := func(label string) string { return "“" + l.Text(issue.T(label)) + "”" }
	names := []string{"log.toml", say("About you")}
	for _, q := range slices.SortedStableFunc(slices.Values(session.AboutRows), func(a, b session.AboutRow) int { return len(b.Key) - len(a.Key) }) {
		if q.Key == "" {
			names = append(names, "["+q.Part+"]", say(q.Label))
		} else if strings.Contains(q.Key, "_") {
			names = append(names, q.Key, say(q.Label))
		}
	}
	for _, sheet := range session.Sheets() {
		names = append(names, string(sheet)+".csv", say(steps.SheetTitle(sheet)))
	}
	return strings.NewReplacer(names...).Replace(text)
}

// placeOf names a cell: by its question or its field on the page.
func placeOf(l issue.Language, cell issue.Cell) string {
	part, key, _ := strings.Cut(cell.Heading, ".")
	at := slices.IndexFunc(session.AboutRows, func(q session.AboutRow) bool { return q.Part == part && q.Key == key })
	if at >= 0 && strings.EqualFold(cell.File, "log.toml") {
		return l.Text(issue.T("About you")) + ": " + l.Text(issue.T(session.AboutRows[at].Label))
	}
	sheet := sheetOfFile(cell.File)
	if c := session.Headed(sheet, session.HeadingName(sheet, cell.Heading)); c.Name != "" && cell.Row > 0 {
		return l.Text(issue.T("{}, row {}: {}", issue.T(steps.SheetTitle(sheet)), cell.Row, issue.T(labelOf(c))))
	}
	return l.Cell(cell)
}

// attach puts each finding about the session beside its field, or on top of the
// page where it is about no field of it.
func (p *sessionPage) attach() {
	if p.found == nil || p.Row == 0 {
		return
	}
	rows := p.rowNames()
	for _, f := range p.found.findings {
		prefix, mine := "", false
		var column string
		if len(f.Cells) > 0 {
			sheet := sheetOfFile(f.Cells[0].File)
			prefix, mine = rows[rowKey{sheet, f.Cells[0].Row}], rows[rowKey{sheet, f.Cells[0].Row}] != ""
			column = session.HeadingName(sheet, f.Cells[0].Heading)
		}
		if !mine && (f.Session == "" || f.Session != p.ID) {
			continue
		}
		one := foundOf(p.lang, f)
		if key, ok := p.found.log.AnswerKey(f); ok && f.Severity == issue.Warning {
			one.Answer = answerID(key)
			if p.typed != nil {
				one.Reason = p.typed.Get("why." + one.Answer)
			}
		}
		p.put(one, prefix, column)
	}
	rank := func(f found) int {
		switch {
		case f.Mistake:
			return 0
		case f.Note:
			return 2
		}
		return 1
	}
	slices.SortStableFunc(p.Summary, func(a, b found) int { return rank(a) - rank(b) })
}

// rowNames are the prefixes of the fields of each row of the page.
func (p *sessionPage) rowNames() map[rowKey]string {
	names := map[rowKey]string{{session.SheetSessions, p.Row}: "sessions.0"}
	for _, s := range p.Sections {
		for _, e := range s.Rows {
			if e.Row > 0 {
				names[rowKey{s.Sheet, e.Row}] = e.Name
			}
		}
	}
	return names
}

func (p *sessionPage) put(one found, prefix, column string) {
	f := p.fields[prefix+"."+column]
	switch entry := p.entryNamed(prefix); {
	case f != nil:
		one.Field, one.Label = f.ID, f.Label
		if entry != nil && entry.Title != "" {
			one.Label = entry.Title + ", " + f.Label
		}
		f.Found = append(f.Found, one)
	case entry != nil && entry.Title != "":
		one.Field, one.Label = entry.ElementID(), entry.Title
		entry.Found = append(entry.Found, one)
	default:
		p.Found = append(p.Found, one)
	}
	if !one.Note && !one.IsAnswered {
		p.Summary = append(p.Summary, one)
	}
}

func (p *sessionPage) entryNamed(name string) *entry {
	for _, s := range p.Sections {
		for _, e := range s.Rows {
			if e.Name == name {
				return e
			}
		}
	}
	return nil
}

// Mistakes and Looks count the findings of the page.
func (p *sessionPage) Mistakes() int { return p.count(true) }

// Looks is how many things there are to look at.
func (p *sessionPage) Looks() int { return p.count(false) }

func (p *sessionPage) count(mistakes bool) (n int) {
	for _, f := range p.Summary {
		if f.Mistake == mistakes {
			n++
		}
	}
	return n
}
