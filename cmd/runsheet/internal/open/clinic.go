package open

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"

	"filippo.io/age"

	"runsheet.example/cmd/runsheet/internal/export"
	"runsheet.example/fhirmap"
	"runsheet.example/fhirmap/session"
	"runsheet.example/fhirmap/session/edit"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/manifest"
)

// delivery is what a clinic gets of a month: the files of an export in a zip.
// The page shows what is in these bytes, and the download is these bytes.
type delivery struct {
	digest string
	month  time.Time
	zip    []byte
	result export.Result
	found  []issue.Finding // about the month, with those of the export
}

// deliveries makes exports one after another, since an export marks sessions of
// the log that it reads, and keeps the last one.
type deliveries struct {
	mu   sync.Mutex
	last *delivery
}

// exportOptions are those of the export command without flags, for one month.
func exportOptions(tool fhirmap.Tool, month time.Time) export.Options {
	opts := export.Options{Form: export.Sessions, From: month, To: month.AddDate(0, 1, -1)}
	opts.Mapping.Tool, opts.Mapping.Series, opts.Mapping.Provenance = tool, fhirmap.AllReadings, fhirmap.ConditionalProvenance
	return opts
}

// of returns what a clinic gets of a month.
func (d *deliveries) of(ctx context.Context, c *checked, tool fhirmap.Tool, month time.Time) (*delivery, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.last != nil && d.last.digest == c.digest && d.last.month.Equal(month) {
		return d.last, nil
	}
	var files bytes.Buffer
	opts := exportOptions(tool, month)
	opts.Stdout = &files
	result, found, err := export.Write(ctx, c.log, c.findings, opts)
	if err != nil {
		return nil, err
	}
	d.last = &delivery{c.digest, month, files.Bytes(), result, found}
	return d.last, nil
}

// clinicPage is the preview of a month.
type clinicPage struct {
	Months   []monthLine
	Month    time.Time
	Written  int
	LeftOut  []sessionLine
	Other    []found // mistakes of no session, which hold sessions back
	Sessions []sentSession
	NotSent  []string // cells and rows that are in no session
	ForSelf  bool     // the log does not say whose it is
	Sealed   bool     // it is encrypted for the clinic
	Folder   string   // where it was written
	Checking bool
}

// sentSession is one Bundle.
type sentSession struct {
	Day    time.Time
	File   string
	Status string
	Values []sentValue
}

// sentValue is one resource of a Bundle in words, with its codes.
type sentValue struct {
	Name, Value, When string
	Kind              string
	Codes             []string // and how it was come by
	From              []string // cells of the log
}

// clinic shows what an export writes of a month.
func (s *server) clinic(w http.ResponseWriter, r *http.Request) { s.showClinic(w, r, "") }

func (s *server) showClinic(w http.ResponseWriter, r *http.Request, folder string) {
	f, p, d, ok := s.prepare(w, r)
	if !ok {
		return
	}
	if p.Folder = folder; folder != "" {
		f.Said = f.say("Written: {}", folder)
	}
	if d != nil {
		p.Written = d.result.Sessions
		var err error
		if p.Sessions, err = d.sessions(f.Lang); err != nil {
			s.fail(w, r, http.StatusInternalServerError, err.Error())
			return
		}
	}
	f.Nav, f.Title, f.Data = "clinic", f.say("What your clinic will get"), p
	if !p.Month.IsZero() {
		f.Title = f.say("{} – {}", f.Title, monthIn(f.Lang, p.Month))
	}
	s.render(w, http.StatusOK, "clinic", f)
}

// prepare makes the export of the month that a request asks for, of the newest
// without one. The delivery is nil while the log is being checked, and where
// there is no month.
func (s *server) prepare(w http.ResponseWriter, r *http.Request) (frame, *clinicPage, *delivery, bool) {
	l, f, ok := s.openLog(w, r)
	if !ok {
		return f, nil, nil, false
	}
	c := s.checks.of(l.Digest(), waitFound)
	lines := linesOf(l, c)
	month, months := monthAsked(r, lines)
	p := &clinicPage{Checking: c == nil, Months: months}
	if p.Month = month; c == nil || month.IsZero() {
		return f, p, nil, true
	}
	if c.err != nil {
		s.fail(w, r, http.StatusInternalServerError, c.err.Error())
		return f, nil, nil, false
	}
	d, err := s.sent.of(r.Context(), c, s.opts.Tool, month)
	if err != nil {
		s.fail(w, r, http.StatusInternalServerError, err.Error())
		return f, nil, nil, false
	}
	p.ForSelf, p.Sealed = c.log.About.Local, c.log.About.EncryptTo.OK()
	s.sent.mu.Lock() // an export marks sessions
	defer s.sent.mu.Unlock()
	s.checks.add(c, d.found)
	for _, line := range lines {
		if one := c.sessionAt(line.Row); one != nil && one.Broken && line.month().Equal(month) {
			p.LeftOut = append(p.LeftOut, line)
		}
	}
	p.Other = slices.DeleteFunc(c.otherFound(f.Lang), func(one found) bool { return !one.Mistake })
	p.NotSent = notSent(f.Lang, c.log.Tally)
	return f, p, d, true
}

