// Package edit changes a log that is kept as a folder of CSV files, cell by
// cell, while other programs and people change it too.
//
// [Open] reads the files; [Log.Set], [Log.AddRow], [Log.RemoveRow] and
// [Log.SetAbout] change them in memory, and [Log.Save] writes what has changed.
// The log on disk is the only store, so a program opens it again for each
// request.
//
// What is not changed stays byte for byte: other rows, quotation marks, line
// ends, byte order mark, encoding, the order of columns. A text is kept as
// typed, also a formula, HTML or a control character; only a line end within a
// cell is written as one line feed. A file whose encoding cannot hold a new
// text becomes UTF-8.
//
// A save writes temporary files and renames them: a process killed at any
// moment leaves each file whole, as before or as after. It writes nothing if a
// file is no longer as it was read ([ChangedError]). What the save replaces is
// kept in the folder .history of the log, which the readers of logs ignore:
//
//	.history/000042/sessions.csv   the file as it was before save 42
//	.history/000042/after.sha256   what it was after it, as sha256sum writes it
//	.history/open                  who has the log open (see Lock)
//
// Versions are ordered by number, never by time; the last 50 are kept.
package edit

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"unicode/utf8"

	"runsheet.example/fhirmap/session"
	"runsheet.example/fhirmap/session/hold"
)

// ChangedError is returned when the log on disk is not the one that the
// changes were made to. Nothing was saved.
type ChangedError struct {
	Files []string
}

func (e *ChangedError) Error() string {
	return "changed by another program or page since it was read: " + strings.Join(e.Files, ", ") + "; nothing was saved"
}

// aboutName is the name of the file about the log as a whole.
const aboutName = "log.toml"

// maxText is the largest text of a cell in bytes, which is what a cell of a
// spreadsheet can hold.
const maxText = 32767

// Log is a log folder as read, with the changes made since. It must not be
// used by two goroutines at once.
type Log struct {
	dir   string
	files map[string]*file // by their names in lower case
	cache *Cache
	step  func(string) error // called before each step of a save; tests replace it
}

// file is one file of the log.
type file struct {
	name    string // as the folder has it
	raw     session.RawText
	digest  string // SHA-256 of the bytes on disk; "" for a file that is not there
	err     error  // why it cannot be changed
	table   *table // of a sheet, split when it is first needed
	changed bool
}

// Cache keeps the files of a log as they were split last, until they change on
// disk: most of a request is the splitting. Its zero value is empty.
type Cache struct {
	mu    sync.Mutex
	files map[string]split // by their names in lower case
}

type split struct {
	digest string
	table  *table
}

// put keeps a table that is no longer changed.
func (c *Cache) put(key, digest string, t *table) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.files == nil {
		c.files = map[string]split{}
	}
	c.files[key] = split{digest, t}
}

// get is a copy of the table of a file with a digest, nil for none.
func (c *Cache) get(key, digest string) *table {
	c.mu.Lock()
	defer c.mu.Unlock()
	if s := c.files[key]; s.table != nil && s.digest == digest {
		return s.table.copied()
	}
	return nil
}

// Open reads the files of a log folder.
func Open(dir string) (*Log, error) { return new(Cache).Open(dir) }

// Open reads the files of a log folder.
func (c *Cache) Open(dir string) (*Log, error) {
	l := &Log{dir: dir, files: map[string]*file{}, cache: c, step: func(string) error { return nil }}
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, plain("the log folder cannot be read", err)
	}
	for _, entry := range entries {
		key := strings.ToLower(entry.Name())
		if _, isSheet := sheetOf(key); !isSheet && key != aboutName || l.files[key] != nil {
			continue
		}
		data, err := os.ReadFile(filepath.Join(dir, entry.Name()))
		if err != nil {
			return nil, plain("the log cannot be read", err)
		}
		f := &file{name: entry.Name(), digest: digestOf(data)}
		l.files[key] = f
		f.raw, f.err = session.ReadRawText(entry.Name(), data)
	}
	if l.files[aboutName] == nil && !l.hasSessions() {
		return nil, fmt.Errorf("%s: %w", dir, session.ErrNoLog)
	}
	return l, nil
}

// hasSessions reports a sheet of sessions that is not another program's: a
// readable one names its sessions.
func (l *Log) hasSessions() bool {
	t := l.sheet(session.SheetSessions)
	return l.files[string(session.SheetSessions)+".csv"] != nil && (t == nil || len(t.headings()) == 0 || t.column("session") >= 0)
}

func sheetOf(name string) (session.Sheet, bool) {
	stem, isCSV := strings.CutSuffix(name, ".csv")
	return session.Sheet(stem), isCSV && slices.Contains(session.Sheets(), session.Sheet(stem))
}

func digestOf(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}

// Digest is a digest of all files as they were read: a page made from this log
// carries it, and hands it to [Log.Save].
func (l *Log) Digest() string {
	var all strings.Builder
	for _, key := range l.keys() {
		if f := l.files[key]; f.digest != "" {
			fmt.Fprintln(&all, f.digest, f.name)
		}
	}
	return digestOf([]byte(all.String()))
}

