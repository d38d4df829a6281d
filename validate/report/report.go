// Package report prints findings: as plain text for people, as JSON and CSV
// for machines, as a FHIR R4 OperationOutcome, and as a JUnit report. It takes the findings of
// any reader or engine, those of a log with their cells as well as those of a
// FHIR document with line and expression, and knows nothing of either.
package report

import (
	"fmt"
	"io"

	"runsheet.example/validate/issue"
)

// Format names a form of output.
type Format string

// The formats.
const (
	Text    Format = "text"
	JSON    Format = "json"
	CSV     Format = "csv"
	Outcome Format = "outcome"
	JUnit   Format = "junit"
)

// Formats returns the names of all formats, for help and completion.
func Formats() []string {
	return []string{string(Text), string(JSON), string(Outcome), string(CSV), string(JUnit)}
}

// ParseFormat reads the name of a format.
func ParseFormat(name string) (Format, error) {
	switch f := Format(name); f {
	case Text, JSON, CSV, Outcome, JUnit:
		return f, nil
	default:
		return "", fmt.Errorf("unknown format %q: expected text, json, outcome, csv or junit", name)
	}
}

// Options says how findings are printed. The zero value is right for a
// terminal without colour.
type Options struct {
	// All prints every finding; otherwise text output explains the first of
	// each kind, and names the places of the others and what differs in them.
	All bool
	// Colour allows ANSI colours in text output. The caller has looked at
	// the terminal and at NO_COLOR.
	Colour bool
	// NotChecked is printed after the findings in text output and stands in
	// the JSON and OperationOutcome output.
	NotChecked []string
	// Documents are those that were checked, so that a JUnit report also has
	// those without findings; Strict makes it fail for warnings too.
	Documents []string
	Strict    bool
	// Language is the language of what is said about a log; the zero value
	// is English. Texts that it does not have stay English.
	Language issue.Language
}

// Print writes the findings, in the order given, to w. Text output groups them.
func Print(w io.Writer, format Format, findings []issue.Finding, opts Options) error {
	findings = inLanguage(findings, opts.Language)
	switch format {
	case JSON:
		return printJSON(w, findings, opts)
	case CSV:
		return printCSV(w, findings)
	case JUnit:
		return printJUnit(w, findings, opts)
	case Outcome:
		return printOutcome(w, findings, opts)
	default:
		return printText(w, findings, opts)
	}
}

// inLanguage translates what the findings say, in a list of its own.
func inLanguage(findings []issue.Finding, language issue.Language) []issue.Finding {
	if language == "" || language == issue.English {
		return findings
	}
	told := make([]issue.Finding, len(findings))
	for i, f := range findings {
		told[i] = language.Finding(f)
	}
	return told
}
