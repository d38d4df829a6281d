package open

import (
	"cmp"
	"maps"
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"runsheet.example/fhirmap/session"
	"runsheet.example/fhirmap/session/edit"
)

// texts are what the fields of a page have in the log, by their names. A page
// carries them, so that a save of it writes what was typed and nothing else.
func texts(fields map[string]*field) url.Values {
	out := url.Values{}
	for name, f := range fields {
		if f.disk != "" {
			out.Set(name, f.disk)
		}
	}
	return out
}

// differences are the fields that say something else than the log does now.
func (f frame) differences(fields map[string]*field) (all []problem) {
	for _, name := range slices.Sorted(maps.Keys(fields)) {
		if one := fields[name]; one.IsStale {
			all = append(all, problem{one.ID, f.say("{}: here “{}”, in the log now “{}”", one.Label, one.Text, one.disk)})
		}
	}
	return all
}

// identity is what names a treatment when its row has moved: its name, or its
// day and time where it has none.
func identity(l *edit.Log, row int) string {
	for _, columns := range [][]string{{"session"}, {"date", "start"}} {
		name := ""
		for _, column := range columns {
			name += " " + strings.TrimSpace(l.Cell(session.SheetSessions, row, column))
		}
		if strings.TrimSpace(name) != "" {
			return name
		}
	}
	return ""
}

// rowNow is the row of the treatment that a page was made for, 0 if it is gone.
func rowNow(l *edit.Log, row int, was string) int {
	rows := l.Rows(session.SheetSessions)
	if slices.Contains(rows, row) && identity(l, row) == was {
		return row
	}
	for _, row := range rows {
		if identity(l, row) == was {
			return row
		}
	}
	return 0
}

// rowField is the name of a field in a row that the log has.
var rowField = regexp.MustCompile(`^([a-z]+)\.(\d+)\.(.+)$`)

// rebased is what was typed into a page of an older log, as it concerns the log
// now: what the person did not touch is left out, and the fields of a row that
// has moved have the names of today. A row that is gone is a new one if
// something was typed into it. was and now are the texts of both logs.
func rebased(typed, was, now url.Values) url.Values {
	touched := func(name string) bool {
		return typed.Get(name+".absent") != "" || strings.ReplaceAll(typed.Get(name), "\r\n", "\n") != was.Get(name)
	}
	out, gone := url.Values{}, map[string]bool{}
	to := moved(was, now, typedRows(typed))
	for name := range typed {
		if m := rowField.FindStringSubmatch(name); m != nil && touched(name) {
			gone[m[1]+"."+m[2]] = true
		}
	}
	for name := range typed {
		m := rowField.FindStringSubmatch(name)
		is := touched(strings.TrimSuffix(name, ".absent"))
		target := name
		if m != nil {
			if prefix := to[m[1]+"."+m[2]]; prefix != "" {
				target = prefix + "." + m[3]
				is = is || strings.Contains(prefix, ".new") && gone[m[1]+"."+m[2]]
			}
		}
		if is {
			out[target] = typed[name]
		}
	}
	return out
}

// moved tells what the rows of a page are called now: a row is the one with the
// same texts, or else the one at its place.
func moved(was, now url.Values, fresh map[session.Sheet]int) map[string]string {
	before, after := rowsIn(was), rowsIn(now)
	to, taken := map[string]string{}, map[string]bool{}
	for _, exact := range []bool{true, false} {
		for _, row := range inOrder(before) {
			for _, at := range inOrder(after) {
				same := exact && after[at] == before[row] || !exact && at == row
				if same && to[row] == "" && !taken[at] {
					to[row], taken[at] = at, true
				}
			}
		}
	}
	for _, row := range inOrder(before) {
		if sheet, _, _ := strings.Cut(row, "."); to[row] == "" {
			fresh[session.Sheet(sheet)]++
			to[row] = sheet + ".new" + strconv.Itoa(fresh[session.Sheet(sheet)])
		}
	}
	return to
}

// rowsIn are the rows of a page by their names, as one text each that begins
// with the sheet.
func rowsIn(texts url.Values) map[string]string {
	rows := map[string]string{}
	for _, name := range slices.Sorted(maps.Keys(texts)) {
		if m := rowField.FindStringSubmatch(name); m != nil && m[1] != string(session.SheetSessions) {
			row := m[1] + "." + m[2]
			if rows[row] == "" {
				rows[row] = m[1]
			}
			rows[row] += "\x00" + m[3] + "\x00" + texts.Get(name)
		}
	}
	return rows
}

// inOrder are the names of rows, readings.2 before readings.10.
func inOrder(rows map[string]string) []string {
	return slices.SortedFunc(maps.Keys(rows), func(a, b string) int { return cmp.Or(len(a)-len(b), strings.Compare(a, b)) })
}
