package adequacy

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"
)

// pageWidth is the width at which notes wrap. Tables are narrower than 110
// columns, so that they fit a page or a window.
const pageWidth = 100

// over in a heading extends the text to its left over this column.
const over = "\x00"

// grid is one small table with a title above and notes below.
type grid struct {
	title string
	// heads are the lines of the heading, each with as many cells as a row.
	heads [][]string
	rows  [][]string
	notes []string
}

func (g grid) print(w io.Writer) {
	fmt.Fprintf(w, "\n%s\n", g.title)
	widths := g.widths()
	for _, line := range g.heads {
		printLine(w, line, widths)
	}
	for _, line := range g.rows {
		printLine(w, line, widths)
	}
	for _, note := range g.notes {
		printWrapped(w, "  ", note)
	}
}

func (g grid) widths() []int {
	var widths []int
	for _, lines := range [][][]string{g.heads, g.rows} {
		for _, line := range lines {
			for i, cell := range line {
				if i == len(widths) {
					widths = append(widths, 0)
				}
				if spanned := cell == over || i+1 < len(line) && line[i+1] == over; !spanned {
					widths[i] = max(widths[i], utf8.RuneCountInString(cell))
				}
			}
		}
	}
	return widths
}

// printLine aligns the first column left and the others right; a heading over
// several columns begins at the first of them.
func printLine(w io.Writer, cells []string, widths []int) {
	var line strings.Builder
	for i := 0; i < len(cells); i++ {
		first, width := i, widths[i]
		for ; i+1 < len(cells) && cells[i+1] == over; i++ {
			width += 2 + widths[i+1]
		}
		text := cells[first]
		pad := strings.Repeat(" ", max(0, width-utf8.RuneCountInString(text)))
		if first == 0 || i > first {
			line.WriteString("  " + text + pad)
		} else {
			line.WriteString("  " + pad + text)
		}
	}
	fmt.Fprintln(w, strings.TrimRight(line.String(), " "))
}

// printWrapped writes a text in lines of at most pageWidth; it indents the
// lines after the first once more.
func printWrapped(w io.Writer, indent, text string) {
	line := indent
	for _, word := range strings.Fields(text) {
		if utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > pageWidth && strings.TrimSpace(line) != "" {
			fmt.Fprintln(w, strings.TrimRight(line, " "))
			line = indent + "  "
		}
		if strings.TrimSpace(line) != "" {
			line += " "
		}
		line += word
	}
	fmt.Fprintln(w, line)
}
