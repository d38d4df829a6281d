package export

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"io"

	"runsheet.example/fhirmap"
)

// form writes sessions into files.
type form interface {
	add(ready) error
	// finish writes the rest and lists the files.
	finish() (*listing, error)
}

func newForm(w *writer) form {
	switch w.opts.Form {
	case NDJSON:
		return &ndjsonForm{w: w, seen: fhirmap.Distinct{}, types: map[string]*lines{}}
	case Collection, Document:
		return &bundleForm{w: w}
	case HL7v2:
		w.opts.Kept.Begin()
		return &messageForm{messageFiles{w: w, log: MessageLog(w.log)}, new(listing)}
	default:
		return &sessionsForm{w: w, listed: new(listing)}
	}
}

// file writes a file of the export and returns its SHA-256.
func (w *writer) file(name string, write func(io.Writer) error) (string, error) {
	file, err := w.place.Create(name)
	if err != nil {
		return "", err
	}
	hash := sha256.New()
	if err := write(io.MultiWriter(file, hash)); err != nil {
		return "", err
	}
	return hex.EncodeToString(hash.Sum(nil)), file.Close()
}

// bundle writes a Bundle, indented on request.
func (w *writer) bundle(name string, data []byte) (string, error) {
	return w.file(name, func(out io.Writer) error {
		if w.opts.Pretty {
			var indented bytes.Buffer
			if err := json.Indent(&indented, data, "", "  "); err != nil {
				return err
			}
			data = indented.Bytes()
		}
		_, err := out.Write(data)
		if err == nil {
			_, err = out.Write([]byte{'\n'})
		}
		return err
	})
}

// sessionsForm is one transaction Bundle for each session.
type sessionsForm struct {
	w      *writer
	listed *listing
}

func (f *sessionsForm) add(r ready) error {
	name := FileName(r.record)
	sum, err := f.w.bundle(name, r.bundle)
	if err != nil {
		return err
	}
	return f.listed.add(r.record.ManifestFile(name, sum))
}

func (f *sessionsForm) finish() (*listing, error) { return f.listed, nil }

// bundleForm is one Bundle, built in memory.
type bundleForm struct {
	w     *writer
	month fhirmap.Month
}

func (f *bundleForm) add(r ready) error {
	f.month.Add(r.record)
	return nil
}

func (f *bundleForm) finish() (*listing, error) {
	encode := f.month.Collection
	if f.w.opts.Form == Document {
		encode = f.month.Document
	}
	data, err := encode()
	if err != nil {
		return nil, err
	}
	_, err = f.w.bundle(string(f.w.opts.Form)+".json", data)
	return nil, err
}
