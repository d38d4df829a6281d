package workbook

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// parts is a workbook as the parts of its package.
type parts map[string]string

// smallBook is a workbook with the given rows of the sheet Sessions.
func smallBook(rows string) parts {
	return parts{
		"[Content_Types].xml":        `<Types/>`,
		"_rels/.rels":                `<Relationships><Relationship Id="r1" Type="http://x/officeDocument" Target="xl/workbook.xml"/></Relationships>`,
		"xl/workbook.xml":            `<workbook xmlns:r="r"><sheets><sheet name="Sessions" sheetId="1" r:id="r1"/></sheets></workbook>`,
		"xl/_rels/workbook.xml.rels": `<Relationships><Relationship Id="r1" Type="http://x/worksheet" Target="worksheets/sheet1.xml"/><Relationship Id="r2" Type="http://x/styles" Target="styles.xml"/></Relationships>`,
		"xl/styles.xml":              `<styleSheet><numFmts><numFmt numFmtId="164" formatCode="yyyy-mm-dd"/></numFmts><cellXfs><xf numFmtId="0"/><xf numFmtId="164"/><xf numFmtId="20"/></cellXfs></styleSheet>`,
		"xl/worksheets/sheet1.xml":   `<worksheet><sheetData>` + headingRow + rows + `</sheetData></worksheet>`,
	}
}

const headingRow = `<row r="1"><c r="A1" t="inlineStr"><is><t>session</t></is></c><c r="B1" t="inlineStr"><is><t>date</t></is></c><c r="C1" t="inlineStr"><is><t>start</t></is></c><c r="D1" t="inlineStr"><is><t>end</t></is></c><c r="E1" t="inlineStr"><is><t>status</t></is></c><c r="F1" t="inlineStr"><is><t>Weight before (kg)</t></is></c></row>`

const oneRow = `<row r="2"><c r="A2" t="inlineStr"><is><t>a</t></is></c><c r="B2" s="1"><v>45964</v></c><c r="C2" s="2"><v>0.5</v></c><c r="D2" s="2"><v>0.625</v></c><c r="E2" t="inlineStr"><is><t>done</t></is></c><c r="F2"><v>72.5</v></c></row>`

func (p parts) zip(t testing.TB) []byte {
	t.Helper()
	return p.packed(t, (*zip.Writer).Create)
}

