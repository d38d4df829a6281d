// Package report prints findings as plain text for people, as JSON and CSV for
// machines, as a FHIR R4 OperationOutcome and as a JUnit report. It prints the
// findings of every reader and engine, about a log with cells or about a FHIR
// document with line and expression.
package report

import (
	"fmt"
	"io"

	"runsheet.example/validate/issue"
)

// Format is an output format.
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

// ParseFormat parses the name of a format.
func ParseFormat(name string) (Format, error) {
	switch f := Format(name); f {
	case Text, JSON, CSV, Outcome, JUnit:
		return f, nil
	default:
		return "", fmt.Errorf("unknown format %q: expected text, json, outcome, csv or junit", name)
	}
}

// Options controls the output. The zero value suits a terminal without colour.
type Options struct {
	// All prints every finding. Otherwise text output explains the first
	// finding of each kind, and lists the places and differences of the
	// others.
	All bool
	// Colour allows ANSI colours in text output. The caller checks the
	// terminal and NO_COLOR.
	Colour bool
	// NotChecked is printed after the findings in text output and is part of
	// the JSON and OperationOutcome output.
	NotChecked []string
	// Documents are the checked documents, so that a JUnit report includes
	// those without findings. Strict makes warnings fail too.
	Documents []string
	Strict    bool
	// Language is the language of findings about a log; the zero value is
	// English. Texts without a translation stay English.
	Language issue.Language
}

// Print writes the findings to w in the given order. Text output groups them.
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

// inLanguage returns a translated copy of the findings.
func inLanguage(findings []issue.Finding, language issue.Language) []issue.Finding {
	translated := make([]issue.Finding, len(findings))
	for i, f := range findings {
		translated[i] = language.Finding(f)
	}
	return translated
}
