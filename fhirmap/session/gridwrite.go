package session

import (
	"slices"
	"strings"
)

// WriteGrid writes the cells of a log, such as those of a workbook, as a new
// log folder. The folder must not exist yet, as for [WriteTemplate].
func WriteGrid(dir string, grid *Grid) error {
	files := []templateFile{{aboutFile, crlf([]byte(aboutText(grid.About)))}}
	for _, t := range grid.Tables {
		data, err := csvOf(slices.Concat([][]string{t.Headings}, t.Rows))
		if err != nil {
			return err
		}
		files = append(files, templateFile{string(t.Sheet) + ".csv", data})
	}
	return writeNew(dir, files)
}

// aboutText writes parts as log.toml. Of a key that stands twice in a part it
// keeps the first as an entry, and the others as remarks.
func aboutText(parts []*AboutPart) string {
	var out strings.Builder
	for _, p := range parts {
		heading := "[" + p.Name + "]"
		if !slices.Contains([]string{"log", "patient", "clinic"}, p.Name) {
			heading = "[" + heading + "]"
		}
		out.WriteString(heading + "\n")
		have := map[string]bool{}
		for _, e := range p.Entries {
			value := TOMLString(e.Text)
			switch {
			case e.Key == "weekdays":
				value = TOMLList(e.Text)
			case e.Bare:
				value = e.Text
			}
			if have[e.Key] || e.Text == "" && heading[1] == '[' {
				out.WriteString("# ")
			}
			have[e.Key] = true
			out.WriteString(e.Key + " = " + value + "\n")
		}
		out.WriteString("\n")
	}
	return out.String()
}

// TOMLList is a list written with commas as a TOML array of texts.
func TOMLList(text string) string {
	items := strings.FieldsFunc(text, func(c rune) bool { return strings.ContainsRune(",; ", c) })
	for i, item := range items {
		items[i] = TOMLString(item)
	}
	return "[" + strings.Join(items, ", ") + "]"
}
