package cli

import (
	"fmt"
	"io"
	"strings"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// tallyWords are the words of the closing line of an import.
type tallyWords struct {
	row, rows, cell, cells string
	read, passed, notSent  string
	none, list             string
	why                    map[session.Why]string
}

var tallyIn = map[issue.Language]tallyWords{
	issue.English: {
		row: "row", rows: "rows", cell: "cell is", cells: "cells are",
		read: "Read %s", passed: "passed over %s (%s)", notSent: "%s not sent (%s)",
		none: "passed over none; every filled cell was read", list: "; --all lists them",
		why: map[session.Why]string{
			session.RowEmpty: "nothing in them", session.RowBroken: "quotation marks that do not pair",
			session.RowUnplaced: "of no session", session.RowByMap: "left out by the map",
			session.CellUnknown: "in columns the log does not know", session.CellByMap: "ignored by the map", session.CellUnmapped: "not in the map",
		},
	},
	issue.German: {
		row: "Zeile", rows: "Zeilen", cell: "Zelle wird", cells: "Zellen werden",
		read: "%s gelesen", passed: "%s übergangen (%s)", notSent: "%s nicht gesendet (%s)",
		none: "keine übergangen; jede ausgefüllte Zelle wurde gelesen", list: "; --all zählt sie auf",
		why: map[session.Why]string{
			session.RowEmpty: "ohne Inhalt", session.RowBroken: "mit Anführungszeichen, die nicht paarweise stehen",
			session.RowUnplaced: "ohne Sitzung", session.RowByMap: "von der Spaltenzuordnung ausgelassen",
			session.CellUnknown: "in Spalten, die das Protokoll nicht kennt", session.CellByMap: "von der Spaltenzuordnung ausgelassen", session.CellUnmapped: "nicht in der Spaltenzuordnung",
		},
	},
}

// closingLine summarises the rows and cells of a log: read, skipped and why,
// and not sent. With all, it lists the cells.
func closingLine(w io.Writer, t session.Tally, language issue.Language, all bool) {
	if t.Rows == 0 && len(t.Left) == 0 {
		return // nothing was read, and a finding explains why
	}
	words, ok := tallyIn[language]
	if !ok {
		words = tallyIn[issue.English]
	}
	rows, cells := map[session.Why]int{}, map[session.Why]int{}
	for _, left := range t.Left {
		if left.Cells() {
			cells[left.Why] += len(left.Rows)
		} else {
			rows[left.Why] += len(left.Rows)
		}
	}
	line := fmt.Sprintf(words.read, issue.Plural(t.Rows, words.row, words.rows))
	if n, why := words.sum(rows); n > 0 {
		line += "; " + fmt.Sprintf(words.passed, issue.Plural(n, words.row, words.rows), why)
	}
	n, why := words.sum(cells)
	if n > 0 {
		line += "; " + fmt.Sprintf(words.notSent, issue.Plural(n, words.cell, words.cells), why)
	}
	switch {
	case len(t.Left) == 0:
		line += "; " + words.none
	case !all:
		line += words.list
	}
	fmt.Fprintln(w, line+".")
	for _, left := range t.Left {
		if all {
			fmt.Fprintf(w, "  %s, %s %s: %s\n", left.At, strings.TrimLeft(issue.Plural(len(left.Rows), words.row, words.rows), "0123456789 "), ranges(left.Rows), words.why[left.Why])
		}
	}
}

// sum adds counts and names them by reason.
func (words tallyWords) sum(counts map[session.Why]int) (n int, why string) {
	var parts []string
	for reason := session.RowEmpty; reason <= session.CellUnmapped; reason++ {
		if c := counts[reason]; c > 0 {
			n += c
			parts = append(parts, fmt.Sprintf("%d %s", c, words.why[reason]))
		}
	}
	return n, strings.Join(parts, ", ")
}

// ranges formats row numbers, consecutive ones as from-to.
func ranges(rows []int) string {
	var parts []string
	for i := 0; i < len(rows); {
		j := i
		for j+1 < len(rows) && rows[j+1] == rows[j]+1 {
			j++
		}
		part := fmt.Sprint(rows[i])
		if j > i {
			part += fmt.Sprintf("-%d", rows[j])
		}
		parts = append(parts, part)
		i = j + 1
	}
	return strings.Join(parts, ", ")
}
