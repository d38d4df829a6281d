package fhirmap

import (
	"crypto/sha1"
	"encoding/base64"
	"fmt"
	"slices"
	"strings"
	"time"

	"runsheet.example/fhirmap/measure"
	"runsheet.example/fhirmap/r4"
	"runsheet.example/profiles"
)

// ReportLabel is the label of a report for a visit, in place of a session id.
const ReportLabel = "report"

// RoleReport begins the role of the DiagnosticReport of a report for a visit;
// after it comes its [Span].
const RoleReport = "visit_report:"

const (
	roleSummary    = "summary:"
	roleAttendance = "attendance:"
)

// Span is the first and the last day of a report, in UTC.
type Span struct{ From, To time.Time }

// String is the span as an ISO 8601 interval of days.
func (s Span) String() string { return r4.Date(s.From) + "/" + r4.Date(s.To) }

func (s Span) period() *r4.Period {
	return &r4.Period{Start: ptr(r4.Date(s.From)), End: ptr(r4.Date(s.To))}
}

// SpanOf is the span in the role of a DiagnosticReport.
func SpanOf(role string) (s Span, ok bool) {
	days, ours := strings.CutPrefix(role, RoleReport)
	from, to, _ := strings.Cut(days, "/")
	var errs [2]error
	s.From, errs[0] = time.Parse(time.DateOnly, from)
	s.To, errs[1] = time.Parse(time.DateOnly, to)
	return s, ours && errs == [2]error{}
}

// Report is a report for a visit: the page in both forms, in a language (BCP
// 47), and the numbers of its table.
type Report struct {
	Span
	Title, Language string
	PDF, HTML       []byte
	Attendance      []Attendance
	Summaries       []Summary
}

// Attendance is the number of sessions in one window of a report, the latest
// first, by how they went: those of [profiles.AttendanceCounts].
type Attendance struct {
	Span
	Counts [len(profiles.AttendanceCounts)]int
}

// Summary is the median, least and greatest value of a measure in one window
// of a report, as the page has them.
type Summary struct {
	Span
	// Key is that of a [profiles.Summary], Window the number of the window, the
	// latest first.
	Key    string
	Window int
	// Unit is UCUM; Method is that of computed values, empty for entered ones.
	Unit, Method            string
	Median, Least, Greatest string
	// Count is the number of values, Sessions that of the sessions that took
	// place; 0 for a value of weeks.
	Count, Sessions int
	// preliminary reports that one of the values is, in its own record.
	preliminary bool
}

// Report maps a report for a visit as one more record: a DiagnosticReport with
// the page in both forms, an Observation for each count of sessions and each summary. The identity is
// made from the days, so that a later report of the same days amends it.
//
// A year has hundreds of sessions, so a summary does not list the values that
// it is derived from: they are those of the sessions within its period. There
// is no time of issue, since no output holds the clock; no performer, since R4
// lets neither a patient nor software be one; and no conclusion, since the
// page does not judge. As for the weeks, there is no Provenance.
func (p *Mapping) Report(page Report) (*SessionRecord, error) {
	m := newLogMapper(p.log, p.opts)
	role := RoleReport + page.Span.String()
	report := &r4.DiagnosticReport{
		Status: reportFinal, Category: []r4.CodeableConcept{concept("", profiles.OtherService)},
		Code: concept(page.Title, profiles.VisitReport), EffectivePeriod: page.period(),
		PresentedForm: []r4.Attachment{page.form("application/pdf", page.PDF), page.form("text/html", page.HTML)},
		Text:          narrative(page.Title + ", " + r4.Date(page.From) + " to " + r4.Date(page.To) + ". " + caution),
	}
	if err := m.patient(); err != nil {
		return nil, err
	}
	if len(page.Summaries)+len(page.Attendance) > 0 { // which name the program
		if err := m.software(); err != nil {
			return nil, err
		}
	}
	for window, a := range page.Attendance {
		id := m.names.name("", role+":attendance", window)
		if err := m.attendance(id, a, window); err != nil {
			return nil, err
		}
		report.Result = append(report.Result, m.reference("Observation", id))
	}
	summaries, err := p.preliminary(page.Summaries)
	if err != nil {
		return nil, err
	}
	for _, s := range summaries {
		id := m.names.name("", role+":"+s.Key, s.Window)
		if err := m.summary(id, s); err != nil {
			return nil, err
		}
		report.Result = append(report.Result, m.reference("Observation", id))
		if s.preliminary {
			report.Status = reportPreliminary
		}
	}
	report.Result = append(report.Result, p.weekResults(m, page.Span)...)
	id, subject := m.names.name("", role, 0), m.subject()
	report.Id, report.Meta, report.Identifier, report.Subject = m.resourceID(id), m.meta(), identifier(id), &subject
	err = m.add("DiagnosticReport", id, role, report)
	return &SessionRecord{ID: id, label: ReportLabel, Resources: m.resources, opts: p.opts}, err
}

