package open

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"filippo.io/age"

	"runsheet.example/fhirmap/session"
	"runsheet.example/fhirmap/session/edit"
	"runsheet.example/validate/issue"
)

// aboutPage is the questions about the person, the clinic, the prescriptions,
// the access, the devices and the log.
type aboutPage struct {
	Parts    []*aboutPart
	More     string // the table that has an empty part
	Problems []problem
	Found    []found // of no question
	Summary  []found // mistakes and things to look at, of questions
	fields   map[string]*field
}

// Was is what the fields had in the log that the page was made from.
func (p *aboutPage) Was() string { return texts(p.fields).Encode() }

// aboutPart is one table of log.toml.
type aboutPart struct {
	Title, Help string
	Table       string
	Again       bool // one more can be added
	Fields      []*field
}

// repeated are the tables of which a log may have several.
var repeated = []string{"prescription", "access", "device"}

// keptByProgram are the lines that a person has no reason to change.
var keptByProgram = []string{"id", "format"}

// newAboutPage asks the questions of log.toml; more is the table that one is to
// be added to.
func newAboutPage(f frame, l *edit.Log, c *checked, typed *form, more string) *aboutPage {
	p := &aboutPage{More: more, fields: map[string]*field{}}
	at := map[string][]*field{}
	for i, r := range session.AboutRows {
		if r.Key != "" {
			continue
		}
		n := max(1, l.AboutParts(r.Part))
		if r.Part == more {
			n++
		}
		if !slices.Contains(repeated, r.Part) {
			n = 1
		}
		for number := 1; number <= n; number++ {
			part := &aboutPart{Title: f.say(r.Label), Table: r.Part, Again: number == n && slices.Contains(repeated, r.Part)}
			if n > 1 {
				part.Title = fmt.Sprintf("%s, %d", part.Title, number)
			}
			for _, q := range session.AboutRows[i+1:] {
				if q.Key == "" {
					break
				}
				if slices.Contains(keptByProgram, q.Key) {
					continue
				}
				one := f.question(q, number, l, typed)
				part.Fields, p.fields[one.Name] = append(part.Fields, one), one
				at[q.Part+"."+q.Key] = append(at[q.Part+"."+q.Key], one)
			}
			p.Parts = append(p.Parts, part)
		}
	}
	p.attach(f.Lang, c, at)
	return p
}

// exampleDay shows how a day is written: its parts cannot be taken for each other.
var exampleDay = time.Date(2026, time.May, 31, 0, 0, 0, 0, time.UTC)

// question is one line of log.toml as a field.
func (f frame) question(q session.AboutRow, number int, l *edit.Log, typed *form) *field {
	key := q.Part + "." + q.Key
	if slices.Contains(repeated, q.Part) {
		key = fmt.Sprintf("%s.%d.%s", q.Part, number, q.Key)
	}
	one := &field{Name: key, ID: strings.ReplaceAll(key, ".", "-"), Label: f.say(q.Label), Hint: f.say(q.Help), disk: l.About(key), Kind: "text"}
	if key == "log.time_zone" && one.disk == "" {
		one.Hint = f.say("{}; this computer has {}", one.Hint, zoneHere())
	}
	if q.Kind == session.KindDate {
		one.Hint = strings.TrimPrefix(one.Hint+"; "+f.say("such as {}", inStyle(exampleDay, l.About("log.date_style"))), "; ")
	}
	one.take(typed)
	if len(q.Choices) > 0 {
		one.Kind = "choice"
		one.offer(q.Choices, f.Lang)
	}
	return one
}

// attach puts findings about log.toml beside their questions. One about a table
// that there are several of stands on top, with its line.
func (p *aboutPage) attach(l issue.Language, c *checked, at map[string][]*field) {
	if c == nil {
		return
	}
	for _, f := range c.findings {
		if len(f.Cells) == 0 || !strings.EqualFold(f.Cells[0].File, "log.toml") {
			continue
		}
		one := foundOf(l, f)
		one.Page = ""
		if fields := at[f.Cells[0].Heading]; len(fields) == 1 {
			one.Field, one.Label = fields[0].ID, fields[0].Label
			fields[0].Found = append(fields[0].Found, one)
			if !one.Note && !one.IsAnswered {
				p.Summary = append(p.Summary, one)
			}
		} else {
			p.Found = append(p.Found, one)
		}
	}
}

func (s *server) about(w http.ResponseWriter, r *http.Request, l *edit.Log, f frame) {
	p := newAboutPage(f, l, s.checks.of(l.Digest(), waitFound), nil, r.URL.Query().Get("more"))
	if r.URL.Query().Has("saved") {
		f.Said = f.say("Saved.")
		if n := len(p.Summary); n > 0 {
			f.Said += " " + f.say(issue.OneOrMany(n, "{} answer to look at again:", "{} answers to look at again:"), n)
		}
	}
	s.renderAbout(w, http.StatusOK, f, p)
}

func (s *server) renderAbout(w http.ResponseWriter, status int, f frame, p *aboutPage) {
	f.Nav, f.Title, f.Data, f.Mistakes = "about", f.say("About you"), p, len(p.Problems) > 0
	for _, part := range p.Parts {
		for _, one := range part.Fields {
			f.Mistakes = f.Mistakes || one.IsMistaken()
		}
	}
	s.render(w, status, "about", f)
}

// saveAbout writes the answers that changed into log.toml.
func (s *server) saveAbout(w http.ResponseWriter, r *http.Request, l *edit.Log, f frame) {
	again := func(status int, stale bool, problems []problem) {
		l, err := s.files.Open(s.opts.Log)
		if err != nil {
			s.fail(w, r, http.StatusInternalServerError, err.Error())
			return
		}
		f.Digest = l.Digest()
		typed := r.PostForm
		if stale {
			was, _ := url.ParseQuery(typed.Get("was"))
			typed = rebased(typed, was, texts(newAboutPage(f, l, nil, nil, "").fields))
		}
		p := newAboutPage(f, l, nil, &form{typed, stale}, r.PostForm.Get("more"))
		p.Problems = append(problems, f.differences(p.fields)...)
		s.renderAbout(w, status, f, p)
	}
	if r.PostForm.Get("digest") != l.Digest() {
		again(http.StatusConflict, true, []problem{{"", f.say(otherwise)}})
		return
	}
	var problems []problem
	for _, part := range newAboutPage(f, l, nil, nil, r.PostForm.Get("more")).Parts {
		for _, one := range part.Fields {
			if text := strings.TrimSpace(r.PostForm.Get(one.Name)); r.PostForm.Has(one.Name) && text != one.Text {
				err := l.SetAbout(one.Name, text)
				if _, bad := age.ParseX25519Recipient(text); err == nil && one.Name == "clinic.encrypt_to" && text != "" && bad != nil {
					err = errors.New(f.say("this is no public key: one begins with age1 and is copied whole"))
				}
				if err != nil {
					problems = append(problems, problem{one.ID, err.Error()})
				}
			}
		}
	}
	status := http.StatusUnprocessableEntity
	if len(problems) == 0 {
		status, problems = f.commit(l, r.PostForm.Get("digest"))
	}
	if status != 0 {
		again(status, status == http.StatusConflict, problems)
	} else if more, ok := strings.CutPrefix(r.PostForm.Get("do"), "more:"); ok && slices.Contains(repeated, more) {
		http.Redirect(w, r, "/about?saved=1&more="+more+"#"+more, http.StatusSeeOther)
	} else {
		http.Redirect(w, r, "/about?saved=1", http.StatusSeeOther)
	}
}
