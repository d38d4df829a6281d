package export

import (
	"bytes"
	"compress/flate"
	"encoding/json"
	"errors"
	"io"

	"runsheet.example/validate/manifest"
)

// spool keeps text compressed in memory until it is copied: text that must
// wait for the last session would otherwise take most of the memory, and on
// disk it would be one more copy of health data.
type spool struct {
	packed bytes.Buffer
	packer *flate.Writer
}

func (s *spool) write(parts ...[]byte) error {
	if s.packer == nil {
		packer, err := flate.NewWriter(&s.packed, flate.BestSpeed)
		if err != nil {
			return err
		}
		s.packer = packer
	}
	for _, p := range parts {
		if _, err := s.packer.Write(p); err != nil {
			return err
		}
	}
	return nil
}

// copyTo ends the spool and copies its text.
func (s *spool) copyTo(w io.Writer) error {
	if s.packer == nil {
		return nil
	}
	if err := s.packer.Close(); err != nil {
		return err
	}
	_, err := io.Copy(w, flate.NewReader(&s.packed))
	return err
}

// listing is the list of files for the manifest: without resources, and as
// text of the manifest.
type listing struct {
	files []manifest.File // without their resources
	text  spool
	bulk  *manifest.Bulk // of NDJSON
}

func (l *listing) add(f manifest.File) error {
	between := []byte(",")
	if len(l.files) == 0 {
		between = nil
	}
	l.files = append(l.files, manifest.File{File: f.File, SHA256: f.SHA256})
	text, err := indented("  ", f)
	if err != nil {
		return err
	}
	return l.text.write(between, []byte("\n  "), text)
}

// write writes the manifest; the entries of the files come from the spool.
func (l *listing) write(w io.Writer, m manifest.Manifest) error {
	m.Files = []manifest.File{}
	whole, err := indented("", m)
	if err != nil {
		return err
	}
	// Text can begin a line like this only here: within strings, quotes are
	// escaped.
	const empty = "\n \"bundles\": []"
	head, tail, ok := bytes.Cut(whole, []byte(empty))
	if !ok {
		return errors.New("the manifest has no list of files")
	}
	if _, err := w.Write(append(head, empty[:len(empty)-1]...)); err != nil {
		return err
	}
	if err := l.text.copyTo(w); err != nil {
		return err
	}
	_, err = w.Write(append([]byte("\n ]"), append(tail, '\n')...))
	return err
}

// indented formats a value like the manifest, with a prefix on each line but
// the first.
func indented(prefix string, value any) ([]byte, error) {
	var out bytes.Buffer
	encoder := json.NewEncoder(&out)
	encoder.SetEscapeHTML(false)
	encoder.SetIndent(prefix, " ")
	err := encoder.Encode(value)
	return bytes.TrimSuffix(out.Bytes(), []byte("\n")), err
}
