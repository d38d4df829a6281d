package open

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/fhirmap/session/edit"
	"runsheet.example/validate/issue"
)

// waits for the checks of the log: a page that shows what they found waits
// longer than one that counts it.
const (
	waitFirst = 150 * time.Millisecond
	waitFound = 2 * time.Second
)

// farAway is how far from today the day of a treatment is before its year is
// asked about: nobody writes down treatments half a year later.
const farAway = 183 * 24 * time.Hour

func (s *server) showSession(w http.ResponseWriter, r *http.Request, l *edit.Log, f frame) {
	row := number(r.PathValue("row"))
	if !slices.Contains(l.Rows(session.SheetSessions), row) {
		s.fail(w, r, http.StatusNotFound, "there is no such treatment in the log; it may have been removed")
		return
	}
	least := map[session.Sheet]int{session.Sheet(r.URL.Query().Get("add")): 1}
	p := newSessionPage(asked{lang: f.Lang, log: l, found: s.checks.of(l.Digest(), waitFound), Row: row, least: least, all: session.Sheet(r.URL.Query().Get("all"))})
	if r.URL.Query().Has("saved") {
		f.Said = f.say("Saved.")
		if p.found.sessionAt(row) != nil && len(p.Summary) == 0 {
			word := map[bool]string{false: "nothing found", true: "a mistake in the log as a whole holds it back"}[p.found.countsOf(row).Held]
			f.Said += " " + upper(f.say(word)) + "."
		}
		if away := s.opts.Now().Sub(p.Day); !p.Day.IsZero() && away.Abs() > farAway {
			f.Said += " " + f.say("The day is {}: is the year right?", dayIn(f.Lang, p.Day))
		}
	}
	s.renderSession(w, http.StatusOK, f, p)
}

func (s *server) renderSession(w http.ResponseWriter, status int, f frame, p *sessionPage) {
	f.Nav, f.Data = "month", p
	f.Title = f.say("New treatment")
	if !p.Day.IsZero() {
		f.Title = dayIn(f.Lang, p.Day)
	} else if p.Row > 0 {
		f.Title = p.ID
	}
	f.Mistakes = p.Mistakes() > 0 || len(p.Problems) > 0
	s.render(w, status, "session", f)
}

// newSession shows the page of a session that is not in the log yet.
func (s *server) newSession(w http.ResponseWriter, r *http.Request, l *edit.Log, f frame) {
	typed := url.Values{"sessions.0.date": {s.opts.Now().Format(time.DateOnly)}}
	if day := r.FormValue("day"); day != "" {
		typed.Set("sessions.0.date", day)
	}
	if day, err := time.Parse(time.DateOnly, typed.Get("sessions.0.date")); err == nil {
		typed.Set("sessions.0.date", inStyle(day, l.About("log.date_style")))
	}
	s.renderSession(w, http.StatusOK, f, newSessionPage(asked{lang: f.Lang, log: l, found: s.checks.of(l.Digest(), waitFirst), typed: &form{typed, false}}))
}

// commit saves the log. It returns the status of the answer, 0 if it is saved.
func (f frame) commit(l *edit.Log, digest string) (status int, problems []problem) {
	var changed *edit.ChangedError
	switch err := l.Save(digest); {
	case err == nil:
		return 0, nil
	case errors.As(err, &changed):
		return http.StatusConflict, []problem{{"", f.say(otherwise)}}
	default:
		return http.StatusInsufficientStorage, []problem{{"", err.Error()}}
	}
}

// isAnswer reports whether a page says of something found that it is right, or
// takes that back.
func isAnswer(form url.Values) bool {
	what, _, _ := strings.Cut(form.Get("do"), ":")
	for name := range form {
		if strings.HasPrefix(name, "why.") && strings.TrimSpace(form.Get(name)) != "" {
			return true
		}
	}
	return what == "right" || what == "back"
}

// otherwise is what is said of a page that is older than the log.
const otherwise = "The log was changed by another page or program after this page was made, so nothing was saved. Where the two differ, both are shown: look at each, then save."

