package workbook

import (
	"errors"
	"fmt"
	"path"
	"strings"

	"github.com/xuri/excelize/v2"
)

// author is who writes our comments.
const author = "Runsheet"

// comment is a comment on a cell.
type comment struct {
	row, column int
	ours        bool
}

// comments are the comments of a sheet.
func (b *book) comments(t tab) []comment {
	var part struct {
		Authors []string `xml:"authors>author"`
		List    []struct {
			Ref    string `xml:"ref,attr"`
			Author int    `xml:"authorId,attr"`
		} `xml:"commentList>comment"`
	}
	list, err := b.relationsOf(t.part)
	if name := ofKind(list, "comments"); err != nil || name == "" || b.decode(name, &part) != nil {
		return nil // a sheet without comments has no relationships either
	}
	var all []comment
	for _, one := range part.List {
		if column, row, err := excelize.CellNameToCoordinates(one.Ref); err == nil {
			ours := one.Author >= 0 && one.Author < len(part.Authors) && part.Authors[one.Author] == author
			all = append(all, comment{row, column, ours})
		}
	}
	return all
}

// errCommentsLost is a copy in which a comment did not reach its sheet.
var errCommentsLost = errors.New("a comment is missing in the copy, so it is not written; " +
	"open the workbook in your spreadsheet program, save it again as Excel Workbook (.xlsx), and try once more")

// verifyComments reads a finished copy back, the way a spreadsheet program
// finds its comments, and fails unless each place has its comment. No two
// sheets may own the same parts: each would show the comments of the other.
func verifyComments(raw []byte, places []place) error {
	b, _, err := openDirectory(raw)
	if err != nil {
		return fmt.Errorf("reading the copy back: %w", err)
	}
	owned := map[string]bool{}
	commented := map[place]bool{}
	for _, t := range b.tabs {
		list, _ := b.relationsOf(t.part) // a sheet without comments may have none
		for _, r := range list {
			if name := partName(r.Part); r.Kind == "comments" || r.Kind == "vmlDrawing" {
				if owned[name] || b.parts[name] == nil {
					return fmt.Errorf("%s: %w", t.name, errCommentsLost)
				}
				owned[name] = true
			}
		}
		for _, one := range b.comments(t) {
			commented[place{t.name, one.row, one.column}] = one.ours
		}
	}
	for _, p := range places {
		if !commented[p] {
			return fmt.Errorf("%s %s: %w", p.sheet, cellName(p.column, p.row), errCommentsLost)
		}
	}
	return nil
}

// errCommentParts is a workbook whose comments are in parts that cannot be
// given other names.
var errCommentParts = errors.New("the comments of the workbook are stored in a way that no copy can keep; " +
	"open it in your spreadsheet program, save it again as Excel Workbook (.xlsx), and try once more")

// partMoves are new names of parts: of those with comments, and of the
// drawings with their boxes.
type partMoves struct {
	book  *book
	file  *excelize.File
	names map[string]string // by the names now
	// number is that of the last sheet with comments, other that of the last
	// drawing without.
	number, other int
}

// settleComments gives the parts with comments the names that the library
// expects, before it reads them. It finds the comments of a sheet by the
// number in the name of its drawing: drawings/vmlDrawing2.vml goes with
// comments2.xml, and a sheet without either gets the number after the count of
// all comments. Other programs name the parts as they like (ECMA-376 part 2
// leaves the names to them), and then new comments would land in a part that
// no sheet knows.
func settleComments(file *excelize.File, b *book) error {
	// Drawings without comments get numbers above every one that a sheet can get.
	m := partMoves{book: b, file: file, names: map[string]string{}, other: 10_000}
	for _, t := range b.tabs {
		if err := m.sheet(t); err != nil {
			return err
		}
	}
	return m.move()
}

// sheet finds new names for the parts of a sheet.
func (m *partMoves) sheet(t tab) error {
	list, err := m.book.relationsOf(t.part)
	if err != nil {
		return nil // a sheet without comments may have none
	}
	drawing := ""
	if ofKind(list, "comments") != "" {
		m.number++
		g, err := m.book.grid(t)
		if err != nil {
			return err
		}
		drawing = g.drawing
	}
	var changed []string
	for _, r := range list {
		to := ""
		switch {
		case r.Kind == "comments":
			to = fmt.Sprintf("comments%d.xml", m.number)
		case r.Kind == "vmlDrawing" && r.ID == drawing:
			to = fmt.Sprintf("drawings/vmlDrawing%d.vml", m.number)
		case r.Kind == "vmlDrawing":
			m.other++
			to = fmt.Sprintf("drawings/vmlDrawing%d.vml", m.other)
		default:
			continue
		}
		from := m.nameOf(r.Part)
		if _, twice := m.names[from]; from == "" || twice {
			return errCommentParts
		}
		m.names[from] = "xl/" + to
		changed = append(changed, quoted(r.Target, "../"+to)...)
	}
	return m.edit(m.nameOf(relationsPart(t.part)), changed)
}

// quoted replaces the value of an attribute.
func quoted(from, to string) []string {
	return []string{`"` + from + `"`, `"` + to + `"`, `'` + from + `'`, `'` + to + `'`}
}

// nameOf is the name of a part as the library has it, "" for none.
func (m *partMoves) nameOf(part string) string {
	if file, ok := m.book.parts[partName(part)]; ok {
		return strings.ReplaceAll(file.Name, `\`, "/")
	}
	return ""
}

// edit replaces names in a part.
func (m *partMoves) edit(part string, names []string) error {
	content, ok := m.file.Pkg.Load(part)
	data, isBytes := content.([]byte)
	if !ok || !isBytes {
		return errDamaged
	}
	m.file.Pkg.Store(part, []byte(strings.NewReplacer(names...).Replace(string(data))))
	return nil
}

// move gives the parts their new names, with their own relationships. A part
// that has some stays in its folder, since their targets begin there.
func (m *partMoves) move() error {
	moved := map[string]any{}
	var changed []string
	for from, to := range m.names {
		changed = append(changed, quoted("/"+from, "/"+to)...)
		related := m.nameOf(relationsPart(from))
		if _, twice := moved[to]; twice || related != "" && path.Dir(from) != path.Dir(to) {
			return errCommentParts
		}
		moved[to], _ = m.file.Pkg.LoadAndDelete(from)
		if related != "" {
			moved[relationsPart(to)], _ = m.file.Pkg.LoadAndDelete(related)
		}
	}
	for to, content := range moved {
		if _, taken := m.file.Pkg.LoadOrStore(to, content); taken {
			return errCommentParts
		}
	}
	return m.edit("[Content_Types].xml", changed)
}