func (p parts) packed(t testing.TB, create func(*zip.Writer, string) (io.Writer, error)) []byte {
	t.Helper()
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for name, text := range p {
		part, err := create(w, name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := part.Write([]byte(text)); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// with is a copy with one part replaced.
func (p parts) with(name, text string) parts {
	copied := parts{}
	for n, x := range p {
		copied[n] = x
	}
	copied[name] = text
	return copied
}

func rulesOf(findings []issue.Finding) string {
	var all []string
	for _, f := range findings {
		if !strings.HasPrefix(f.Rule, "about-") {
			all = append(all, f.Rule+" "+f.Cells[0].String())
		}
	}
	return strings.Join(all, "; ")
}

func TestASmallBookReads(t *testing.T) {
	log, findings := readBook(t, smallBook(oneRow).zip(t))
	if got := rulesOf(findings); got != "log-sheet-missing november.xlsx" {
		t.Errorf("findings: %s", got)
	}
	one := log.Sessions[0]
	if one.ID != "a" || one.Date.Text != "2025-11-03" || one.Value("weight_before").Text != "72.5" {
		t.Errorf("session %+v", one)
	}
	if got := one.Value("weight_before").Cell.String(); got != "november.xlsx Sessions F2 (Weight before (kg))" && got != "november.xlsx Sessions F2 (weight_before_kg)" {
		t.Errorf("cell %s", got)
	}
}

func TestFilesThatAreNoWorkbook(t *testing.T) {
	good := smallBook(oneRow)
	whole := good.zip(t)
	sheet := "xl/worksheets/sheet1.xml"
	tests := []struct {
		name string
		data []byte
		want string
	}{
		{"empty", nil, "empty"},
		{"text", []byte("session,date\na,2025-11-03\n"), "plain text"},
		{"web page", []byte("<html><table>"), "web page"},
		{"old format", []byte("\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1" + strings.Repeat("\x00", 600)), "(.xls)"},
		{"password", []byte("\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1" + strings.Repeat("\x00", 600) + "E\x00n\x00c\x00r\x00y\x00p\x00t\x00e\x00d\x00P\x00a\x00c\x00k\x00a\x00g\x00e\x00"), "password"},
		{"picture", []byte("\x89PNG\r\n\x1a\n\x00"), "no workbook"},
		{"ods", parts{"mimetype": "application/vnd.oasis.opendocument.spreadsheet", "content.xml": "<x/>"}.zip(t), "(.ods)"},
		{"binary workbook", good.with("xl/workbook.bin", "x").zip(t), "(.xlsb)"},
		{"zip", parts{"a.txt": "x"}.zip(t), "zip file"},
		{"document", good.with("_rels/.rels", `<Relationships><Relationship Id="r1" Type="http://x/officeDocument" Target="word/document.xml"/></Relationships>`).zip(t), "another kind"},
		{"cut off", whole[:len(whole)/2], "damaged"},
		{"no end of the data", good.with(sheet, `<worksheet><sheetData>`+headingRow).zip(t), "damaged"},
		{"XML cut off", good.with(sheet, `<worksheet><sheetData>`+headingRow+oneRow+`<row r="3"><c`).zip(t), "damaged"},
		{"row that no sheet has", good.with(sheet, `<worksheet><sheetData>`+headingRow+strings.Replace(oneRow, `r="2"`, `r="2000000000"`, 1)+`</sheetData></worksheet>`).zip(t), "damaged"},
		{"no XML", good.with("xl/workbook.xml", "hello").zip(t), "damaged"},
		{"sheet that is not there", good.with("xl/_rels/workbook.xml.rels", `<Relationships/>`).zip(t), "damaged"},
		{"entity", good.with(sheet, `<!DOCTYPE x [<!ENTITY a "b">]><worksheet><sheetData><row r="1"><c t="inlineStr"><is><t>&a;</t></is></c></row></sheetData></worksheet>`).zip(t), "damaged"},
		{"bomb", good.with(sheet, `<worksheet><sheetData>`+headingRow+strings.Repeat(" ", 8<<20)+`</sheetData></worksheet>`).zip(t), "unpacks"},
		{"more rows than are read", good.with(sheet, `<worksheet><sheetData>`+headingRow+rowsOfNoise(maxRows)+`</sheetData></worksheet>`).zip(t), "larger than what is read"},
		{"more cells than are read", good.with(sheet, `<worksheet><sheetData>`+headingRow+strings.Repeat(`<row><c r="XFD1"><v>1</v></c></row>`+noise(60), maxCells/maxColumn+1)+`</sheetData></worksheet>`).zip(t), "larger than what is read"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			log, findings := readBook(t, tt.data)
			found := false
			for _, f := range findings {
				if f.Rule != "log-workbook" {
					continue
				}
				if found = true; !strings.Contains(f.Details.String(), tt.want) || f.Mend.String() == "" {
					t.Errorf("it says %q, and to mend: %q; want %q", f.Details, f.Mend, tt.want)
				}
			}
			if !found {
				t.Fatalf("findings: %s", rulesOf(findings))
			}
			for _, s := range log.Sessions {
				if !s.Broken {
					t.Errorf("session %s of a damaged workbook would be sent", s.ID)
				}
			}
		})
	}
}

// rowsOfNoise are rows of one cell that pack badly.
func rowsOfNoise(n int) string {
	return strings.NewReplacer("a", "<row><c><v>1</v></c></row>").Replace(strings.Repeat("a", n-1) + "a<!--" + noise(10*n) + "-->")
}

// noise is text that packs badly, always the same.
func noise(n int) string {
	var out strings.Builder
	for state := uint32(1); out.Len() < n; {
		state = state*1664525 + 1013904223
		out.WriteByte('a' + byte(state>>24)%26)
	}
	return out.String()
}

// A file that says it unpacks to more than is held in memory is refused before
// anything is unpacked, however well it is packed.
func TestWhatUnpacksToMoreIsNotUnpacked(t *testing.T) {
	data := smallBook(oneRow).packed(t, func(w *zip.Writer, name string) (io.Writer, error) {
		return w.CreateRaw(&zip.FileHeader{Name: name, UncompressedSize64: maxUnpacked/2 + 1, CompressedSize64: maxUnpacked})
	})
	if _, findings := readBook(t, data); rulesOf(findings) != "log-workbook november.xlsx" || !strings.Contains(findings[0].Details.String(), "unpacks") {
		t.Errorf("found %+v", findings)
	}
}

// TestTooLarge holds that a workbook beyond the limits is refused as a whole.
func TestTooLarge(t *testing.T) {
	var rows strings.Builder
	for i := range 34_200 {
		rows.WriteString(strings.Replace(oneRow, `r="2"`, fmt.Sprintf(`r="%d"`, i+2), 1))
	}
	long := smallBook(rows.String()).zip(t)
	for _, tt := range []struct {
		data []byte
		want string
	}{
		{long, "log-too-large november.xlsx Sessions row 34092"},
		{make([]byte, session.MaxBytes+1), "log-workbook november.xlsx"},
	} {
		log, findings, err := Read(tt.data, "november.xlsx", session.Options{})
		if got := rulesOf(findings); err != nil || got != tt.want || len(log.Sessions) > 0 {
			t.Errorf("found %s, %d sessions, %v; want %s", got, len(log.Sessions), err, tt.want)
		}
	}
	size := new(session.Size)
	if _, _, findings, whole, err := Sheets(long, "november.xlsx", size); err != nil || whole || !size.Over() || len(findings) != 1 {
		t.Errorf("as a sheet of any shape: whole is %v, found %s, %v", whole, rulesOf(findings), err)
	}
}

// Cells and rows without references follow each other, also after empty ones,
// and a row far down, as some programs write the last one of a sheet, is none.
func TestCellsWithoutReferences(t *testing.T) {
	rows := `<row/><row><c t="inlineStr"><is><t>a</t></is></c><c s="1"><v>45964</v></c><c/><c/><c t="inlineStr"><is><r><t>do</t></r><r><t>ne</t></r></is></c><c><v>72.5</v></c></row><row r="1048576" ht="12.8"/>`
	log, _ := readBook(t, smallBook(rows).zip(t))
	one := log.Sessions[0]
	if len(log.Sessions) != 1 || one.Cell.Row != 3 || one.Status != session.Done || one.Value("weight_before").Text != "72.5" {
		t.Errorf("read %d sessions, the first at %s: %+v", len(log.Sessions), one.Cell, one)
	}
}

// What the library would make of a cell is not what it holds: the format of its
// column where it has none of its own, and the value of the first cell of a
// merged range in all of them.
func TestACellHasItsOwnFormatAndValue(t *testing.T) {
	book := smallBook(strings.Replace(oneRow, `<c r="F2"><v>72.5</v></c>`, `<c r="F2"><v>72</v></c>`, 1))
	sheet := "xl/worksheets/sheet1.xml"
	book[sheet] = strings.Replace(book[sheet], "<sheetData>", `<cols><col min="6" max="6" style="2"/></cols><sheetData>`, 1)
	book[sheet] = strings.Replace(book[sheet], "</sheetData>", `</sheetData><mergeCells><mergeCell ref="E2:F2"/></mergeCells>`, 1)
	log, _ := readBook(t, book.zip(t))
	if v := log.Sessions[0].Value("weight_before"); v.Text != "72" {
		t.Errorf("read %q", v.Text)
	}
}

func TestAWorkbookOfSomethingElseIsAnError(t *testing.T) {
	data := smallBook(oneRow).with("xl/workbook.xml", `<workbook xmlns:r="r"><sheets><sheet name="Garden" r:id="r1"/></sheets></workbook>`).zip(t)
	_, _, err := Read(data, "garden.xlsx", session.Options{})
	if !errors.Is(err, ErrNoLog) {
		t.Fatalf("error %v, want ErrNoLog", err)
	}
	if !strings.Contains(err.Error(), "--suggest-map") {
		t.Errorf("%q does not say how such a sheet is read", err)
	}
}

func TestFindingsAboutCells(t *testing.T) {
	row := func(cell string) string { return strings.Replace(oneRow, `<c r="F2"><v>72.5</v></c>`, cell, 1) }
	tests := []struct {
		name, rows, want string
		broken           bool
	}{
		{"formula", row(`<c r="F2"><f>70+2.5</f><v>72.5</v></c>`), "log-formula november.xlsx Sessions F2 (weight_before_kg)", false},
		{"formula that changes by itself", row(`<c r="F2"><f>RAND()*70</f><v>72.5</v></c>`), "log-formula november.xlsx Sessions F2 (weight_before_kg); log-formula-stale november.xlsx Sessions F2 (weight_before_kg)", false},
		{"formula never worked out", row(`<c r="F2"><f>70+2.5</f></c>`), "log-formula-empty november.xlsx Sessions F2 (weight_before_kg)", true},
		{"formula that refers to itself", row(`<c r="F2"><f>F2+1</f><v>0</v></c>`), "log-formula november.xlsx Sessions F2 (weight_before_kg)", false},
		{"error", row(`<c r="F2" t="e"><f>1/0</f><v>#DIV/0!</v></c>`), "log-cell-error november.xlsx Sessions F2 (weight_before_kg); log-formula november.xlsx Sessions F2 (weight_before_kg); log-number november.xlsx Sessions F2 (weight_before_kg)", true},
		{"text that is not there", row(`<c r="F2" t="s"><v>7</v></c>`), "log-cell-error november.xlsx Sessions F2 (weight_before_kg)", true},
		{"number as text", row(`<c r="F2" t="inlineStr"><is><t>72.50</t></is></c>`), "", false},
		{"hidden row", strings.Replace(oneRow, `<row r="2">`, `<row r="2" hidden="1">`, 1), "log-sheet-hidden november.xlsx Sessions", false},
		{"beyond the headings", row(`<c r="XFD2"><v>1</v></c>`), "log-row-too-long november.xlsx Sessions XFD2", true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			log, findings := readBook(t, smallBook(tt.rows).zip(t))
			got := strings.Replace(rulesOf(findings), "log-sheet-missing november.xlsx", "", 1)
			if got = strings.Trim(got, "; "); got != tt.want {
				t.Errorf("found %s\nwant  %s", got, tt.want)
			}
			named := false
			for _, f := range findings {
				named = named || f.Severity == issue.Error && f.Session == "a"
			}
			if named != tt.broken || len(log.Sessions) != 1 {
				t.Errorf("the session is named by an error: %v, want %v", named, tt.broken)
			}
		})
	}
}

// A cell of the About sheet that is empty and must not be is named itself, with
// what to do in a workbook.
func TestAnEmptyAnswerIsNamedItself(t *testing.T) {
	for _, tt := range []struct {
		part, key, sibling, answer string
		severity                   issue.Severity
	}{
		{"access", "valid_from", "kind", "fistula", issue.Warning},
		{"prescription", "valid_from", "dialyser", "D-1", issue.Error},
		{"device", "kind", "name", "N-1", issue.Error},
	} {
		grid := &session.Grid{About: []*session.AboutPart{{Name: tt.part, Entries: []*session.AboutEntry{{Key: tt.sibling, Text: tt.answer}}}}}
		data, err := Bytes(Options{Content: grid})
		if err != nil {
			t.Fatal(err)
		}
		_, findings := readBook(t, data)
		rows := map[string]int{}
		for _, f := range findings {
			if f.Rule != "about-required" {
				continue
			}
			rows[f.Cells[0].Heading] = f.Cells[0].Row
			if f.Mend.String() != "fill the cell in" || f.Severity != tt.severity || f.Cells[0].Column != aboutAnswer {
				t.Errorf("%s: %v %q %s", tt.part, f.Severity, f.Mend, f.Cells[0])
			}
		}
		book, err := excelize.OpenReader(bytes.NewReader(data))
		if err != nil {
			t.Fatal(err)
		}
		defer book.Close()
		asked, _ := book.GetCellValue(sheetAbout, cellName(aboutKeyColumn, max(rows[tt.part+"."+tt.key], 1)))
		if len(rows) != 1 || asked != tt.part+"."+tt.key {
			t.Errorf("%s: found at %v, where the sheet asks %q", tt.part, rows, asked)
		}
	}
}

func TestFindingsAboutSheets(t *testing.T) {
	merged := smallBook(oneRow)
	merged["xl/worksheets/sheet1.xml"] = strings.Replace(merged["xl/worksheets/sheet1.xml"], "</sheetData>", `</sheetData><mergeCells><mergeCell ref="A1:B1"/><mergeCell ref="F2:F4"/></mergeCells>`, 1)
	hidden := smallBook(oneRow).with("xl/workbook.xml", `<workbook xmlns:r="r"><sheets><sheet name="SESSIONS " state="veryHidden" r:id="r1"/><sheet name="Garden" r:id="r1"/></sheets></workbook>`)
	twice := smallBook(oneRow).with("xl/workbook.xml", `<workbook xmlns:r="r"><sheets><sheet name="Sessions" r:id="r1"/><sheet name="Sessions (2)" r:id="r1"/></sheets></workbook>`)
	for _, tt := range []struct {
		name string
		book parts
		want string
	}{
		{"a copy of a sheet", twice, "log-sheet-missing november.xlsx; log-sheet-unknown november.xlsx Sessions (2)"},
		{"merged cells", merged, "log-sheet-missing november.xlsx; log-merged november.xlsx Sessions F2 (weight_before_kg)"},
		{"hidden sheet and a sheet of one's own", hidden, "log-sheet-missing november.xlsx; log-sheet-unknown november.xlsx Garden; log-sheet-hidden november.xlsx SESSIONS "},
	} {
		_, findings := readBook(t, tt.book.zip(t))
		if got := rulesOf(findings); got != tt.want {
			t.Errorf("%s: found %s\nwant  %s", tt.name, got, tt.want)
		}
		for _, f := range findings {
			if own := strings.Contains(f.Cells[0].Sheet, "Garden"); f.Rule == "log-sheet-unknown" && own != (f.Severity == issue.Information) {
				t.Errorf("%s: %s is a %s", tt.name, f.Cells[0], f.Severity)
			}
		}
	}
}
