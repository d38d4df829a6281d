package report

import (
	"fmt"
	"html"
	"io"
	"strings"

	"runsheet.example/validate/issue"
)

// RuleSystem is the code system of rule ids in OperationOutcome.issue.details.
// The OID is made from a UUID (ITU-T X.667), so it needs no registration.
const RuleSystem = "urn:oid:2.25.172173875059249308765252606965999828704"

// HL7's extensions for the position of an issue. R4 defines the source; line
// and column come from the extensions pack of later versions.
const (
	extensionLine   = "http://hl7.org/fhir/StructureDefinition/operationoutcome-issue-line"
	extensionColumn = "http://hl7.org/fhir/StructureDefinition/operationoutcome-issue-col"
	extensionSource = "http://hl7.org/fhir/StructureDefinition/operationoutcome-issue-source"
)

// The members of an OperationOutcome, in the order R4 gives them.
type (
	operationOutcome struct {
		ResourceType string         `json:"resourceType"`
		Text         narrative      `json:"text"`
		Issue        []outcomeIssue `json:"issue"`
	}
	narrative struct {
		Status string `json:"status"`
		Div    string `json:"div"`
	}
	outcomeIssue struct {
		Extension   []extension `json:"extension,omitempty"`
		Severity    string      `json:"severity"`
		Code        string      `json:"code"`
		Details     concept     `json:"details"`
		Diagnostics string      `json:"diagnostics,omitempty"`
		Expression  []string    `json:"expression,omitempty"`
	}
	extension struct {
		URL          string `json:"url"`
		ValueInteger int    `json:"valueInteger,omitempty"`
		ValueString  string `json:"valueString,omitempty"`
	}
	concept struct {
		Coding []coding `json:"coding,omitempty"`
		Text   string   `json:"text"`
	}
	coding struct {
		System string `json:"system"`
		Code   string `json:"code"`
	}
)

// printOutcome writes a FHIR R4 OperationOutcome: details without values,
// diagnostics with them. Without findings it writes one issue that states it,
// because an outcome must have an issue. An accepted finding has severity
// information, since readers decide by severity; diagnostics keeps its own
// severity.
func printOutcome(w io.Writer, findings []issue.Finding, opts Options) error {
	outcome := operationOutcome{ResourceType: "OperationOutcome", Text: summary(findings)}
	for _, f := range findings {
		outcome.Issue = append(outcome.Issue, toIssue(f))
	}
	if len(findings) == 0 {
		outcome.Issue = append(outcome.Issue, outcomeIssue{
			Severity: "information", Code: "informational", Details: concept{Text: "none of the checks found anything"},
		})
	}
	for _, note := range opts.NotChecked {
		outcome.Issue = append(outcome.Issue, outcomeIssue{
			Severity: "information", Code: "not-supported", Details: concept{Text: fhirString("not checked: " + note)},
		})
	}
	return WriteJSON(w, outcome)
}

func summary(findings []issue.Finding) narrative {
	errors, warnings, information := issue.Count(findings)
	text := fmt.Sprintf("errors: %d, warnings: %d, for information: %d", errors, warnings, information)
	if accepted := len(findings) - errors - warnings - information; accepted > 0 {
		text += fmt.Sprintf(", accepted: %d", accepted)
	}
	return narrative{"generated", `<div xmlns="http://www.w3.org/1999/xhtml"><p>` + html.EscapeString(text) + "</p></div>"}
}

func toIssue(f issue.Finding) outcomeIssue {
	out := outcomeIssue{
		Severity: f.Severity.String(), Code: "invalid",
		Details: concept{Text: fhirString(f.Details.String())},
	}
	if rule, ok := issue.Lookup(f.Rule); ok {
		out.Code = rule.IssueType
		out.Details.Coding = []coding{{RuleSystem, f.Rule}}
		if out.Details.Text == "" {
			out.Details.Text = rule.What
		}
	}
	if out.Details.Text == "" {
		out.Details.Text = fhirString("finding of rule " + f.Rule)
	}
	if f.Accepted != nil {
		out.Severity = issue.Information.String()
	}
	if f.Line > 0 {
		out.Extension = append(out.Extension, extension{URL: extensionLine, ValueInteger: f.Line})
	}
	if f.Column > 0 {
		out.Extension = append(out.Extension, extension{URL: extensionColumn, ValueInteger: f.Column})
	}
	if source := fhirString(source(f)); source != "" {
		out.Extension = append(out.Extension, extension{URL: extensionSource, ValueString: source})
	}
	out.Diagnostics = fhirString(diagnostics(f))
	if f.Expression != "" {
		out.Expression = []string{fhirString(f.Expression)}
	}
	return out
}

// source is the origin of the finding: the document and its log cells.
func source(f issue.Finding) string {
	var parts []string
	if f.File != "" {
		parts = append(parts, f.File)
	}
	for _, c := range f.Cells {
		parts = append(parts, c.String())
	}
	return strings.Join(parts, "; ")
}

func diagnostics(f issue.Finding) string {
	var parts []string
	if f.Accepted != nil {
		parts = append(parts, f.Accepted.Word()+" "+f.Severity.String()+" "+f.Accepted.String())
	}
	for _, p := range [...]struct{ name, text string }{
		{"session", f.Session}, {"written", f.Value}, {"expected", f.Expected.String()}, {"to mend", f.Mend.String()},
	} {
		if p.text != "" {
			parts = append(parts, p.name+": "+p.text)
		}
	}
	return strings.Join(parts, "; ")
}

// fhirString converts a text to a FHIR string: no control characters, no white
// space at either end, limited length.
func fhirString(text string) string {
	text = strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || r == 0xfffd {
			return ' '
		}
		return r
	}, text)
	const limit = 4000
	if runes := []rune(text); len(runes) > limit {
		text = string(runes[:limit]) + "…"
	}
	return strings.TrimSpace(text)
}