// preliminary marks the summaries of values that are preliminary in the
// records of their sessions, or weeks.
func (p *Mapping) preliminary(list []Summary) ([]Summary, error) {
	list = slices.Clone(list)
	for at, s := range p.log.Sessions {
		day := r4.Date(s.Date.Time)
		within := func(sum Summary) bool { return day >= r4.Date(sum.From) && day <= r4.Date(sum.To) }
		if s.Broken || !s.Date.OK() || !slices.ContainsFunc(list, within) {
			continue
		}
		m := newMapper(p.recorded, at, measure.At(p.log, at), p.opts)
		if _, err := m.session(); err != nil {
			return nil, err
		}
		for _, v := range m.computedSession.Values {
			m.preliminary[v.Result.Method.Code()] = m.preliminary[v.Result.Method.ID]
		}
		for i := range list {
			if within(list[i]) && (m.preliminary[list[i].Method] || list[i].Method == "" && m.preliminary[list[i].Key]) {
				list[i].preliminary = true
			}
		}
	}
	for _, w := range measure.Weeks(p.log) {
		for i, s := range list {
			if last := r4.Date(w.Monday.AddDate(0, 0, 6)); w.Estimated && s.Sessions == 0 && last >= r4.Date(s.From) && last <= r4.Date(s.To) {
				list[i].preliminary = true
			}
		}
	}
	return list, nil
}

// weekResults are the weekly doses that the page shows. They are in the record
// of the weeks, so only their identity is known.
func (p *Mapping) weekResults(m *mapper, days Span) (results []r4.Reference) {
	for _, w := range measure.Weeks(p.log) {
		first, last := r4.Date(w.Monday), r4.Date(w.Monday.AddDate(0, 0, 6))
		for _, v := range w.Values {
			if v.Key() == "std_kt_v_weekly" && v.Modelled && v.Result.OK() && last >= r4.Date(days.From) && first <= r4.Date(days.To) {
				id := m.names.name("", computedRole(v), ordinalOf(w.Monday))
				results = append(results, r4.Reference{Type: ptr("Observation"), Identifier: &identifier(id)[0]})
			}
		}
	}
	return results
}

// attendance adds the Observation of the sessions counted in a window.
func (m *mapper) attendance(id string, a Attendance, window int) error {
	o := m.weekObservation(id, a.From, a.To, concept(profiles.Attendance.Display, profiles.Attendance))
	o.EffectivePeriod = a.period()
	for i, code := range profiles.AttendanceCounts {
		o.Component = append(o.Component, r4.ObservationComponent{Code: concept("", code), ValueInteger: &a.Counts[i]})
	}
	o.Note = []r4.Annotation{{Text: caution}}
	o.Text = narrative(fmt.Sprintf("Sessions: %d done, of them %d cut short; %d not done, %d held back; %s", a.Counts[0], a.Counts[1], a.Counts[2], a.Counts[3], a.Span))
	return m.add("Observation", id, fmt.Sprintf("%s%d", roleAttendance, window), o)
}

// form is the page as an attachment.
func (r Report) form(contentType string, data []byte) r4.Attachment {
	out := attachment(contentType, r.Title, data)
	out.Language = &r.Language
	return out
}

// attachment holds data with its size and hash. R4 forbids empty data.
func attachment(contentType, title string, data []byte) r4.Attachment {
	sum := sha1.Sum(data) // R4, Attachment.hash
	out := r4.Attachment{
		ContentType: &contentType, Title: &title, Size: ptr(len(data)), Hash: ptr(base64.StdEncoding.EncodeToString(sum[:])),
	}
	if len(data) > 0 {
		out.Data = ptr(base64.StdEncoding.EncodeToString(data))
	}
	return out
}

// summary adds the Observation of a summary.
func (m *mapper) summary(id string, s Summary) error {
	row, ok := profiles.SummaryOf(s.Key)
	if !ok {
		return fmt.Errorf("no code for a summary of %s", s.Key)
	}
	o := m.weekObservation(id, s.From, s.To, concept(row.Coding.Display, row.Coding))
	o.EffectivePeriod = s.period()
	if s.preliminary {
		o.Status = observationPreliminary
	}
	o.Method = ptr(concept("Median, least and greatest value of these days; a median between two values may have one more decimal."))
	component := func(code profiles.Coding, number string, count int) {
		c := r4.ObservationComponent{Code: concept("", code), ValueInteger: &count}
		if number != "" {
			c.ValueInteger, c.ValueQuantity = nil, quantity(number, s.Unit)
		}
		o.Component = append(o.Component, c)
	}
	component(profiles.Median, s.Median, 0)
	component(profiles.Minimum, s.Least, 0)
	component(profiles.Maximum, s.Greatest, 0)
	component(profiles.Count, "", s.Count)
	if s.Sessions > 0 {
		component(profiles.TotalCount, "", s.Sessions)
	}
	o.Note = []r4.Annotation{{Text: caution}}
	if s.Method != "" {
		o.Note = append(o.Note, r4.Annotation{Text: "Values by the method " + s.Method + "."})
	}
	o.Text = narrative(fmt.Sprintf("%s: %s, %s to %s, of %d values, %s", row.Coding.Display, withUnit(s.Median, s.Unit), s.Least, s.Greatest, s.Count, s.Span))
	return m.add("Observation", id, fmt.Sprintf("%s%s:%d", roleSummary, s.Key, s.Window), o)
}
