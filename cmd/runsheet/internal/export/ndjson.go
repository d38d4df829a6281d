package export

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"io"
	"maps"
	"slices"
	"strconv"
	"time"

	"runsheet.example/fhirmap"
	"runsheet.example/fhirmap/r4"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/manifest"
	"runsheet.example/validate/report"
)

// ndjsonForm is one file for each resource type, one resource a line, and the
// line map. Each file stays in a spool until the last session is added.
type ndjsonForm struct {
	w     *writer
	seen  fhirmap.Distinct
	types map[string]*lines
	// latest is when the last entry was closed.
	latest time.Time
}

// lines are the resources of one type, and their rows of the line map.
type lines struct {
	text, cells spool
	count       int
}

func (f *ndjsonForm) add(r ready) error {
	if r.record.Session != nil {
		if at := r.record.Recorded(); at.After(f.latest) {
			f.latest = at
		}
	}
	for _, resource := range r.record.Resources {
		if !f.seen.First(resource) {
			continue
		}
		to := f.types[resource.Type]
		if to == nil {
			to = new(lines)
			f.types[resource.Type] = to
		}
		if err := to.add(resource); err != nil {
			return err
		}
	}
	return nil
}

func (l *lines) add(r fhirmap.Resource) error {
	l.count++
	if err := l.text.write(r.JSON, []byte{'\n'}); err != nil {
		return err
	}
	cells := r.Cells
	if len(cells) == 0 {
		cells = []issue.Cell{{}} // every line has a row
	}
	var rows bytes.Buffer
	table := lineTable(&rows)
	for _, c := range cells {
		row := []string{ndjsonName(r.Type), number(l.count), c.File, c.Sheet, number(c.Row), number(c.Column), c.Heading}
		if err := table.Write(report.HarmlessRow(row)); err != nil {
			return err
		}
	}
	table.Flush()
	return cmp.Or(table.Error(), l.cells.write(rows.Bytes()))
}

// lineTable writes the line map, as RFC 4180 has it.
func lineTable(w io.Writer) *csv.Writer {
	table := csv.NewWriter(w)
	table.UseCRLF = true
	return table
}

// number is a number counted from 1, or empty for 0, which means none.
func number(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

func ndjsonName(resourceType string) string { return resourceType + ".ndjson" }

func (f *ndjsonForm) finish() (*listing, error) {
	bulk := &manifest.Bulk{
		TransactionTime: r4.DateTime(f.latest), Request: "urn:uuid:" + f.w.log.About.LogID,
		Output: []manifest.BulkFile{}, Error: []manifest.BulkFile{},
	}
	listed := &listing{bulk: bulk}
	add := func(name string, write func(io.Writer) error) error {
		sum, err := f.w.file(name, write)
		if err != nil {
			return err
		}
		return listed.add(manifest.File{File: name, SHA256: sum})
	}
	types := slices.Sorted(maps.Keys(f.types))
	for _, name := range types {
		if err := add(ndjsonName(name), f.types[name].text.copyTo); err != nil {
			return nil, err
		}
		bulk.Output = append(bulk.Output, manifest.BulkFile{Type: name, URL: ndjsonName(name), Count: f.types[name].count})
	}
	return listed, add(manifest.LineMap, func(w io.Writer) error {
		table := lineTable(w)
		if err := table.Write([]string{"file", "line", "log_file", "sheet", "row", "column", "heading"}); err != nil {
			return err
		}
		table.Flush()
		for _, name := range types {
			if err := f.types[name].cells.copyTo(w); err != nil {
				return err
			}
		}
		return table.Error()
	})
}
