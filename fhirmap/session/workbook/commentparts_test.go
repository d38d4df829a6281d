package workbook

import (
	"bytes"
	"errors"
	"strconv"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"runsheet.example/validate/issue"
)

// withComments is a workbook with a person's comment on two of its sheets, in
// parts that are renamed; each pair is what stands in names and targets now,
// and what is to stand there.
func withComments(t *testing.T, renamed ...string) []byte {
	t.Helper()
	data := edited(t, bookOf(t, folder(t, "mistakes"), Options{}), func(f *excelize.File) error {
		err := f.AddComment("Sessions", excelize.Comment{Cell: "I5", Author: "me", Text: "new battery in the scales"})
		return errors.Join(err, f.AddComment("Readings", excelize.Comment{Cell: "C7", Author: "me", Text: "second cuff"}))
	})
	names := strings.NewReplacer(renamed...)
	book := parts{}
	for name, text := range partsOf(t, data) {
		if strings.HasSuffix(name, ".rels") || name == "[Content_Types].xml" {
			text = names.Replace(text)
		}
		book[strings.TrimPrefix(names.Replace("/"+name), "/")] = text
	}
	return book.zip(t)
}

// each is a renaming for every number of the parts.
func each(rename func(n string) []string) (pairs []string) {
	for n := range 9 {
		pairs = append(pairs, rename(strconv.Itoa(n+1))...)
	}
	return pairs
}

func opened(t *testing.T, data []byte) *excelize.File {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() })
	return f
}

// A comment reaches its sheet however another program names the parts that
// hold comments: all names are allowed (ECMA-376 part 2), and so are absolute
// targets.
func TestCommentsReachTheirSheetWhateverThePartsAreCalled(t *testing.T) {
	for name, renamed := range map[string][]string{
		"as the library names them": nil,
		"absolute targets and a folder": each(func(n string) []string {
			return []string{
				"../comments" + n + ".xml", "/xl/comments/comment" + n + ".xml", "/xl/comments" + n + ".xml", "/xl/comments/comment" + n + ".xml",
				"../drawings/vmlDrawing" + n + ".vml", "/xl/drawings/commentsDrawing" + n + ".vml",
				"/xl/drawings/vmlDrawing" + n + ".vml", "/xl/drawings/commentsDrawing" + n + ".vml",
			}
		}),
		"absolute targets alone": each(func(n string) []string {
			return []string{"../comments" + n + ".xml", "/xl/comments" + n + ".xml", "../drawings/vmlDrawing" + n + ".vml", "/xl/drawings/vmlDrawing" + n + ".vml"}
		}),
		"another case in targets":   {"../comments1.xml", "../Comments1.XML"},
		"numbers that differ":       {"vmlDrawing1.vml", "vmlDrawing2.vml", "vmlDrawing2.vml", "vmlDrawing1.vml"},
		"a number after the others": {"comments1.xml", "comments9.xml", "vmlDrawing1.vml", "vmlDrawing9.vml"},
	} {
		t.Run(name, func(t *testing.T) {
			data := withComments(t, renamed...)
			_, findings := readBook(t, data)
			own := issue.At("log-number")
			own.Details, own.Cells = issue.T("this is not a plain number"), []issue.Cell{{Sheet: "Sessions", Row: 5, Column: 9}}
			findings = append(findings, own)
			copied, f := annotated(t, data, findings)
			want := map[place]bool{}
			original := opened(t, withComments(t))
			comments := map[string]map[string]string{}
			n := 0
			for _, sheet := range original.GetSheetList() {
				comments[sheet] = commentsOf(t, f, sheet)
				n += len(comments[sheet])
				for cell := range commentsOf(t, original, sheet) {
					column, row, _ := excelize.CellNameToCoordinates(cell)
					want[place{sheet, row, column}] = true
				}
			}
			for _, found := range findings {
				p, ok := placeOf(found)
				if !ok {
					continue
				}
				want[p] = true
				if text := comments[p.sheet][cellName(p.column, p.row)]; !strings.Contains(text, found.Details.String()) {
					t.Errorf("%s %s: the comment is %q", p.sheet, cellName(p.column, p.row), text)
				}
			}
			if n != len(want) {
				t.Errorf("%d comments, want %d", n, len(want))
			}
			if !strings.Contains(comments["Sessions"]["I5"], "new battery") || comments["Readings"]["C7"] != "second cuff" {
				t.Errorf("the person's comments are %q and %q", comments["Sessions"]["I5"], comments["Readings"]["C7"])
			}
			for part := range partsOf(t, copied) {
				if kind := strings.TrimPrefix(part, "xl/"); strings.HasPrefix(kind, "comments") && !strings.Contains(partsOf(t, copied)["[Content_Types].xml"], `"/`+part+`"`) {
					t.Errorf("%s is not in the list of content types", part)
				}
			}
		})
	}
}

