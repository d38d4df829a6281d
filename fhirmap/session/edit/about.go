package edit

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"runsheet.example/fhirmap/session"
)

// About is the value of a key of log.toml as written, "" where there is none. A
// key is the table and the name, as in "patient.sex"; of a table that there
// may be several of, the number, counted from 1, stands between them:
// "prescription.2.valid_from". A list is written with commas.
func (l *Log) About(key string) string {
	if f := l.files[aboutName]; f != nil {
		if part, name := find(f, key); part != nil {
			e, _ := part.Entry(name)
			return e.Text
		}
	}
	return ""
}

// AboutParts is how many tables of a name log.toml has.
func (l *Log) AboutParts(table string) (n int) {
	if f := l.files[aboutName]; f != nil && f.err == nil {
		parts, _ := session.ParseAbout(f.raw.Text)
		for _, p := range parts {
			if p.Name == table {
				n++
			}
		}
	}
	return n
}

// SetAbout changes the value of a key of log.toml (see [Log.About]). A number
// after the last table of its name adds a table. The text is
// written between quotation marks, so that it is read with the decimal mark
// and the order of dates that the log declares; weekdays, with commas between
// them, become a list.
func (l *Log) SetAbout(key, text string) error {
	text, err := checked(text)
	if err != nil {
		return err
	}
	f := l.files[aboutName]
	if f == nil {
		f = &file{name: aboutName, raw: session.NewRawText()}
		l.files[aboutName] = f
	}
	if f.err != nil {
		return f.err
	}
	was := l.About(key)
	if was == text {
		return nil
	}
	out := write(f, key, text)
	changed := &file{raw: session.RawText{Text: out}}
	if !onlyChanges(f.raw.Text, out) {
		return fmt.Errorf("%s: %s cannot be changed here; change it in a text editor", f.name, key)
	}
	if part, name := find(changed, key); part == nil {
		return fmt.Errorf("%s: there is no table for %s", f.name, key)
	} else if e, _ := part.Entry(name); plainList(e.Text) != plainList(text) {
		return fmt.Errorf("%s: %s cannot be changed here; change it in a text editor", f.name, key)
	}
	f.raw.Text = out
	f.changed = true
	return nil
}

// splitKey splits "prescription.2.valid_from" into its parts; the number is 1
// where there is none.
func splitKey(key string) (table string, number int, name string) {
	table, name, _ = strings.Cut(key, ".")
	if n, rest, ok := strings.Cut(name, "."); ok {
		if i, err := strconv.Atoi(n); err == nil {
			return table, i, rest
		}
	}
	return table, 1, name
}

// find is the table of a key and the name within it.
func find(f *file, key string) (*session.AboutPart, string) {
	if f.err != nil {
		return nil, ""
	}
	table, number, name := splitKey(key)
	parts, _ := session.ParseAbout(f.raw.Text)
	for _, p := range parts {
		if p.Name == table {
			if number--; number == 0 {
				return p, name
			}
		}
	}
	return nil, name
}

// write is the text of log.toml with a value changed or added.
func write(f *file, key, text string) []byte {
	old := f.raw.Text
	table, _, name := splitKey(key)
	value := session.TOMLString(text)
	if name == "weekdays" {
		value = session.TOMLList(text)
	}
	end := "\n"
	if len(old) == 0 || strings.Contains(string(old), "\r\n") {
		end = "\r\n"
	}
	part, _ := find(f, key)
	if part == nil {
		heading := "[" + table + "]"
		if slices.Contains([]string{"prescription", "access", "device"}, table) {
			heading = "[" + heading + "]"
		}
		if len(old) > 0 && old[len(old)-1] != '\n' {
			heading = end + heading
		}
		return slices.Concat(old, []byte(end+heading+end+name+" = "+value+end))
	}
	if e, ok := part.Entry(name); ok {
		return slices.Concat(old[:e.From], []byte(value), old[e.To:])
	}
	line := name + " = " + value + end
	if part.End > 0 && old[part.End-1] != '\n' {
		line = end + line
	}
	return slices.Concat(old[:part.End], []byte(line), old[part.End:])
}

// onlyChanges reports whether two texts are TOML and differ in one value at
// most.
func onlyChanges(old, changed []byte) bool {
	before, _ := session.ParseAbout(old)
	after, ok := session.ParseAbout(changed)
	return ok && differences(before, after) <= 1
}

// differences counts the values of one side that the other has not.
func differences(before, after []*session.AboutPart) (n int) {
	for i, p := range after {
		if i >= len(before) {
			n += len(p.Entries)
			continue
		}
		if before[i].Name != p.Name || len(p.Entries) < len(before[i].Entries) {
			return 2
		}
		for j, e := range p.Entries {
			if j >= len(before[i].Entries) || before[i].Entries[j].Key != e.Key || before[i].Entries[j].Text != e.Text {
				n++
			}
		}
	}
	if len(after) < len(before) {
		return 2
	}
	return n
}

// plainList is a text in which it does not matter how a list is parted.
func plainList(text string) string {
	return strings.Join(strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(",; ", r) }), ",")
}
