package month

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"io/fs"
	"slices"
	"strconv"
	"strings"
	"time"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
)

// ManifestName is the name a manifest has in an export folder.
const ManifestName = "manifest.json"

// Manifest is what an export says about its own files.
type Manifest struct {
	// File is the name findings carry.
	File string
	// Expected is what it says about the number of sessions.
	Expected Expected

	files    []listed
	names    map[string]bool // of files
	cells    cellTable
	sessions map[string]string
	root     issue.Finding // the place of the root hash
	rootHash string
	lists    bool // see IsManifest
}

// listed is one file the manifest names.
type listed struct {
	name, sum string
	at        issue.Finding // its place in the manifest
}

// ReadManifest reads a manifest. A manifest with findings of level error may
// still be used for what it holds.
func ReadManifest(data []byte, name string) (*Manifest, []issue.Finding) {
	return readManifest(data, name, wholeSize)
}

func readManifest(data []byte, name string, wholeSize int) (*Manifest, []issue.Finding) {
	r := manifestReader{m: &Manifest{File: name, sessions: map[string]string{}, names: map[string]bool{}}, seen: map[string]bool{}}
	if len(data) > wholeSize {
		if rest, entries, ok := apart(data); ok {
			r.whole(rest)
			r.entries(data, entries)
			return r.m, r.findings
		}
	}
	r.whole(data)
	return r.m, r.findings
}

// IsManifest reports whether the file is a manifest: another file may have its
// name.
func (m *Manifest) IsManifest() bool { return m.lists }

type manifestReader struct {
	d        *doc.Doc // the manifest, or the entry at hand
	base     mark     // where that begins in the file
	m        *Manifest
	findings []issue.Finding
	seen     map[string]bool // files
}

// at returns a finding at a place in the manifest, which is no FHIR and so has
// no expression.
func (r *manifestReader) at(n doc.Node, rule, details string) issue.Finding {
	f := r.d.Finding(n, rule)
	f.Expression, f.Details = "", details
	r.base.move(&f)
	return f
}

// whole reads a manifest as one document.
func (r *manifestReader) whole(data []byte) {
	r.d = new(doc.Doc)
	r.findings = r.d.Parse(data, r.m.File)
	if r.d.Kind(r.d.Root()) != doc.Object {
		f := issue.At("month-manifest-form")
		f.File, f.Details = r.m.File, "the manifest is not a JSON object"
		r.findings = append(r.findings, f)
		return
	}
	r.read()
}

func (r *manifestReader) read() {
	d, root := r.d, r.d.Root()
	if format := d.Get(root, "format"); string(d.Raw(format)) != "1" {
		r.findings = append(r.findings, r.at(max(format, root), "month-manifest-form", "the manifest is not of format 1"))
	}
	bundles := d.Get(root, "bundles")
	if d.Kind(bundles) != doc.Array {
		r.findings = append(r.findings, r.at(root, "month-manifest-form", "the manifest lists no files (bundles)"))
	}
	r.m.lists = bundles != doc.None && d.Get(root, "resourceType") == doc.None
	for b := d.FirstChild(bundles); b != doc.None; b = d.Next(b) {
		r.bundle(b)
	}
	for left := d.FirstChild(d.Get(root, "leftOut")); left != doc.None; left = d.Next(left) {
		r.leftOut(left)
	}
	hash := d.Get(root, "root")
	r.m.rootHash = string(d.Str(hash))
	r.m.root = r.at(max(hash, root), "month-manifest-root", "the root hash does not fit the list of files")
	for e := d.FirstChild(d.Get(root, "expected")); e != doc.None; e = d.Next(e) {
		r.expected(e)
	}
}

func (r *manifestReader) expected(e doc.Node) {
	d := r.d
	from, err := time.Parse(time.DateOnly, string(d.Str(d.Get(e, "from"))))
	if err != nil {
		r.findings = append(r.findings, r.at(e, "month-manifest-form", "a prescription has no day it begins"))
		return
	}
	p := Prescribed{From: from.Unix() / secondsPerDay}
	if perWeek := d.Get(e, "sessionsPerWeek"); d.Kind(perWeek) == doc.Number {
		p.SessionsPerWeek, _ = strconv.ParseFloat(string(d.Raw(perWeek)), 64)
	}
	r.m.Expected.Prescribed = append(r.m.Expected.Prescribed, p)
}

func (r *manifestReader) bundle(b doc.Node) {
	d := r.d
	name := string(d.Str(d.Get(b, "file")))
	sum := string(d.Str(d.Get(b, "sha256")))
	switch {
	case name == "" || len(sum) != hex.EncodedLen(sha256.Size):
		r.findings = append(r.findings, r.at(b, "month-manifest-form", "an entry has no file name or no SHA-256"))
		return
	case !fs.ValidPath(name) || strings.ContainsAny(name, `\:`):
		f := r.at(b, "month-manifest-form", "a file name leads outside the folder")
		f.Value = name
		r.findings = append(r.findings, f)
		return
	case r.seen[name]:
		f := r.at(b, "month-manifest-form", "a file is named twice")
		f.Value = name
		r.findings = append(r.findings, f)
	}
	r.seen[name] = true
	r.m.names[name] = true
	r.m.files = append(r.m.files, listed{name, sum, r.at(b, "month-manifest-hash", "")})
	r.m.sessions[name] = string(d.Str(d.Get(b, "session")))
	for res := d.FirstChild(d.Get(b, "resources")); res != doc.None; res = d.Next(res) {
		r.resource(res)
	}
}

