package open

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"runsheet.example/cmd/runsheet/internal/steps"
	"runsheet.example/fhirmap/session"
	"runsheet.example/fhirmap/session/columnmap"
	"runsheet.example/fhirmap/session/workbook"
)

// take makes the log a copy of a file of the person's own, which stays as it
// is. What each column of a sheet of another shape means is asked first.
func (s *server) take(name string, data []byte) error {
	grid, err := (*session.Grid)(nil), error(workbook.ErrNoLog)
	if workbook.Named(name) {
		grid, err = workbook.ReadGrid(data)
	}
	if errors.Is(err, workbook.ErrNoLog) {
		s.own, err = columnmap.Propose(data, name)
		s.ownName = name
		return err
	}
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	return s.copyOf(name, grid)
}

// copyOf writes the log that the pages work on.
func (s *server) copyOf(name string, grid *session.Grid) error {
	if err := os.MkdirAll(filepath.Dir(s.opts.Log), 0o700); err != nil {
		return err
	}
	if err := session.WriteGrid(s.opts.Log, grid); err != nil {
		return err
	}
	s.copied, s.own = name, nil
	s.opts.Say(fmt.Sprintf("%s is copied to the log %s; the file itself is not changed.", name, s.opts.Log))
	return s.hold()
}

// chosen takes the file that was chosen or dropped on the first page.
func (s *server) chosen(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, session.MaxBytes+maxForm)
	file, header, err := r.FormFile("file")
	var data []byte
	if err == nil {
		data, err = io.ReadAll(file)
		_ = file.Close() // only read
	}
	var tooLarge *http.MaxBytesError
	switch {
	case errors.As(err, &tooLarge) || len(data) > session.MaxBytes:
		s.fail(w, r, http.StatusRequestEntityTooLarge, session.TooManyBytes)
		return
	case err != nil:
		s.fail(w, r, http.StatusBadRequest, "choose a file first")
		return
	}
	if s.missing() {
		if err := s.take(filepath.Base(header.Filename), data); err != nil {
			s.fail(w, r, http.StatusUnprocessableEntity, err.Error())
			return
		}
	}
	http.Redirect(w, r, "/", http.StatusSeeOther)
}

// sheetPage asks what each column of a sheet means.
type sheetPage struct {
	Name     string
	Log      string
	Lines    []sheetLine
	Groups   []meanings
	Sheet    *columnmap.Proposal
	Said     columnmap.Confirmed
	Problems []problem
}

// sheetLine is one column of the sheet.
type sheetLine struct {
	columnmap.Line
	Meaning string // what it seems to be, "" for nothing known
	Chosen  string
}

// meanings are the columns of a sheet of the log.
type meanings struct {
	Title   string
	Choices []choice
}

// newSheetPage shows the proposal with what was said so far, nil for nothing:
// what is in doubt is never chosen beforehand.
func newSheetPage(f frame, s *server, said *columnmap.Confirmed) *sheetPage {
	p := &sheetPage{Name: s.ownName, Log: s.opts.Log, Sheet: s.own}
	if said != nil {
		p.Said = *said
	}
	for i, l := range s.own.Lines {
		line := sheetLine{Line: l}
		line.Meaning = meaningOf(f, l)
		switch {
		case said != nil:
			line.Chosen = said.Lines[i]
		case l.IsSure && line.Meaning != "":
			line.Chosen = columnmap.Keep
		}
		p.Lines = append(p.Lines, line)
	}
	for _, sheet := range []session.Sheet{session.SheetSessions, session.SheetReadings} {
		group := meanings{Title: f.say(steps.SheetTitle(sheet))}
		for _, c := range session.Headings() {
			if c.Sheet != sheet || c.Name == "session" {
				continue
			}
			one := choice{Value: string(sheet) + "." + string(c.Field) + "@", Label: upper(f.say(labelOf(c)))}
			if c.Kind == session.KindNumber && c.Unit != "" {
				one.Value, one.Label = one.Value+c.Unit, one.Label+", "+steps.Unit(c)
			}
			group.Choices = append(group.Choices, one)
		}
		p.Groups = append(p.Groups, group)
	}
	return p
}

// meaningOf puts into words what a column seems to be, "" for nothing known.
func meaningOf(f frame, l columnmap.Line) string {
	var names []string
	var sheet session.Sheet
	for _, to := range l.To {
		of, field, _ := strings.Cut(to, ".")
		sheet = session.Sheet(of)
		at := slices.IndexFunc(session.Columns, func(c session.Column) bool { return c.Sheet == sheet && string(c.Field) == field })
		if at >= 0 {
			names = append(names, f.say(labelOf(session.Columns[at])))
		}
	}
	words := strings.Join(names, " / ")
	if words != "" && sheet != session.SheetSessions {
		words = f.say(steps.SheetTitle(sheet)) + ": " + words
	}
	for _, word := range append(l.Of, l.Unit) {
		if word != "" && words != "" {
			words += ", " + f.say(word)
		}
	}
	return upper(words)
}

func (s *server) showSheet(w http.ResponseWriter, r *http.Request, status int, p *sheetPage) {
	f := frame{Lang: languageOf("", r), Nav: "start", Data: p, Mistakes: len(p.Problems) > 0}
	f.Title = f.say("What is in {}?", s.ownName)
	s.render(w, status, "sheet", f)
}

// confirmed copies a sheet whose columns the person has confirmed.
func (s *server) confirmed(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	if !s.missing() || s.own == nil || r.ParseForm() != nil {
		http.Redirect(w, r, "/", http.StatusSeeOther)
		return
	}
	f := frame{Lang: languageOf("", r)}
	said := columnmap.Confirmed{AllDone: r.PostForm.Has("done"), DateStyle: r.PostForm.Get("date_style")}
	var problems []problem
	for i, l := range s.own.Lines {
		said.Lines = append(said.Lines, r.PostForm.Get(fmt.Sprint("line.", i)))
		if said.Lines[i] == "" {
			problems = append(problems, problem{fmt.Sprint("line-", i), f.say("say what {} is, or leave it out", l.Heading)})
		}
	}
	if s.own.AsksDateStyle && said.DateStyle == "" {
		problems = append(problems, problem{"date_style", f.say("say which comes first in your dates, the day or the month")})
	}
	if len(problems) == 0 {
		grid, findings, err := s.own.Copy(said, session.Options{Today: s.opts.Now()})
		if err == nil {
			grid.About = session.NewAbout("id", s.opts.LogID, "time_zone", zoneHere(), "language", string(f.Lang), "decimal_mark", grid.DecimalMark)
			err = s.copyOf(s.ownName, grid)
		}
		if err == nil {
			s.copiedFound = findings
			http.Redirect(w, r, "/", http.StatusSeeOther)
			return
		}
		problems = append(problems, problem{"", err.Error()})
	}
	p := newSheetPage(f, s, &said)
	p.Problems = problems
	s.showSheet(w, r, http.StatusUnprocessableEntity, p)
}
