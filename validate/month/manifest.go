package month

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"io/fs"
	"strconv"
	"strings"
	"time"

	"runsheet.example/validate/issue"
	"runsheet.example/validate/manifest"
)

// Manifest is the description of an export's own files.
type Manifest struct {
	// File is the file name in findings.
	File string
	// Expected is the number of sessions it expects.
	Expected Expected

	files    []listed
	names    map[string]bool // of files
	cells    cellTable
	sessions map[string]string
	root     issue.Finding // the position of the root hash
	rootHash string
	lists    bool // it has a list of files
	fhir     bool // it is a resource
}

// listed is one file the manifest names.
type listed struct {
	name, sum string
	at        issue.Finding // its position in the manifest
}

// ReadManifest reads a manifest. A manifest with findings of level error may
// still be used; it has what could be read.
func ReadManifest(data []byte, name string) (*Manifest, []issue.Finding) {
	r := manifestReader{m: &Manifest{File: name, sessions: map[string]string{}, names: map[string]bool{}}, data: data}
	r.m.root = r.at(0, "month-manifest-root", "the root hash does not fit the list of files")
	format := false
	err := manifest.Scan(bytes.NewReader(data), func(p manifest.Part) error {
		format = format || p.Member == "format"
		r.part(p)
		return nil
	})
	var syntax *manifest.SyntaxError
	switch {
	case errors.As(err, &syntax):
		r.report(syntax.Offset, "the manifest cannot be read: "+syntax.Reason)
	case !format:
		r.report(0, "the manifest is not of format 1")
	}
	if err == nil && !r.m.lists {
		r.report(0, "the manifest lists no files (bundles)")
	}
	return r.m, r.findings
}

// IsManifest reports whether the file is a manifest: another file may have the
// same name.
func (m *Manifest) IsManifest() bool { return m.lists && !m.fhir }

type manifestReader struct {
	data     []byte
	m        *Manifest
	findings []issue.Finding
	// line and start are the line counted last and its start.
	counted, line, start int
}

// at returns a finding at a position in the manifest. It has no expression,
// because the manifest is not FHIR. Positions must come in ascending order.
func (r *manifestReader) at(offset int64, rule, details string) issue.Finding {
	since := r.data[r.counted:offset]
	r.line += bytes.Count(since, []byte{'\n'})
	if last := bytes.LastIndexByte(since, '\n'); last >= 0 {
		r.start = r.counted + last + 1
	}
	r.counted = int(offset)
	f := issue.At(rule)
	f.File, f.Line, f.Column, f.Details = r.m.File, r.line+1, r.counted-r.start+1, issue.T(details)
	return f
}

func (r *manifestReader) report(offset int64, details string) *issue.Finding {
	r.findings = append(r.findings, r.at(max(offset, int64(r.counted)), "month-manifest-form", details))
	return &r.findings[len(r.findings)-1]
}

// part reads one member, or one item of a list.
func (r *manifestReader) part(p manifest.Part) {
	switch p.Member {
	case "format":
		if string(p.Value) != strconv.Itoa(manifest.Format) {
			r.report(p.At, "the manifest is not of format 1")
		}
	case "resourceType":
		r.m.fhir = true
	case "root":
		r.m.root = r.at(p.At, r.m.root.Rule, r.m.root.Details.Key)
		r.take(p, &r.m.rootHash)
	case "bundles":
		r.m.lists = true
		var file manifest.File
		if p.Element && r.take(p, &file) {
			r.file(p, file)
		}
	case "leftOut":
		var left manifest.LeftOut
		if p.Element && r.take(p, &left) {
			r.leftOut(p, left)
		}
	case "expected":
		var e manifest.Expected
		if p.Element && r.take(p, &e) {
			r.expected(p, e)
		}
	}
}

// take decodes a value, or reports a value of another type.
func (r *manifestReader) take(p manifest.Part, into any) bool {
	if err := json.Unmarshal(p.Value, into); err != nil {
		r.report(p.At, "a member has another form than a manifest's: "+p.Member)
		return false
	}
	return true
}