// inStyle writes a day as the log writes dates.
func inStyle(day time.Time, style string) string {
	switch style {
	case "dmy":
		return day.Format("2/1/2006")
	case "mdy":
		return day.Format("1/2/2006")
	}
	return day.Format(time.DateOnly)
}

// saveSession writes what was typed into a page into the log. What cannot be
// saved is shown again as it was typed.
func (s *server) saveSession(w http.ResponseWriter, r *http.Request, l *edit.Log, f frame) {
	row := number(r.PathValue("row"))
	again := func(status int, stale bool, problems []problem) {
		typed := r.PostForm
		if stale {
			was, _ := url.ParseQuery(typed.Get("was"))
			if row = rowNow(l, row, was.Get("session")); row == 0 && was.Get("session") != "" {
				s.fail(w, r, status, "this treatment was removed by another page or program after this page was made, so nothing was saved")
				return
			}
			typed = rebased(typed, was, newSessionPage(asked{lang: f.Lang, log: l, Row: row}).texts())
		}
		p := newSessionPage(asked{lang: f.Lang, log: l, found: s.checks.of(l.Digest(), waitFirst), Row: row, typed: &form{typed, stale}})
		p.Problems = append(problems, f.differences(p.fields)...)
		f.Digest = l.Digest()
		s.renderSession(w, status, f, p)
	}
	changedSince := []problem{{"", f.say(otherwise)}}
	if r.PostForm.Get("digest") != l.Digest() {
		again(http.StatusConflict, true, changedSince)
		return
	}
	c := change{log: l, lang: f.Lang, form: r.PostForm, row: row, now: s.opts.Now()}
	if c.apply(); isAnswer(r.PostForm) { // else a save does not wait for the checks
		c.answers(s.checks.of(l.Digest(), time.Minute))
	}
	if len(c.problems) > 0 {
		l, _ = s.files.Open(s.opts.Log) // without the changes
		again(http.StatusUnprocessableEntity, false, c.problems)
		return
	}
	if status, problems := f.commit(l, r.PostForm.Get("digest")); status != 0 {
		l, _ = s.files.Open(s.opts.Log)
		again(status, status == http.StatusConflict, problems)
		return
	}
	to := fmt.Sprintf("/session/%d?saved=1", c.row)
	if what, sheet, ok := strings.Cut(r.PostForm.Get("do"), ":"); ok && (what == "add" || what == "all") {
		to += "&" + url.QueryEscape(what) + "=" + url.QueryEscape(sheet) + "#" + url.PathEscape(sheet)
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
}

// change applies a page to the log.
type change struct {
	log      *edit.Log
	lang     issue.Language
	form     url.Values
	row      int // of the session; set when it is new
	now      time.Time
	problems []problem
}

func (c *change) apply() {
	if c.row == 0 {
		c.addSession()
	}
	if len(c.problems) > 0 {
		return
	}
	p := newSessionPage(asked{lang: c.lang, log: c.log, Row: c.row, least: typedRows(c.form), all: everySheet})
	remove, _ := strings.CutPrefix(c.form.Get("do"), "remove:")
	for _, s := range p.Sections {
		if s.Entry != nil {
			c.set(s.Sheet, c.row, s.Entry)
			continue
		}
		for _, e := range s.Rows {
			if e.Name != remove {
				c.entry(s.Sheet, p.ID, e)
			}
		}
	}
	if e := p.entryNamed(remove); e != nil && e.Row > 0 {
		c.failed("", c.log.RemoveRow(session.Sheet(remove[:strings.Index(remove, ".")]), e.Row))
	}
}

// addSession adds the row of a new session, with a name made of its day.
func (c *change) addSession() {
	date := strings.TrimSpace(c.form.Get("sessions.0.date"))
	if date == "" {
		c.problems = append(c.problems, problem{"sessions-0-date", c.lang.Text(issue.T("write the day of the treatment first"))})
		return
	}
	day := c.now.Format(time.DateOnly)
	if t, ok := dayOf(date, c.log.About("log.date_style")); ok {
		day = t.Format(time.DateOnly)
	}
	used := map[string]bool{}
	for _, row := range c.log.Rows(session.SheetSessions) {
		used[strings.TrimSpace(c.log.Cell(session.SheetSessions, row, "session"))] = true
	}
	letter := 'a'
	for used[day+string(letter)] && letter < 'z' {
		letter++
	}
	row, err := c.log.AddRow(session.SheetSessions, map[string]string{"session": day + string(letter), "date": date})
	c.row = row
	c.failed("", err)
}

// set writes the fields of a row that is in the log.
func (c *change) set(sheet session.Sheet, row int, e *entry) {
	for _, f := range append(e.Fields[:len(e.Fields):len(e.Fields)], e.More...) {
		text, ok := c.typed(f)
		if ok && text != f.Text {
			c.failed(f.ID, c.log.Set(sheet, row, f.column.Name, text))
		}
	}
}

// entry writes a row of another sheet; a new one only if something is in it.
func (c *change) entry(sheet session.Sheet, id string, e *entry) {
	if e.Row > 0 {
		c.set(sheet, e.Row, e)
		return
	}
	texts := map[string]string{}
	for _, f := range append(e.Fields[:len(e.Fields):len(e.Fields)], e.More...) {
		if text, ok := c.typed(f); ok && strings.TrimSpace(text) != "" {
			texts[f.column.Name] = text
		}
	}
	if len(texts) > 0 {
		texts["session"] = id
		_, err := c.log.AddRow(sheet, texts)
		c.failed(e.ElementID(), err)
	}
}

// typed is the text of a field: what was typed, or the chosen word for a cell
// without a value. Both at once contradict each other.
func (c *change) typed(f *field) (text string, ok bool) {
	if !c.form.Has(f.Name) {
		return "", false
	}
	text = strings.ReplaceAll(c.form.Get(f.Name), "\r\n", "\n")
	absent := c.form.Get(f.Name + ".absent")
	if absent == "" || absent == text {
		return text, true
	}
	if strings.TrimSpace(text) != "" {
		c.problems = append(c.problems, problem{f.ID, c.lang.Text(issue.T("{}: there is a value, and “{}” is chosen beside it; keep one of the two", f.Label, absent))})
		return text, false
	}
	return absent, true
}

func (c *change) failed(id string, err error) {
	if err != nil {
		c.problems = append(c.problems, problem{id, err.Error()})
	}
}

// typedRows is how many new rows of each sheet a page had.
func typedRows(form url.Values) map[session.Sheet]int {
	rows := map[session.Sheet]int{}
	for name := range form {
		part := strings.Split(name, ".")
		if len(part) >= 3 && strings.HasPrefix(part[1], "new") {
			sheet := session.Sheet(part[0])
			rows[sheet] = min(max(rows[sheet], number(part[1][len("new"):])), maxNewRows)
		}
	}
	return rows
}

// maxNewRows is how many new rows of a sheet one page can add.
const maxNewRows = 100

// undo puts the log back as it was before the last save.
func (s *server) undo(w http.ResponseWriter, r *http.Request, l *edit.Log, f frame) {
	if r.PostForm.Get("digest") != l.Digest() {
		s.fail(w, r, http.StatusConflict, "the log was changed after this page was made, so nothing was undone: look at it as it is now, then undo")
		return
	}
	var changed *edit.ChangedError
	switch err := l.Undo(); {
	case errors.Is(err, edit.ErrNothingToUndo):
		s.fail(w, r, http.StatusConflict, "there is nothing to undo")
	case errors.As(err, &changed):
		s.fail(w, r, http.StatusConflict, "the log was changed by another program since it was saved here, so nothing was undone")
	case err != nil:
		s.fail(w, r, http.StatusInternalServerError, err.Error())
	default:
		f.Said = f.say("The last save is undone.")
		s.start(w, r, f)
	}
}
