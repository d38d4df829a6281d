package workbook

import (
	"encoding/xml"
	"errors"
	"io"
	"path"
	"strings"
)

// book is an opened workbook: its sheets, texts and formats.
type book struct {
	*container
	sheets []tab
	texts  []string
	shapes []shape      // by the number of the cell format
	struck map[int]bool // cell formats that strike through
	// struckTexts are the shared texts with a part struck through.
	struckTexts map[int]bool
	from1904    bool
	// stale is set when the workbook itself asks for its formulas to be
	// worked out again.
	stale bool
}

// tab is one sheet of the workbook.
type tab struct {
	name   string
	part   string
	hidden bool
}

type relationships struct {
	List []struct {
		ID     string `xml:"Id,attr"`
		Type   string `xml:"Type,attr"`
		Target string `xml:"Target,attr"`
	} `xml:"Relationship"`
}

// relationsOf reads the relationships of a part, from id to target; the kinds
// are by the last word of their type, which transitional and strict files
// have in common.
func (c *container) relationsOf(part string) (byID, byKind map[string]string, err error) {
	var all relationships
	dir, file := path.Split(part)
	if err := c.decode(dir+"_rels/"+file+".rels", &all); err != nil {
		return nil, nil, err
	}
	byID, byKind = map[string]string{}, map[string]string{}
	for _, r := range all.List {
		target := r.Target
		if !strings.HasPrefix(target, "/") {
			target = path.Join("/", dir, target)
		}
		byID[r.ID] = target
		if kind := path.Base(r.Type); byKind[kind] == "" {
			byKind[kind] = target
		}
	}
	return byID, byKind, nil
}

type workbookPart struct {
	Properties struct {
		Date1904 string `xml:"date1904,attr"`
	} `xml:"workbookPr"`
	Sheets struct {
		List []struct {
			Name  string `xml:"name,attr"`
			State string `xml:"state,attr"`
			ID    string `xml:"id,attr"`
		} `xml:"sheet"`
	} `xml:"sheets"`
	Calculation struct {
		FullOnLoad string `xml:"fullCalcOnLoad,attr"`
	} `xml:"calcPr"`
}

// openBook reads everything of a workbook but the cells.
func openBook(file io.ReaderAt, size int64) (*book, error) {
	c, err := openContainer(file, size)
	if err != nil {
		return nil, err
	}
	w, tabs, kinds, err := c.directory()
	if err != nil {
		return nil, err
	}
	b := &book{container: c, sheets: tabs, from1904: isTrue(w.Properties.Date1904), stale: isTrue(w.Calculation.FullOnLoad)}
	if err := b.readTexts(kinds["sharedStrings"]); err != nil {
		return nil, err
	}
	return b, b.readShapes(kinds["styles"])
}

// directory reads the list of sheets, and the parts that the workbook names by
// their kind.
func (c *container) directory() (w workbookPart, tabs []tab, kinds map[string]string, err error) {
	_, kinds, err = c.relationsOf("")
	if err != nil {
		return w, nil, nil, err
	}
	main := kinds["officeDocument"]
	if !strings.Contains(partName(main), "workbook") {
		return w, nil, nil, notReadable{"the file is a document of another kind, not a workbook", saveAsXLSX}
	}
	if err := c.decode(main, &w); err != nil {
		return w, nil, nil, err
	}
	byID, kinds, err := c.relationsOf(strings.TrimPrefix(main, "/"))
	if err != nil {
		return w, nil, nil, err
	}
	for _, s := range w.Sheets.List {
		tabs = append(tabs, tab{s.Name, byID[s.ID], s.State == "hidden" || s.State == "veryHidden"})
	}
	return w, tabs, kinds, nil
}

func isTrue(text string) bool { return text == "1" || text == "true" }

type stylesPart struct {
	Fonts struct {
		List []struct {
			Strike *struct {
				Value string `xml:"val,attr"`
			} `xml:"strike"`
		} `xml:"font"`
	} `xml:"fonts"`
	Formats struct {
		List []struct {
			ID   int    `xml:"numFmtId,attr"`
			Code string `xml:"formatCode,attr"`
		} `xml:"numFmt"`
	} `xml:"numFmts"`
	Cells struct {
		List []struct {
			Format int `xml:"numFmtId,attr"`
			Font   int `xml:"fontId,attr"`
		} `xml:"xf"`
	} `xml:"cellXfs"`
}

// readShapes reads what each cell format makes of a number.
func (b *book) readShapes(part string) error {
	if part == "" {
		return nil
	}
	var s stylesPart
	if err := b.decode(part, &s); err != nil {
		return err
	}
	own := map[int]shape{}
	for _, f := range s.Formats.List {
		own[f.ID] = shapeOf(f.Code)
	}
	b.struck = map[int]bool{}
	for i, x := range s.Cells.List {
		if x.Font >= 0 && x.Font < len(s.Fonts.List) {
			strike := s.Fonts.List[x.Font].Strike
			b.struck[i] = strike != nil && (strike.Value == "" || isTrue(strike.Value))
		}
		format, ok := own[x.Format]
		if !ok {
			format = builtIn(x.Format)
		}
		b.shapes = append(b.shapes, format)
	}
	return nil
}

// readTexts reads the texts that cells share.
func (b *book) readTexts(part string) error {
	if part == "" {
		return nil
	}
	from, err := b.open(part, maxKeptBytes)
	if err != nil {
		return err
	}
	defer from.Close()
	d := newDecoder(from)
	b.struckTexts = map[int]bool{}
	for {
		token, err := d.RawToken()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return fault(err)
		}
		if start, ok := token.(xml.StartElement); ok && start.Name.Local == "si" {
			text, struck, err := richText(d, "si")
			if err != nil {
				return fault(err)
			}
			if struck {
				b.struckTexts[len(b.texts)] = true
			}
			b.texts = append(b.texts, text)
		}
	}
}

// richText joins the runs of a text up to the end of its element, without the
// reading aids (rPh) that some languages put above it; struck reports a run
// that is struck through.
func richText(d *xml.Decoder, end string) (joined string, struck bool, err error) {
	var text strings.Builder
	reading, aids := false, 0
	for {
		token, err := d.RawToken()
		if err != nil {
			return "", false, err
		}
		switch t := token.(type) {
		case xml.StartElement:
			reading = t.Name.Local == "t"
			if value := attribute(t, "val"); t.Name.Local == "strike" && (value == "" || isTrue(value)) {
				struck = true
			}
			if t.Name.Local == "rPh" {
				aids++
			}
		case xml.EndElement:
			switch t.Name.Local {
			case end:
				return unescape(text.String()), struck, nil
			case "rPh":
				aids--
			case "t":
				reading = false
			}
		case xml.CharData:
			if reading && aids == 0 {
				text.Write(t)
			}
		}
	}
}