// A copy in which a comment did not reach its sheet is never called good.
func TestALostCommentIsAnError(t *testing.T) {
	data := withComments(t)
	_, findings := readBook(t, data)
	copied, _ := annotated(t, data, findings)
	var places []place
	for _, f := range findings {
		if p, ok := placeOf(f); ok {
			places = append(places, p)
		}
	}
	if err := verifyComments(copied, places); err != nil || len(places) == 0 {
		t.Fatalf("a good copy with %d places: %v", len(places), err)
	}
	for name, broken := range map[string][]byte{
		"a cell without":        nil,
		"comments in an orphan": renamedPart(t, copied, "xl/comments1.xml", "xl/comments0.xml"),
		"no drawing":            renamedPart(t, copied, "xl/drawings/vmlDrawing1.vml", "xl/drawings/vmlDrawing0.vml"),
	} {
		looked := places
		if broken == nil {
			broken, looked = copied, append(places, place{"Sessions", 400, 2})
		}
		if err := verifyComments(broken, looked); !errors.Is(err, errCommentsLost) {
			t.Errorf("%s: error %v", name, err)
		}
	}
	// The person's own comment is not taken for ours.
	if err := verifyComments(copied, []place{{"Readings", 7, 3}}); !errors.Is(err, errCommentsLost) {
		t.Errorf("somebody else's comment: error %v", err)
	}
}

func renamedPart(t *testing.T, data []byte, from, to string) []byte {
	t.Helper()
	book := partsOf(t, data)
	if _, ok := book[from]; !ok {
		t.Fatalf("no part %s", from)
	}
	book[to] = book[from]
	delete(book, from)
	return book.zip(t)
}

// Comments without a drawing cannot be added to, and the copy is refused
// before anything of it is written.
func TestNothingIsWrittenWhenACommentIsLost(t *testing.T) {
	book := partsOf(t, withComments(t))
	for name, text := range book {
		if strings.HasPrefix(name, "xl/worksheets/sheet") {
			before, after, ok := strings.Cut(text, "<legacyDrawing ")
			if ok {
				_, after, _ = strings.Cut(after, ">")
				book[name] = before + strings.TrimPrefix(after, "</legacyDrawing>")
			}
		}
	}
	data := book.zip(t)
	_, findings := readBook(t, data)
	if out, err := Annotate(data, findings, issue.English); !errors.Is(err, errCommentsLost) || len(out) > 0 {
		t.Errorf("error %v, %d bytes written", err, len(out))
	}
}

// Two sheets that claim one part, or a part that is not there, are refused
// rather than mixed up.
func TestPartsThatCannotBeNamedAreRefused(t *testing.T) {
	for name, data := range map[string][]byte{
		"part missing":         renamedPart(t, withComments(t), "xl/comments1.xml", "xl/gone.xml"),
		"shared by two sheets": withComments(t, "../comments3.xml", "../comments1.xml"),
	} {
		_, findings := readBook(t, data)
		out, err := Annotate(data, findings, issue.English)
		if !errors.Is(err, errCommentParts) && !errors.Is(err, errCommentsLost) || len(out) > 0 {
			t.Errorf("%s: error %v, %d bytes written", name, err, len(out))
		}
	}
}