func (r *manifestReader) expected(p manifest.Part, e manifest.Expected) {
	from, err := time.Parse(time.DateOnly, e.From)
	if err != nil {
		r.report(p.At, "a prescription has no day it begins")
		return
	}
	perWeek, _ := e.SessionsPerWeek.Float64() // 0 means none
	r.m.Expected.Prescribed = append(r.m.Expected.Prescribed, Prescribed{From: from.Unix() / secondsPerDay, SessionsPerWeek: perWeek})
}

func (r *manifestReader) file(p manifest.Part, f manifest.File) {
	switch {
	case f.File == "" || len(f.SHA256) != hex.EncodedLen(sha256.Size):
		r.report(p.At, "an entry has no file name or no SHA-256")
		return
	case !fs.ValidPath(f.File) || strings.ContainsAny(f.File, `\:`):
		r.report(p.At, "a file name leads outside the folder").Value = f.File
		return
	case r.m.names[f.File]:
		r.report(p.At, "a file is named twice").Value = f.File
	}
	r.m.names[f.File] = true
	r.m.files = append(r.m.files, listed{f.File, f.SHA256, r.at(p.At, "month-manifest-hash", "")})
	r.m.sessions[f.File] = f.Session
	for _, res := range f.Resources {
		if len(res.Cells) > 0 {
			r.m.cells.put(res.Cells, res.ID, strings.TrimPrefix(res.FullURL, "urn:uuid:"))
		}
	}
}

func (r *manifestReader) leftOut(p manifest.Part, left manifest.LeftOut) {
	r.m.Expected.LeftOut++
	f := r.at(p.At, "month-manifest-left-out", "a session was left out of the export because of errors in the log")
	f.Session, f.Value = left.Session, strings.Join(left.Rules, ", ")
	if !left.Cell.IsZero() {
		f.Cells = []issue.Cell{left.Cell}
	}
	r.findings = append(r.findings, f)
}

// Cells returns the log cells of a resource, by its UUID.
func (m *Manifest) Cells(id string) []issue.Cell { return m.cells.get(id) }

// cellsOf returns the log cells of a resource, by its record identifier.
func (m *Manifest) cellsOf(identity string) []issue.Cell {
	return m.cells.get(strings.TrimPrefix(identity, "urn:uuid:"))
}

// Session returns the session id of a file, as in the log.
func (m *Manifest) Session(file string) string { return m.sessions[file] }

// Verify compares the files in a folder with the manifest. present are the
// existing files, by name relative to the folder. It returns an error if it
// cannot read an existing file.
func (m *Manifest) Verify(folder fs.FS, present []string) ([]issue.Finding, error) {
	var findings []issue.Finding
	var files []manifest.File
	for _, l := range m.files {
		files = append(files, manifest.File{File: l.name, SHA256: l.sum})
		sum, err := manifest.SumOf(folder.Open(l.name))
		switch {
		case errors.Is(err, fs.ErrNotExist), err != nil && isLink(folder, l.name): // a link out of the folder
			findings = append(findings, l.report("month-manifest-missing", "a file that the manifest names is not there", "", ""))
		case err != nil:
			return findings, err
		case sum != l.sum:
			findings = append(findings, l.report("month-manifest-hash", "the file is not the one that was exported", sum, l.sum))
		}
	}
	for _, name := range present {
		if name != manifest.Name && !m.names[name] {
			f := m.root
			f.Rule, f.Severity, f.Mend = reruled("month-manifest-extra")
			f.Details, f.Value = issue.T("a file beside the manifest is not named in it"), name
			findings = append(findings, f)
		}
	}
	if sum := manifest.Root(files); sum != m.rootHash {
		f := m.root
		f.Value, f.Expected = m.rootHash, issue.Literal(sum)
		findings = append(findings, f)
	}
	return findings, nil
}

func isLink(folder fs.FS, name string) bool {
	info, err := fs.Lstat(folder, name)
	return err == nil && info.Mode()&fs.ModeSymlink != 0
}

func reruled(rule string) (string, issue.Severity, issue.Text) {
	f := issue.At(rule)
	return f.Rule, f.Severity, f.Mend
}

func (l listed) report(rule, details, value, expected string) issue.Finding {
	f := l.at
	f.Rule, f.Severity, f.Mend = reruled(rule)
	f.Details, f.Value, f.Expected = issue.T(details), value, issue.Literal(expected)
	if value == "" {
		f.Value = l.name
	} else {
		f.Details = issue.T("{}: {}", f.Details, l.name)
	}
	return f
}
