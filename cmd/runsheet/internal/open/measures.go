package open

import (
	"net/http"
	"strings"
	"time"

	"runsheet.example/cmd/runsheet/internal/adequacy"
	"runsheet.example/cmd/runsheet/internal/visit"
	"runsheet.example/fhirmap/session/edit"
)

// measuresPage is what is computed from the log for one month: each value with
// its method, inputs and source, as the adequacy command prints it.
type measuresPage struct {
	Months   []monthLine
	Month    time.Time
	Groups   []measureGroup
	Checking bool
}

// measureGroup are the values of a session, of a week or of the log.
type measureGroup struct {
	Scope string // session, week or log
	Day   time.Time
	Rows  []adequacy.Row
}

// unitWords is a UCUM code as people write the unit.
func unitWords(ucum string) string {
	if ucum == "1" {
		return ""
	}
	return strings.NewReplacer("mm[Hg]", "mmHg", "m2", "m²").Replace(ucum)
}

// measures shows what is computed from the log.
func (s *server) measures(w http.ResponseWriter, r *http.Request, l *edit.Log, f frame) {
	c := s.checks.of(l.Digest(), waitFound)
	p := &measuresPage{Checking: c == nil}
	p.Month, p.Months = monthAsked(r, linesOf(l, c))
	if c != nil && c.log != nil {
		s.sent.mu.Lock()
		rows := adequacy.Of(c.log).Rows()
		s.sent.mu.Unlock()
		p.group(rows)
	}
	f.Nav, f.Title, f.Data = "measures", f.say("Measures"), p
	if !p.Month.IsZero() {
		f.Title = f.say("{} – {}", f.Title, monthIn(f.Lang, p.Month))
	}
	s.render(w, http.StatusOK, "measures", f)
}

// group puts the rows of the month together by what they are about.
func (p *measuresPage) group(rows []adequacy.Row) {
	at := map[string]int{}
	for _, row := range rows {
		day, _ := time.Parse(time.DateOnly, row.Date)
		if row.Date != "" && !firstOf(day).Equal(p.Month) || row.Value == "" && row.WhyNot == "" {
			continue
		}
		key := row.Scope + row.Session + row.Date
		if _, ok := at[key]; !ok {
			at[key] = len(p.Groups)
			p.Groups = append(p.Groups, measureGroup{Scope: row.Scope, Day: day})
		}
		g := &p.Groups[at[key]]
		g.Rows = append(g.Rows, row)
	}
	for _, g := range p.Groups { // what two methods compute has the method in its name
		count := map[string]int{}
		for _, r := range g.Rows {
			count[r.Quantity+r.When]++
			count[r.Quantity+r.When+r.Method]++
		}
		for i, r := range g.Rows {
			if count[r.Quantity+r.When] > count[r.Quantity+r.When+r.Method] {
				g.Rows[i].Quantity += ", " + r.Method
			}
		}
	}
}

// report hands out the page for a visit as the report command writes it.
func (s *server) report(w http.ResponseWriter, r *http.Request, l *edit.Log, f frame) {
	c := s.checks.of(l.Digest(), time.Minute)
	if c == nil || c.log == nil {
		s.fail(w, r, http.StatusConflict, "the log is still being checked; try again in a moment")
		return
	}
	s.sent.mu.Lock()
	defer s.sent.mu.Unlock()
	record, err := visit.FromLog(c.log)
	var made visit.Report
	if err == nil {
		made, err = visit.Make(record, visit.Options{Language: f.Lang, Tool: s.opts.Tool.Name + " " + s.opts.Tool.Version})
	}
	if err != nil {
		s.fail(w, r, http.StatusConflict, err.Error())
		return
	}
	w.Header().Set("Content-Type", "application/pdf")
	w.Header().Set("Content-Disposition", `attachment; filename="runsheet-visit.pdf"`)
	_, _ = w.Write(made.PDF)
}
