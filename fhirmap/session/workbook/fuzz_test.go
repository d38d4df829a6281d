package workbook

import (
	"bytes"
	"testing"

	"github.com/xuri/excelize/v2"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// FuzzRead holds that no file makes the reader panic, and that every finding
// names the file.
func FuzzRead(f *testing.F) {
	f.Add(smallBook(oneRow).zip(f))
	f.Add([]byte("PK\x03\x04"))
	f.Fuzz(func(t *testing.T, data []byte) {
		_, findings, err := Read(data, "x.xlsx", session.Options{})
		if err != nil {
			return
		}
		for _, found := range findings {
			if found.File != "x.xlsx" && found.File != "" || len(found.Cells) == 0 {
				t.Fatalf("a finding without a place: %+v", found)
			}
		}
	})
}

// FuzzSheet does the same for the cells of a sheet that is well packed, where
// changes of single bytes reach further.
func FuzzSheet(f *testing.F) {
	f.Add(oneRow, "yyyy-mm-dd", "shared")
	f.Add(`<row><c t="s"><v>0</v></c><c t="e"><v>#REF!</v></c><c t="b"><v>1</v></c><c s="9"><f>A1</f></c></row>`, "[h]:mm", "_x0041_")
	f.Add(`<row r="0"><c r="ZZZZ1"><v>1e308</v></c><c r="1"><is><r><t>a</t></r><rPh><t>b</t></rPh></is></c></row>`, "0.00%", "")
	// A first row as wide as a sheet once took seconds to look for headings.
	f.Add(`Rrow r="0"><c r="ZZZZ1"><v>1e308</v></c>`, "0.00%", "")
	f.Add(`<row r="1048576"><c r="XFD1" t="e"><v>#REF!</v></c></row>`, "0", "")
	f.Fuzz(func(t *testing.T, rows, format, text string) {
		book := smallBook(rows)
		book["xl/styles.xml"] = `<styleSheet><numFmts><numFmt numFmtId="164" formatCode="` + escapeXML(format) + `"/></numFmts><cellXfs><xf numFmtId="0"/><xf numFmtId="164"/><xf numFmtId="20"/></cellXfs></styleSheet>`
		book["xl/sharedStrings.xml"] = `<sst><si><t>` + escapeXML(text) + `</t></si></sst>`
		data := book.zip(t)
		_, findings, err := Read(data, "x.xlsx", session.Options{})
		if err != nil {
			t.Fatal(err)
		}
		// The library may refuse what is no sheet, but it must not fall over.
		_, _ = Annotate(data, findings, issue.English)
	})
}

// The numbers and texts that are read are those that the library reads, cell
// for cell.
func TestReadsTheSameCellsAsTheLibrary(t *testing.T) {
	data := bookOf(t, folder(t, "month"), Options{})
	file, err := excelize.OpenReader(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	book, err := openBook(data)
	if err != nil {
		t.Fatal(err)
	}
	compared := 0
	for _, tab := range book.tabs {
		g, err := book.grid(tab)
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range g.rows {
			for _, c := range row.cells {
				got := c.value
				if c.kind == "s" {
					got = book.render(c).text
				}
				want, err := file.GetCellValue(tab.name, cellName(c.column, row.number), excelize.Options{RawCellValue: true})
				if err != nil || got != want {
					t.Errorf("%s %s is %q, the library reads %q, %v", tab.name, cellName(c.column, row.number), got, want, err)
				}
				compared++
			}
		}
	}
	if compared < 2000 {
		t.Errorf("only %d cells compared", compared)
	}
}
