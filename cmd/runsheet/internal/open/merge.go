package open

import (
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
func texts(fields map[string]*field, more ...string) url.Values {
	out := url.Values{}
	for name, f := range fields {
		if f.disk != "" {
			out.Set(name, f.disk)
		}
	}
	for i := 0; i+1 < len(more); i += 2 {
		out.Set(more[i], more[i+1])
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
	to, after := map[string]string{}, rowsIn(now)
	for sheet, rows := range rowsIn(was) {
		prefix := func(n int) string { return sheet + "." + strconv.Itoa(n) }
		taken := map[int]bool{}
		for _, n := range slices.Sorted(maps.Keys(rows)) {
			for _, at := range slices.Sorted(maps.Keys(after[sheet])) {
				if !taken[at] && to[prefix(n)] == "" && after[sheet][at].Encode() == rows[n].Encode() {
					to[prefix(n)], taken[at] = prefix(at), true
				}
			}
		}
		for _, n := range slices.Sorted(maps.Keys(rows)) {
			switch {
			case to[prefix(n)] != "":
			case after[sheet][n] != nil && !taken[n]:
				to[prefix(n)], taken[n] = prefix(n), true
			default:
				fresh[session.Sheet(sheet)]++
				to[prefix(n)] = sheet + ".new" + strconv.Itoa(fresh[session.Sheet(sheet)])
			}
		}
	}
	return to
}

// rowsIn are the texts of the rows of a page by sheet, number and column.
func rowsIn(texts url.Values) map[string]map[int]url.Values {
	rows := map[string]map[int]url.Values{}
	for name := range texts {
		m := rowField.FindStringSubmatch(name)
		if m == nil || m[1] == string(session.SheetSessions) {
			continue
		}
		if rows[m[1]] == nil {
			rows[m[1]] = map[int]url.Values{}
		}
		n := number(m[2])
		if rows[m[1]][n] == nil {
			rows[m[1]][n] = url.Values{}
		}
		rows[m[1]][n].Set(m[3], texts.Get(name))
	}
	return rows
}
