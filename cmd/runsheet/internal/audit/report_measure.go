package audit

import (
	"io"
	"strings"

	"github.com/samply/golang-fhir-models/fhir-models/fhir"

	"runsheet.example/fhirmap/r4"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// The Measure that a report as FHIR answers, and the codes in it. Both are in the
// profiles package (audit.fsh), which says what each code means.
const (
	measureURL = profiles.DefaultCanonical + "/Measure/runsheet-audit"
	auditCodes = profiles.DefaultCanonical + "/CodeSystem/runsheet-audit-codes"
)

// measureReport writes the report as a FHIR MeasureReport: a group for each
// question, with the answer as its one stratum and the findings by severity; the
// group of complete has the sessions too, and a stratum for each patient and
// week.
func (r *Report) measureReport(w io.Writer) error {
	from, to := r.From, r.To
	for _, p := range r.Patients {
		if r.From == "" && p.First != "" && (from == "" || p.First < from) {
			from = p.First
		}
		if r.To == "" {
			to = max(to, p.Last)
		}
	}
	period := r4.Period{Start: text(from), End: text(to)}
	if from == "" && to == "" { // nothing says it, and a MeasureReport has a period
		unknown := "unknown"
		period.Extension = []r4.Extension{{Url: profiles.AbsentExtension, ValueCode: &unknown}}
	}
	out := r4.MeasureReport{
		Status: fhir.MeasureReportStatusComplete, Type: fhir.MeasureReportTypeSummary, Measure: measureURL,
		Period: period,
	}
	for _, v := range r.Verdicts {
		out.Group = append(out.Group, r.group(v))
	}
	text, err := r4.Marshal(&out)
	if err == nil {
		_, err = w.Write(append(text, '\n'))
	}
	return err
}

// group is what one verdict says.
func (r *Report) group(v Verdict) fhir.MeasureReportGroup {
	answer := concept(strings.ReplaceAll(string(v.Answer), " ", "-"))
	answer.Text = text(v.Reason)
	out := fhir.MeasureReportGroup{Code: concept(string(v.Question)), Stratifier: []fhir.MeasureReportGroupStratifier{{
		Code: []r4.CodeableConcept{*concept("answer")}, Stratum: []fhir.MeasureReportGroupStratifierStratum{{Value: answer}},
	}}}
	out.Code.Text = text(v.Counts)
	by := map[issue.Severity]int{}
	for _, c := range r.Rules {
		if c.Question == v.Question {
			by[c.Severity] += c.N
		}
	}
	list := []counted{{"errors", by[issue.Error]}, {"warnings", by[issue.Warning]}}
	if v.Question == issue.Complete {
		var sum Counts
		weeks := fhir.MeasureReportGroupStratifier{Code: []r4.CodeableConcept{*concept("patient"), *concept("week")}}
		for _, p := range r.Patients {
			sum.add(p.Counts)
			for _, week := range p.Weeks {
				weeks.Stratum = append(weeks.Stratum, week.stratum(p.Number))
			}
		}
		list = append(list, sum.coded()...)
		if len(weeks.Stratum) > 0 {
			out.Stratifier = append(out.Stratifier, weeks)
		}
	}
	for _, c := range list {
		out.Population = append(out.Population, fhir.MeasureReportGroupPopulation{Code: concept(c.code), Count: &c.n})
	}
	return out
}

// stratum is a week of a patient. What is planned may be a fraction, as 3.5, and
// so is no count.
func (w Week) stratum(patient string) fhir.MeasureReportGroupStratifierStratum {
	var out fhir.MeasureReportGroupStratifierStratum
	for _, c := range [][2]string{{"patient", patient}, {"week", w.Monday}, {"planned", w.Planned}, {"leave", w.Leave}} {
		if c[1] != "" {
			out.Component = append(out.Component, fhir.MeasureReportGroupStratifierStratumComponent{Code: *concept(c[0]), Value: r4.CodeableConcept{Text: text(c[1])}})
		}
	}
	for _, c := range w.Counts.coded() {
		out.Population = append(out.Population, fhir.MeasureReportGroupStratifierStratumPopulation{Code: concept(c.code), Count: &c.n})
	}
	return out
}

// counted is a number of sessions or findings by its code.
type counted struct {
	code string
	n    int
}

func (c Counts) coded() []counted {
	return []counted{{"done", c.Done}, {"cut-short", c.CutShort}, {"not-done", c.NotDone}, {"held-back", c.HeldBack}, {"unexplained", c.Unexplained}}
}

func concept(code string) *r4.CodeableConcept {
	return &r4.CodeableConcept{Coding: []r4.Coding{{System: text(auditCodes), Code: &code}}}
}

// text is nil for no text: an element of FHIR is never empty.
func text(s string) *string {
	if s = strings.TrimSpace(s); s == "" {
		return nil
	}
	return &s
}
