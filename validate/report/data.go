package report

import (
	"encoding/csv"
	"encoding/json"
	"io"
	"regexp"
	"strconv"
	"strings"

	"runsheet.example/validate/issue"
)

// document is the JSON form.
type document struct {
	Findings   []issue.Finding `json:"findings"`
	NotChecked []string        `json:"notChecked,omitempty"`
}

func printJSON(w io.Writer, findings []issue.Finding, opts Options) error {
	if findings == nil {
		findings = []issue.Finding{}
	}
	return WriteJSON(w, document{findings, opts.NotChecked})
}

// WriteJSON writes a value as indented JSON, its texts as they are.
func WriteJSON(w io.Writer, value any) error {
	encoder := json.NewEncoder(w)
	encoder.SetEscapeHTML(false)
	encoder.SetIndent("", "  ")
	return encoder.Encode(value)
}

var csvHeadings = []string{
	"severity", "rule", "file", "line", "column", "expression", "session", "cells",
	"details", "value", "expected", "mend", "accepted",
}

func printCSV(w io.Writer, findings []issue.Finding) error {
	rows := [][]string{csvHeadings}
	for _, f := range findings {
		cells := make([]string, len(f.Cells))
		for i, c := range f.Cells {
			cells[i] = c.String()
		}
		accepted := ""
		if f.Accepted != nil {
			accepted = f.Accepted.String()
		}
		rows = append(rows, []string{
			f.Severity.String(), f.Rule, f.File, position(f.Line), position(f.Column), f.Expression, f.Session,
			strings.Join(cells, "; "), f.Details.String(), f.Value, f.Expected.String(), f.Mend.String(), accepted,
		})
	}
	return WriteCSV(w, true, rows)
}

// WriteCSV writes a table, its texts [Harmless], with line ends as RFC 4180 has
// them or as lines of a text.
func WriteCSV(w io.Writer, crlf bool, rows [][]string) error {
	out := csv.NewWriter(w)
	out.UseCRLF = crlf
	for _, row := range rows {
		_ = out.Write(HarmlessRow(row)) // it keeps the error
	}
	out.Flush()
	return out.Error()
}

// HarmlessRow is a row with its texts [Harmless].
func HarmlessRow(row []string) []string {
	cells := make([]string, len(row))
	for i, text := range row {
		cells[i] = Harmless(text)
	}
	return cells
}

func position(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

// Harmless prevents a spreadsheet from reading a text as a formula: it puts an
// apostrophe before a character that starts one (OWASP, CSV injection), also
// after leading white space. A number and the unit % are left as they are, so
// that other programs can read them.
func Harmless(text string) string {
	if plain.MatchString(text) {
		return text
	}
	trimmed := strings.TrimLeft(text, " \u00a0\ufeff")
	if trimmed != "" && strings.ContainsRune("=+-@\t\r\n|%＝＋－＠", []rune(trimmed)[0]) {
		return "'" + text
	}
	return text
}

var plain = regexp.MustCompile(`^([+-]?[0-9]+([.,][0-9]+)?|%)$`)
