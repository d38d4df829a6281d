package workbook

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"
)

// errCommentsLost is a copy in which a comment did not reach its sheet.
var errCommentsLost = errors.New("a comment is missing in the copy, so it is not written; " +
	"open the workbook in your spreadsheet program, save it again as Excel Workbook (.xlsx), and try once more")

// author is who writes the comments.
const author = "Runsheet"

type commentsPart struct {
	Authors []string `xml:"authors>author"`
	List    []struct {
		Ref    string `xml:"ref,attr"`
		Author int    `xml:"authorId,attr"`
	} `xml:"commentList>comment"`
}

// verifyComments reads a finished copy back, the way a spreadsheet program
// finds its comments, and fails unless each place has its comment.
func verifyComments(raw []byte, places []place) error {
	archive, err := zip.NewReader(bytes.NewReader(raw), int64(len(raw)))
	if err != nil {
		return fmt.Errorf("reading the copy back: %w", err)
	}
	c := &container{parts: map[string]*zip.File{}}
	for _, part := range archive.File {
		c.parts[partName(part.Name)] = part
	}
	_, tabs, _, err := c.directory()
	if err != nil {
		return fmt.Errorf("reading the copy back: %w", err)
	}
	owners := map[string]string{}
	cells := map[string][]string{}
	for _, p := range places {
		if _, known := cells[p.sheet]; !known {
			if cells[p.sheet], err = c.commented(tabs, p.sheet, owners); err != nil {
				return err
			}
		}
		if _, ok := slices.BinarySearch(cells[p.sheet], cellName(p.column, p.row)); !ok {
			return fmt.Errorf("%s %s: %w", p.sheet, cellName(p.column, p.row), errCommentsLost)
		}
	}
	return nil
}

// commented are the cells of a sheet with comments of ours, sorted. No two
// sheets may own the same parts: each would show the comments of the other.
func (c *container) commented(tabs []tab, sheet string, owners map[string]string) ([]string, error) {
	at := slices.IndexFunc(tabs, func(t tab) bool { return strings.EqualFold(t.name, sheet) })
	if at < 0 {
		return nil, fmt.Errorf("%s: %w", sheet, errCommentsLost)
	}
	_, kinds, err := c.relationsOf(strings.TrimPrefix(tabs[at].part, "/"))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", sheet, errCommentsLost)
	}
	for _, kind := range []string{"comments", "vmlDrawing"} {
		part := partName(kinds[kind])
		owner, owned := owners[part]
		if c.parts[part] == nil || owned && owner != sheet {
			return nil, fmt.Errorf("%s: %w", sheet, errCommentsLost)
		}
		owners[part] = sheet
	}
	var all commentsPart
	if err := c.decode(kinds["comments"], &all); err != nil {
		return nil, fmt.Errorf("%s: %w", sheet, errCommentsLost)
	}
	var cells []string
	for _, one := range all.List {
		if one.Author >= 0 && one.Author < len(all.Authors) && all.Authors[one.Author] == author {
			cells = append(cells, one.Ref)
		}
	}
	slices.Sort(cells)
	return cells, nil
}