func (r *manifestReader) resource(res doc.Node) {
	d := r.d
	id := string(d.Str(d.Get(res, "id")))
	var cells []issue.Cell
	for c := d.FirstChild(d.Get(res, "cells")); c != doc.None; c = d.Next(c) {
		cells = append(cells, r.cell(c))
	}
	if len(cells) == 0 {
		return
	}
	fullURL, _ := strings.CutPrefix(string(d.Str(d.Get(res, "fullUrl"))), "urn:uuid:")
	r.m.cells.put(cells, id, fullURL)
}

func (r *manifestReader) cell(c doc.Node) issue.Cell {
	text := func(key string) string { return string(r.d.Str(r.d.Get(c, key))) }
	number := func(key string) int {
		n, err := strconv.Atoi(string(r.d.Raw(r.d.Get(c, key))))
		if err != nil {
			return 0
		}
		return n
	}
	return issue.Cell{File: text("file"), Sheet: text("sheet"), Row: number("row"), Column: number("column"), Heading: text("heading")}
}

func (r *manifestReader) leftOut(left doc.Node) {
	r.m.Expected.LeftOut++
	d := r.d
	f := r.at(left, "month-manifest-left-out", "a session was left out of the export because of errors in the log")
	f.Session = string(d.Str(d.Get(left, "session")))
	var rules []string
	for rule := d.FirstChild(d.Get(left, "rules")); rule != doc.None; rule = d.Next(rule) {
		rules = append(rules, string(d.Str(rule)))
	}
	f.Value = strings.Join(rules, ", ")
	if cell := d.Get(left, "cell"); cell != doc.None {
		f.Cells = []issue.Cell{r.cell(cell)}
	}
	r.findings = append(r.findings, f)
}

// Cells returns the log cells behind a resource, by its UUID.
func (m *Manifest) Cells(id string) []issue.Cell { return m.cells.get(id) }

// cellsOf returns the log cells behind a resource, by its record identifier.
func (m *Manifest) cellsOf(identity string) []issue.Cell {
	return m.cells.get(strings.TrimPrefix(identity, "urn:uuid:"))
}

// Session returns the id, as the log gives it, of the session in a file.
func (m *Manifest) Session(file string) string { return m.sessions[file] }

// Verify compares the files in a folder with the manifest: present are those
// that are there, by their name relative to the folder. The error is one of
// reading a file that exists.
func (m *Manifest) Verify(folder fs.FS, present []string) ([]issue.Finding, error) {
	var findings []issue.Finding
	var lines []string
	for _, l := range m.files {
		lines = append(lines, l.name+"\x00"+l.sum+"  "+l.name+"\n")
		sum, err := fileSum(folder, l.name)
		switch {
		case errors.Is(err, fs.ErrNotExist):
			findings = append(findings, l.report("month-manifest-missing", "a file that the manifest names is not there", "", ""))
		case err != nil:
			return findings, err
		case sum != l.sum:
			findings = append(findings, l.report("month-manifest-hash", "the file is not the one that was exported", sum, l.sum))
		}
	}
	for _, name := range present {
		if name != ManifestName && !m.names[name] {
			f := m.root
			f.Rule, f.Severity, f.Mend = reruled("month-manifest-extra")
			f.Details, f.Value = "a file beside the manifest is not named in it", name
			findings = append(findings, f)
		}
	}
	slices.Sort(lines)
	if sum := rootSum(lines); sum != m.rootHash {
		f := m.root
		f.Value, f.Expected = m.rootHash, sum
		findings = append(findings, f)
	}
	return findings, nil
}

// rootSum hashes the lines "<sha256>  <file>\n" in the order of the file
// names, which each line of the argument begins with.
func rootSum(lines []string) string {
	h := sha256.New()
	for _, line := range lines {
		_, text, _ := strings.Cut(line, "\x00")
		_, _ = io.WriteString(h, text) // a hash never fails
	}
	return hex.EncodeToString(h.Sum(nil))
}

func fileSum(folder fs.FS, name string) (string, error) {
	f, err := folder.Open(name)
	if err != nil {
		return "", err
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return "", err
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

func reruled(rule string) (string, issue.Severity, string) {
	f := issue.At(rule)
	return f.Rule, f.Severity, f.Mend
}

func (l listed) report(rule, details, value, expected string) issue.Finding {
	f := l.at
	f.Rule, f.Severity, f.Mend = reruled(rule)
	f.Details, f.Value, f.Expected = details, value, expected
	if value == "" {
		f.Value = l.name
	} else {
		f.Details += ": " + l.name
	}
	return f
}
