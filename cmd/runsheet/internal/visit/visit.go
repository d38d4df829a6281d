// Package visit makes the report for a clinic visit: one page that a clinician
// reads in two minutes, as an HTML file and as a PDF file.
//
// A [Record] is read from a log or from exported records; [Make] turns it into
// one page model and writes both files from it, so that they say the same.
// Every number on the page is a cell of the log, a computed value of package
// adequacy, a count, or the median, least or greatest of named sessions. There
// is no score and no verdict; what was prescribed stands beside what was done,
// and what lies outside of it is listed with the source of the limit.
//
// Charts follow what readers of patient-reported values understood best: line
// graphs, labelled directly, with marks that differ in shape (Snyder et al,
// Qual Life Res 2019;28:345). There is one chart code; a pen draws it as SVG or
// as PDF.
package visit

import (
	"errors"
	"fmt"
	"time"

	"runsheet.example/cmd/runsheet/internal/pdf"
	"runsheet.example/fhirmap"
	"runsheet.example/validate/issue"
)

// Options are the choices of a report.
type Options struct {
	// From and To are the first and the last day, zero for no bound. Weeks is
	// the number of weeks up to the last session, 0 for 13; From comes before
	// it.
	From, To time.Time
	Weeks    int
	// NoNotes leaves out what the patient wrote in words, BlankName leaves a
	// line to write the name on.
	NoNotes, BlankName bool
	Language           issue.Language
	Paper              pdf.Paper
	// Tool is name and version of this program.
	Tool string
}

// Report is the page in both forms. From and To are its first and last day.
type Report struct {
	Page       *Page
	HTML, PDF  []byte
	From, To   time.Time
	attendance []fhirmap.Attendance
	summaries  []fhirmap.Summary
}

// ForRecord is the report as it goes into a record.
func (r Report) ForRecord() fhirmap.Report {
	return fhirmap.Report{
		Span: fhirmap.Span{From: r.From, To: r.To}, Title: r.Page.Title, Language: string(r.Page.Language),
		PDF: r.PDF, HTML: r.HTML, Attendance: r.attendance, Summaries: r.summaries,
	}
}

// DefaultWeeks is the length of a report without other choice: a quarter, the
// usual time between two visits (common practice).
const DefaultWeeks = 13

// mostDays is what one page has room for.
const mostDays = 378

// Make writes the report of a record. It is an error if no session lies in the
// days asked for, or if there are too many of them for one page.
func Make(r *Record, opts Options) (Report, error) {
	if opts.Paper.Name == "" {
		opts.Paper = pdf.A4
	}
	if opts.Language == "" {
		opts.Language = issue.English
	}
	from, to, err := opts.span(r)
	if err != nil {
		return Report{}, err
	}
	b := builder{Record: r.between(from, to), whole: r.between(time.Time{}, to), opts: opts, from: from, to: to}
	b.begins, b.ends = r.days(time.Time{}, time.Time{})
	page := b.page()
	html, err := page.html()
	if err != nil {
		return Report{}, err
	}
	file, err := page.pdf()
	return Report{page, html, file, from, to, b.table().attendance(), b.table().summaries()}, err
}

// ErrEmptySpan is returned where no session lies in the days of a report.
var ErrEmptySpan = errors.New("no session lies in the days asked for")

var errTooLong = fmt.Errorf("more than %d days do not fit on one page: ask for fewer, with --from, --to or --weeks", mostDays)

func (o Options) span(r *Record) (from, to time.Time, err error) {
	first, last := r.days(o.From, o.To)
	if last.IsZero() {
		return from, to, ErrEmptySpan
	}
	weeks := o.Weeks
	if weeks == 0 {
		weeks = DefaultWeeks
	}
	from, to = last.AddDate(0, 0, 1-7*weeks), last
	switch {
	case !o.From.IsZero() && o.Weeks == 0:
		from = o.From
	case from.Before(first):
		from = first
	}
	if !o.To.IsZero() {
		to = o.To
	}
	if to.Sub(from) >= mostDays*24*time.Hour {
		return from, to, errTooLong
	}
	return from, to, nil
}

// days are the first and the last day with a session between two days.
func (r *Record) days(from, to time.Time) (first, last time.Time) {
	for _, t := range r.treatments {
		d := day(t.start)
		if d.Before(from) || !to.IsZero() && d.After(to) {
			continue
		}
		if first.IsZero() || d.Before(first) {
			first = d
		}
		if d.After(last) {
			last = d
		}
	}
	return first, last
}

// between returns the record with the sessions, weeks and laboratory values of
// some days only.
func (r *Record) between(from, to time.Time) *Record {
	in := func(d time.Time) bool { return !d.Before(from) && !d.After(to) }
	part := *r
	part.treatments, part.weeks, part.labs = nil, nil, nil
	for _, t := range r.treatments {
		if in(day(t.start)) {
			part.treatments = append(part.treatments, t)
		}
	}
	for _, w := range r.weeks {
		if in(w.monday) || in(w.monday.AddDate(0, 0, 6)) {
			part.weeks = append(part.weeks, w)
		}
	}
	for _, l := range r.labs {
		if in(l.day) {
			part.labs = append(part.labs, l)
		}
	}
	return &part
}
