package workbook

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"path"
	"strings"
)

// The limits on what is unpacked. A workbook within the limits of a log keeps
// far below them; a file made to fill a disk or a memory does not.
const (
	maxParts = 10_000
	// maxSheetBytes bounds the time a sheet takes, which is read in passing.
	maxSheetBytes = 1 << 30
	// maxKeptBytes bounds the parts that are kept in memory: texts, formats.
	maxKeptBytes = 32 << 20
	// maxPacking is how many times smaller than its content a large part may
	// be; sheets are packed about 10 to 60 times, bombs about 1000 times.
	maxPacking   = 300
	freelyPacked = 1 << 20
	// maxRun is the longest piece of a part without any "<": a cell holds at
	// most 32 767 letters (ECMA-376).
	maxRun = 1 << 20
)

// notReadable is a workbook that cannot be read, in words for its owner.
type notReadable struct{ what, mend string }

func (n notReadable) Error() string { return n.what }

const splitByYears = "split the log by years"

const saveAsXLSX = "open the file in your spreadsheet program, choose Save As, and as the type choose Excel Workbook (.xlsx)"

var (
	errDamaged = notReadable{"the workbook is damaged or not complete", "open it in your spreadsheet program and save it again, or go back to an older copy"}
	errBomb    = notReadable{"the workbook unpacks to far more than any log holds", "do not open it unless you know where it comes from; a log of your own can be split by years"}
	errLocked  = notReadable{"the workbook is locked with a password", "open it, take the password off, and save it again"}
)

// container is the package of parts that a workbook is.
type container struct{ parts map[string]*zip.File }

// openContainer finds out what a file is and opens it when it is a workbook.
func openContainer(file io.ReaderAt, size int64) (*container, error) {
	start := make([]byte, min(size, 1<<16))
	if _, err := file.ReadAt(start, 0); err != nil && !errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("reading the workbook: %w", err)
	}
	if err := foreign(start); err != nil {
		return nil, err
	}
	archive, err := zip.NewReader(file, size)
	if err != nil {
		return nil, errDamaged
	}
	if len(archive.File) > maxParts {
		return nil, errBomb
	}
	c := &container{parts: map[string]*zip.File{}}
	for _, part := range archive.File {
		if part.UncompressedSize64 > maxSheetBytes || part.UncompressedSize64 > freelyPacked && part.UncompressedSize64/maxPacking > part.CompressedSize64 {
			return nil, errBomb
		}
		c.parts[partName(part.Name)] = part
	}
	return c, c.kind()
}

// foreign tells what a file is that is no package of parts.
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

// kind tells packages that are no XLSX workbook apart.
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

// open opens a part for one pass over it.
func (c *container) open(name string, limit int64) (io.ReadCloser, error) {
	part, ok := c.parts[partName(name)]
	if !ok {
		return nil, errDamaged
	}
	from, err := part.Open()
	if err != nil {
		return nil, errDamaged
	}
	return &guarded{from: from, left: limit}, nil
}

// decode reads a small part whole into a structure.
func (c *container) decode(name string, into any) error {
	part, err := c.open(name, maxKeptBytes)
	if err != nil {
		return err
	}
	defer part.Close()
	if err := newDecoder(part).Decode(into); err != nil {
		return fault(err)
	}
	return nil
}

// newDecoder reads XML in UTF-8. ECMA-376 part 2 allows UTF-16 too; a part
// written so is reported as damaged.
func newDecoder(from io.Reader) *xml.Decoder { return xml.NewDecoder(from) }

// fault keeps what a part's reader said and calls everything else damage.
func fault(err error) error {
	var known notReadable
	if errors.As(err, &known) {
		return known
	}
	return errDamaged
}

// guarded reads a part up to a limit, and refuses runs of bytes that could
// only be meant to fill the memory of a reader of XML.
type guarded struct {
	from io.ReadCloser
	left int64
	run  int // bytes since the last "<" that begins something
	// Inside <!...> a "<" begins nothing: bang is set until its ">".
	bang  bool
	prior byte
}

func (g *guarded) Read(p []byte) (int, error) {
	n, err := g.from.Read(p)
	if g.left -= int64(n); g.left < 0 {
		return 0, errBomb
	}
	g.watch(p[:n])
	if g.run > maxRun {
		return 0, errBomb
	}
	return n, err
}

// watch keeps count of the run.
func (g *guarded) watch(p []byte) {
	if len(p) == 0 {
		return
	}
	if !g.bang && g.prior != '<' && !bytes.Contains(p, []byte("<!")) {
		if at := bytes.LastIndexByte(p, '<'); at >= 0 {
			g.run = len(p) - at
		} else {
			g.run += len(p)
		}
		g.prior = p[len(p)-1]
		return
	}
	for _, c := range p {
		switch {
		case g.bang && c == '>':
			g.bang = false
		case c == '!' && g.prior == '<' && !g.bang:
			g.bang = true
		case c == '<' && !g.bang:
			g.run = 0
		}
		g.prior = c
		if g.run++; g.run > maxRun {
			return
		}
	}
}

func (g *guarded) Close() error { return g.from.Close() }
