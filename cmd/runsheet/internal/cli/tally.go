package cli

import (
	"fmt"
	"io"
	"strings"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// whyLeft are the reasons why rows and cells are not in the log.
var whyLeft = [...]issue.Text{
	session.RowEmpty: issue.T("nothing in them"), session.RowBroken: issue.T("quotation marks that do not pair"),
	session.RowUnplaced: issue.T("of no session"), session.RowByMap: issue.T("left out by the map"),
	session.CellUnknown: issue.T("in columns the log does not know"), session.CellByMap: issue.T("ignored by the map"),
	session.CellUnmapped: issue.T("not in the map"),
}

// closingLine summarises the rows and cells of a log: read, skipped and why,
// and not sent. With all, it lists the cells.
func closingLine(w io.Writer, t session.Tally, language issue.Language, all bool) {
	if t.Rows == 0 && len(t.Left) == 0 {
		return // nothing was read, and a finding explains why
	}
	var rows, cells [len(whyLeft)]int
	for _, left := range t.Left {
		if left.Cells() {
			cells[left.Why] += len(left.Rows)
		} else {
			rows[left.Why] += len(left.Rows)
		}
	}
	line := issue.T("Read {}", rowsOf(t.Rows))
	if n, why := sum(rows[:]); n > 0 {
		line = line.And(issue.T("skipped {} ({})", rowsOf(n), why))
	}
	if n, why := sum(cells[:]); n > 0 {
		line = line.And(issue.T("{} not sent ({})", countOf(n, "{} cell is", "{} cells are"), why))
	}
	switch {
	case len(t.Left) == 0:
		line = line.And(issue.T("skipped none; every filled cell was read"))
	case !all:
		line = line.And(issue.T("--all lists them"))
	}
	fmt.Fprintln(w, language.Text(line)+".")
	for _, left := range t.Left {
		if all {
			rows := issue.T(issue.OneOrMany(len(left.Rows), "row {}", "rows {}"), ranges(left.Rows))
			fmt.Fprintln(w, "  "+language.Text(issue.T("{}, {}: {}", left.At, rows, whyLeft[left.Why])))
		}
	}
}

func rowsOf(n int) issue.Text { return countOf(n, "{} row", "{} rows") }

// sum adds counts and names them by reason.
func sum(counts []int) (n int, why issue.Text) {
	for reason, c := range counts {
		if c == 0 {
			continue
		}
		part := issue.T("{} {}", c, whyLeft[reason])
		if n == 0 {
			why = part
		} else {
			why = issue.T("{}, {}", why, part)
		}
		n += c
	}
	return n, why
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
