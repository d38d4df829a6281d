package adequacy

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/manifest"
	"runsheet.example/validate/recompute"
	"runsheet.example/validate/report"
)

// Records are the computed values of exported records, with the values
// computed again from the inputs that the records name.
type Records struct {
	documents []document
	// each is called with every document that is read and its bytes, if it is
	// set; the document is valid until each returns.
	each func(d *doc.Doc, data []byte)
}

// document is the computed values of one file.
type document struct{ rows []recompute.Row }

// ReadRecords reads the records of a file, or of the files of a folder in
// lexical order. It hands each document to each, unless that is nil; the
// document is valid until each returns.
func ReadRecords(path string, each func(d *doc.Doc, data []byte)) (*Records, error) {
	files := []string{path}
	if !IsRecord(path) {
		files = recordFiles(path)
	}
	records := &Records{each: each}
	last := ""
	for _, file := range files {
		if dir := filepath.Dir(file); dir != last {
			if last = dir; replaced(dir) {
				return nil, fmt.Errorf("%s: the codes of these records were replaced by a receiver's (export --codes-only), so their values are not known here: give the log", file)
			}
		}
		data, err := os.ReadFile(file)
		if err == nil {
			err = records.Add(data, file)
		}
		if err != nil {
			return nil, err
		}
	}
	return records, nil
}

// replaced reports whether the manifest of a folder says that a receiver's
// codes stand in place of the local ones.
func replaced(dir string) bool {
	text, err := os.ReadFile(filepath.Join(dir, manifest.Name))
	if err != nil {
		return false
	}
	var m struct{ Options struct{ CodesOnly bool } }
	return json.Unmarshal(text, &m) == nil && m.Options.CodesOnly
}

// IsRecord reports whether a file is FHIR JSON, by its name.
func IsRecord(name string) bool {
	return strings.EqualFold(filepath.Ext(name), ".json") && filepath.Base(name) != manifest.Name
}

// HasRecords reports whether a folder holds FHIR JSON.
func HasRecords(folder string) bool { return len(recordFiles(folder)) > 0 }

func recordFiles(folder string) []string {
	var files []string
	err := filepath.WalkDir(folder, func(path string, entry fs.DirEntry, err error) error {
		if err == nil && !entry.IsDir() && IsRecord(entry.Name()) {
			files = append(files, path)
		}
		return err
	})
	if err != nil {
		return nil
	}
	return files
}

// Files is the number of files read.
func (r *Records) Files() int { return len(r.documents) }

// Rows are the values in the order of the sessions: file names carry no dates.
func (r *Records) Rows() []recompute.Row {
	rows := []recompute.Row{}
	for _, d := range r.ordered() {
		rows = append(rows, d.rows...)
	}
	return rows
}

func (r *Records) ordered() []document {
	sorted := slices.Clone(r.documents)
	slices.SortStableFunc(sorted, func(a, b document) int { return cmp.Compare(a.start(), b.start()) })
	return sorted
}

// start is the earliest time of day of the document. Weekly values begin with
// a day and do not count.
func (d document) start() string {
	first := ""
	for _, row := range d.rows {
		if len(row.Start) > len("2025-11-03") && (first == "" || row.Start < first) {
			first = row.Start
		}
	}
	return first
}

func (d document) grid() grid {
	title := "Record without times"
	if start := d.start(); start != "" {
		title = "Session of " + start[:len("2025-11-03")]
	}
	g := grid{title: title, heads: [][]string{{"quantity", "stated", "again", "", "unit", "method"}}}
	for _, row := range d.rows {
		g.rows = append(g.rows, cells(row.Quantity, row.Value, row.Recomputed, string(row.Comparison), row.Unit, row.Method))
	}
	return g
}

// Add reads one FHIR JSON document. It returns an error if the document is not
// JSON; the validator reports other faults.
func (r *Records) Add(data []byte, name string) error {
	var d doc.Doc
	d.Parse(data, name)
	if d.Broken() || d.Root() == doc.None {
		return fmt.Errorf("%s is no JSON document; runsheet validate says where it breaks", name)
	}
	if r.each != nil {
		r.each(&d, data)
	}
	r.documents = append(r.documents, document{recompute.Table(&d)})
	return nil
}

// Disagree returns the number of values that differ, NotAgain that of values
// that could not be computed again.
func (r *Records) Disagree() (disagree, notAgain int) {
	for _, row := range r.Rows() {
		switch row.Comparison {
		case recompute.NotAgain:
			notAgain++
		case recompute.Differs:
			disagree++
		}
	}
	return disagree, notAgain
}

// Text prints the values for a person, with inputs and sources on request.
func (r *Records) Text(w io.Writer, opts Options) error {
	var out bytes.Buffer
	fmt.Fprintln(&out, "Computed values as the records state them, and computed again from the inputs that they name")
	for _, d := range r.ordered() {
		if len(d.rows) > 0 {
			d.grid().print(&out)
		}
	}
	if len(r.Rows()) == 0 {
		fmt.Fprintln(&out, "\nThere is no computed value in these records.")
	}
	if opts.Explain {
		for _, row := range r.Rows() {
			explainRow(&out, row)
		}
	}
	fmt.Fprintf(&out, "\n%s\n", Caution)
	_, err := w.Write(bytes.TrimLeft(out.Bytes(), "\n"))
	return err
}

func explainRow(w io.Writer, row recompute.Row) {
	value := row.Value + unit(row.Unit)
	if row.Value == "" {
		value = "no value: " + row.WhyNot
	}
	fmt.Fprintf(w, "\n%s, %s (%s)\n  %s\n", row.Start, row.Quantity, row.Method, value)
	if row.Recomputed != "" {
		fmt.Fprintf(w, "  computed again: %s%s\n", row.Recomputed, unit(row.Unit))
	}
	for _, in := range row.Inputs {
		fmt.Fprintf(w, "  %s = %s%s\n", in.Key, in.Text, unit(in.Unit))
	}
	fmt.Fprintf(w, "  source: %s\n", row.Source)
}

// JSON prints the values as one JSON document with the caution.
func (r *Records) JSON(w io.Writer, _ Options) error { return Document{Values: r.Rows()}.print(w) }

// CSV prints the values as a table for a spreadsheet.
func (r *Records) CSV(w io.Writer) error {
	records := [][]string{{"session", "start", "key", "value", "unit", "method", "why_not", "recomputed", "comparison", "source"}}
	for _, row := range r.Rows() {
		records = append(records, []string{row.Session, row.Start, row.Key, row.Value, row.Unit, row.Method, row.WhyNot, row.Recomputed, string(row.Comparison), row.Source})
	}
	return report.WriteCSV(w, false, records)
}
