package workbook

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"path"
	"strings"

	"runsheet.example/fhirmap/session"
)

// The limits on what is held in memory. A year of 260 sessions with eight
// readings each unpacks to 1.4 MB (measured).
const (
	maxUnpacked = 100 << 20 // of all parts together
	maxDecoded  = 16 << 20  // of a part that is decoded in one go
	maxRows     = 50_000    // of a sheet, with content
	maxCells    = 2_000_000 // of a sheet, up to the last one of each row
	// maxPacking is how many times smaller than its content a large part may
	// be; sheets are packed about 10 to 60 times, bombs about 1000 times.
	maxPacking   = 300
	freelyPacked = 1 << 20
)

// notReadable is a workbook that cannot be read, in words for its owner.
type notReadable struct{ what, mend string }

func (n notReadable) Error() string { return n.what }

const splitByYears = "split the log by years"

const saveAsXLSX = "open the file in your spreadsheet program, choose Save As, and as the type choose Excel Workbook (.xlsx)"

var (
	errDamaged = notReadable{"the workbook is damaged or not complete", "open it in your spreadsheet program and save it again, or go back to an older copy"}
	errBomb    = notReadable{"the workbook unpacks to far more than any log holds", "do not open it unless you know where it comes from; a log of your own can be split by years"}
	errLarge   = notReadable{session.TooManyRows, splitByYears}
	errLocked  = notReadable{"the workbook is locked with a password", "open it, take the password off, and save it again"}
)

// container is the package of parts that a workbook is.
type container struct{ parts map[string]*zip.File }

// openContainer finds out what a file is and opens it when it is a workbook.
// Nothing is unpacked before the list of parts shows how much it is, and no
// part unpacks to more than it says there.
func openContainer(data []byte) (*container, error) {
	if err := foreign(data[:min(len(data), 1<<16)]); err != nil {
		return nil, err
	}
	archive, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, errDamaged
	}
	c := &container{parts: map[string]*zip.File{}}
	left := uint64(maxUnpacked)
	for _, part := range archive.File {
		unpacked := part.UncompressedSize64
		if unpacked > left || unpacked > freelyPacked && unpacked/maxPacking > part.CompressedSize64 {
			return nil, errBomb
		}
		left -= unpacked
		c.parts[partName(part.Name)] = part
	}
	return c, c.kind()
}

// foreign returns an error that names the format of a file that is no ZIP.
func foreign(start []byte) error {
	switch {
	case bytes.HasPrefix(start, []byte("PK\x03\x04")):
		return nil
	case bytes.HasPrefix(start, []byte("\xD0\xCF\x11\xE0")):
		if bytes.Contains(start, []byte("E\x00n\x00c\x00r\x00y\x00p\x00t\x00e\x00d\x00P\x00a\x00c\x00k\x00a\x00g\x00e\x00")) {
			return errLocked
		}
		return notReadable{"the file is a workbook in the old format (.xls)", saveAsXLSX}
	case len(bytes.TrimSpace(start)) == 0:
		return notReadable{"the file is empty", "go back to an older copy, or begin a new one with runsheet new"}
	case bytes.HasPrefix(bytes.TrimSpace(bytes.TrimPrefix(start, []byte("\xEF\xBB\xBF"))), []byte("<")):
		return notReadable{"the file is a web page or XML document with the name of a workbook", saveAsXLSX}
	case bytes.IndexByte(start, 0) < 0:
		return notReadable{"the file is plain text with the name of a workbook", "if it is CSV, put it in a folder as sessions.csv; or " + saveAsXLSX}
	default:
		return notReadable{"the file is no workbook, whatever its name says", saveAsXLSX}
	}
}

// kind returns an error that names the format of a ZIP that is no XLSX.
func (c *container) kind() error {
	has := func(name string) bool { return c.parts[partName(name)] != nil }
	switch {
	case has("_rels/.rels") && has("[Content_Types].xml") && has("xl/workbook.bin"):
		return notReadable{"the file is a binary workbook (.xlsb)", saveAsXLSX}
	case has("_rels/.rels"):
		return nil
	case has("mimetype") && has("content.xml"):
		return notReadable{"the file is an OpenDocument file (.ods)", saveAsXLSX}
	case has("Index/Document.iwa"):
		return notReadable{"the file is a Numbers document", "open it in Numbers, choose File, Export To, Excel"}
	default:
		return notReadable{"the file is a zip file and no workbook", saveAsXLSX}
	}
}

// partName is a part's name for comparison: without leading slash and without
// regard to case (ECMA-376 part 2, 6.2.2).
func partName(name string) string {
	return strings.ToLower(strings.TrimPrefix(path.Clean("/"+strings.ReplaceAll(name, `\`, "/")), "/"))
}

// read unpacks a part.
func (c *container) read(name string) ([]byte, error) {
	part, ok := c.parts[partName(name)]
	if !ok {
		return nil, errDamaged
	}
	from, err := part.Open()
	if err != nil {
		return nil, errDamaged
	}
	defer from.Close()
	data, err := io.ReadAll(from)
	if err != nil {
		return nil, errDamaged
	}
	return data, nil
}

// decode reads a small part whole into a structure. ECMA-376 part 2 allows
// UTF-16 too; a part written so is reported as damaged.
func (c *container) decode(name string, into any) error {
	data, err := c.read(name)
	switch {
	case err != nil:
		return err
	case len(data) > maxDecoded:
		return errBomb
	case xml.Unmarshal(data, into) != nil:
		return errDamaged
	}
	return nil
}

// walk calls visit for the elements of a part in their order, except those that
// visit itself decodes or skips.
func (c *container) walk(name string, visit func(*xml.Decoder, xml.StartElement) error) error {
	data, err := c.read(name)
	if err != nil {
		return err
	}
	d := xml.NewDecoder(bytes.NewReader(data))
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if start, ok := token.(xml.StartElement); ok && err == nil {
			err = visit(d, start)
		}
		if err != nil {
			return fault(err)
		}
	}
}

// fault keeps an error with a reason and replaces any other by damage.
func fault(err error) error {
	var known notReadable
	if errors.As(err, &known) {
		return known
	}
	return errDamaged
}

// relation is one relationship of a part. Kind is the last word of its type,
// which transitional and strict files have in common, and Part the name that
// its target leads to.
type relation struct {
	ID     string `xml:"Id,attr"`
	Kind   string `xml:"Type,attr"`
	Target string `xml:"Target,attr"`
	Part   string `xml:"-"`
}

// relationsPart is the part with the relationships of a part, "" for the
// package.
func relationsPart(part string) string {
	dir, file := path.Split(part)
	return dir + "_rels/" + file + ".rels"
}

// relationsOf reads the relationships of a part.
func (c *container) relationsOf(part string) ([]relation, error) {
	var all struct {
		List []relation `xml:"Relationship"`
	}
	if err := c.decode(relationsPart(part), &all); err != nil {
		return nil, err
	}
	for i, r := range all.List {
		all.List[i].Kind, all.List[i].Part = path.Base(r.Kind), strings.TrimPrefix(path.Clean(r.Target), "/")
		if !strings.HasPrefix(r.Target, "/") {
			all.List[i].Part = path.Join(path.Dir(part), r.Target)
		}
	}
	return all.List, nil
}

// ofKind is the part that the first relationship of a kind leads to, "" for none.
func ofKind(list []relation, kind string) string {
	for _, r := range list {
		if r.Kind == kind {
			return r.Part
		}
	}
	return ""
}