func (l *Log) keys() []string {
	keys := make([]string, 0, len(l.files))
	for key := range l.files {
		keys = append(keys, key)
	}
	slices.Sort(keys)
	return keys
}

// sheet returns the file of a sheet that can be read, nil when there is none.
func (l *Log) sheet(sheet session.Sheet) *table {
	key := string(sheet) + ".csv"
	f := l.files[key]
	if f == nil || f.err != nil {
		return nil
	}
	if f.table == nil {
		f.table = l.cache.get(key, f.digest)
	}
	if f.table == nil {
		f.table = newTable(sheet, f.raw.Text)
		l.cache.put(key, f.digest, f.table.copied())
	}
	return f.table
}

// Headings are the headings of a sheet as written, nil without such a file.
func (l *Log) Headings(sheet session.Sheet) []string {
	if t := l.sheet(sheet); t != nil {
		return t.headings()
	}
	return nil
}

// Rows are the numbers of the rows of a sheet, as findings and the cells of a
// session name them, without that of the headings.
func (l *Log) Rows(sheet session.Sheet) []int {
	t := l.sheet(sheet)
	if t == nil || len(t.rows) == 0 {
		return nil
	}
	numbers := make([]int, 0, len(t.rows)-1)
	for _, r := range t.rows[1:] {
		numbers = append(numbers, r.Number)
	}
	return numbers
}

// Cell is the text of a cell as typed, "" where there is none. The column is a
// heading as written in the file, or the name of the column that a heading
// means, in the unit that it names.
func (l *Log) Cell(sheet session.Sheet, row int, column string) string {
	if t := l.sheet(sheet); t != nil {
		return t.cell(row, column)
	}
	return ""
}

// Set changes the text of a cell. A column that the file does not have is
// added to it, after its last one.
func (l *Log) Set(sheet session.Sheet, row int, column, text string) error {
	text, err := checked(text)
	if err != nil {
		return err
	}
	f, err := l.changeable(sheet)
	if err != nil {
		return err
	}
	was := f.table.cell(row, column)
	if err := f.table.set(row, column, text); err != nil {
		return fmt.Errorf("%s: %w", f.name, err)
	}
	f.changed = f.changed || was != text
	return nil
}

// AddRow adds a row at the end of a sheet, with these texts by column, and
// returns its number. A sheet without a file gets one.
func (l *Log) AddRow(sheet session.Sheet, texts map[string]string) (row int, err error) {
	f, err := l.changeable(sheet)
	if err != nil {
		return 0, err
	}
	clean := map[string]string{}
	for column, text := range texts {
		if clean[column], err = checked(text); err != nil {
			return 0, err
		}
	}
	if row, err = f.table.add(clean); err != nil {
		return 0, fmt.Errorf("%s: %w", f.name, err)
	}
	f.changed = true
	return row, nil
}

// RemoveRow removes a row of a sheet. The rows below it move up: their numbers
// are one less.
func (l *Log) RemoveRow(sheet session.Sheet, row int) error {
	f, err := l.changeable(sheet)
	if err != nil {
		return err
	}
	if !f.table.remove(row) {
		return fmt.Errorf("%s: there is no row %d", f.name, row)
	}
	f.changed = true
	return nil
}

// changeable returns the file of a sheet, a new one where there is none.
func (l *Log) changeable(sheet session.Sheet) (*file, error) {
	key := string(sheet) + ".csv"
	if _, known := sheetOf(key); !known {
		return nil, fmt.Errorf("a log has no sheet %q", sheet)
	}
	f := l.files[key]
	if f == nil {
		f = &file{name: key, raw: session.NewRawText(), table: newTable(sheet, l.emptySheet(sheet))}
		l.files[key] = f
	}
	l.sheet(sheet)
	return f, f.err
}

// emptySheet is the line of headings, with the separator of the sessions.
func (l *Log) emptySheet(sheet session.Sheet) []byte {
	delimiter := ','
	if t := l.sheet(session.SheetSessions); t != nil && len(t.rows) > 0 {
		delimiter = t.delimiter
	}
	var names []string
	for _, c := range session.Columns {
		if c.Sheet == sheet {
			names = append(names, c.Name)
		}
	}
	return []byte(strings.Join(names, string(delimiter)) + "\r\n")
}

// lineEnds are the line ends within a text.
var lineEnds = regexp.MustCompile("\r+\n")

// checked refuses what would make a file unreadable, and writes line ends as
// a reader of CSV files returns them.
func checked(text string) (string, error) {
	switch {
	case len(text) > maxText:
		return "", fmt.Errorf("the text is longer than a cell can be (%d bytes)", maxText)
	case strings.ContainsRune(text, 0):
		return "", errors.New("the text holds a zero byte, which no file of a log can hold")
	case !utf8.ValidString(text):
		return "", errors.New("the text is not UTF-8")
	}
	return lineEnds.ReplaceAllString(text, "\n"), nil
}

// plain says what could not be done and why, in words for the person.
func plain(what string, err error) error {
	switch {
	case hold.IsDiskFull(err):
		return fmt.Errorf("%s: the disk is full: %w", what, err)
	case errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("%s: you may not write there, or it is read-only: %w", what, err)
	default:
		return fmt.Errorf("%s: %w", what, err)
	}
}