// notSent lists what stands in the files and is in no session.
func notSent(l issue.Language, t session.Tally) (out []string) {
	for _, left := range t.Left {
		if left.Why != session.RowEmpty {
			out = append(out, l.Text(issue.T(issue.OneOrMany(len(left.Rows), "{}: {} row", "{}: {} rows"), l.Cell(left.At), len(left.Rows))))
		}
	}
	return out
}

// sessions reads the Bundles of the zip.
func (d *delivery) sessions(l issue.Language) (out []sentSession, err error) {
	if len(d.zip) == 0 {
		return nil, nil
	}
	archive, err := zip.NewReader(bytes.NewReader(d.zip), int64(len(d.zip)))
	if err != nil {
		return nil, err
	}
	var listed manifest.Manifest
	if err := decode(archive, manifest.Name, &listed); err != nil {
		return nil, err
	}
	for _, file := range listed.Files {
		var b bundle
		if err := decode(archive, file.File, &b); err != nil {
			return nil, err
		}
		one := sentSession{File: file.File, Status: string(file.Status)}
		for i, entry := range b.Entry {
			v := entry.Resource.shown(l)
			if entry.Resource.Type == "Procedure" {
				one.Day = entry.Resource.day()
			}
			if i < len(file.Resources) {
				for _, cell := range file.Resources[i].Cells {
					v.From = append(v.From, l.Cell(cell))
				}
			}
			one.Values = append(one.Values, v)
		}
		out = append(out, one)
	}
	return out, nil
}

func decode(archive *zip.Reader, name string, into any) error {
	file, err := archive.Open(name)
	if err != nil {
		return err
	}
	defer file.Close()
	return json.NewDecoder(file).Decode(into)
}

// exportFolder writes the month into a folder beside the log.
func (s *server) exportFolder(w http.ResponseWriter, r *http.Request, l *edit.Log, f frame) {
	month, err := time.Parse("2006-01", r.PostForm.Get("month"))
	c := s.checks.of(l.Digest(), time.Minute)
	if err != nil || c == nil || c.log == nil {
		s.fail(w, r, http.StatusConflict, "the log is still being checked; try again in a moment")
		return
	}
	opts := exportOptions(s.opts.Tool, month)
	opts.Out, opts.Force = s.opts.Log+" "+f.say("for the clinic")+" "+month.Format("2006-01"), true
	result, err := s.deliver(r.Context(), c, opts)
	switch {
	case err != nil:
		s.fail(w, r, http.StatusConflict, err.Error())
	case result.Sessions == 0:
		s.fail(w, r, http.StatusConflict, "nothing was written: no treatment of this month is without mistakes")
	default:
		if c.log.About.EncryptTo.OK() {
			opts.Out += ".zip.age"
		}
		s.showClinic(w, r, opts.Out)
	}
}

// download hands the month out as one zip.
func (s *server) download(w http.ResponseWriter, r *http.Request) {
	_, p, d, ok := s.prepare(w, r)
	if !ok {
		return
	}
	if d == nil || len(d.zip) == 0 {
		s.fail(w, r, http.StatusConflict, "nothing was written: no treatment of this month is without mistakes")
		return
	}
	name, data := "runsheet-"+p.Month.Format("2006-01")+".zip", d.zip
	if p.Sealed {
		var sealed bytes.Buffer
		opts := exportOptions(s.opts.Tool, p.Month)
		opts.Stdout = &sealed
		if _, err := s.deliver(r.Context(), s.checks.of(d.digest, time.Minute), opts); err != nil {
			s.fail(w, r, http.StatusConflict, err.Error())
			return
		}
		name, data = name+".age", sealed.Bytes()
	}
	w.Header().Set("Content-Type", "application/octet-stream")
	w.Header().Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", name))
	_, _ = w.Write(data)
}

// deliver exports, encrypted for the clinic where the log has its key.
func (s *server) deliver(ctx context.Context, c *checked, opts export.Options) (export.Result, error) {
	if key := c.log.About.EncryptTo; key.OK() {
		to, err := age.ParseX25519Recipient(key.Text)
		if err != nil {
			return export.Result{}, errors.New("the public key of the clinic on the page “About you” is none: it begins with age1")
		}
		if opts.Recipients = []age.Recipient{to}; opts.Out != "" {
			opts.Out += ".zip.age"
		}
	}
	s.sent.mu.Lock()
	defer s.sent.mu.Unlock()
	result, _, err := export.Write(ctx, c.log, c.findings, opts)
	return result, err
}

// IsWeeks reports the Bundle of the weeks of the log.
func (one sentSession) IsWeeks() bool { return strings.HasPrefix(one.File, "weeks-") }
