package export

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"

	"filippo.io/age"

	"runsheet.example/cmd/runsheet/internal/output"
	"runsheet.example/validate/manifest"
)

// place receives the files of an export, one after another.
type place interface {
	// Create begins a file and closes the one before.
	Create(name string) (io.WriteCloser, error)
	// Clear discards all files.
	Clear() error
	// Commit moves the files to their place.
	Commit() (output.Outcome, error)
	// Close cleans up; call it last, with or without Commit.
	Close()
}

func newPlace(opts Options) (place, error) {
	if !opts.Form.OneBundle() && len(opts.Recipients) == 0 && opts.Stdout == nil {
		return output.NewFolder(opts.Out, opts.Force, manifest.Ours)
	}
	ours := IsBundle
	if len(opts.Recipients) > 0 {
		ours = isSealed
	}
	single := &onePlace{to: opts.Recipients, zipped: !opts.Form.OneBundle()}
	if opts.Out == "" {
		single.target = &standardOutput{w: opts.Stdout}
		return single, nil
	}
	file, err := output.NewFile(opts.Out, opts.Force, ours)
	single.target = file
	return single, err
}

// target is a file that can be restarted.
type target interface {
	io.Writer
	Clear() error
	Commit() (output.Outcome, error)
	Close()
}

// standardOutput buffers all bytes until Commit.
type standardOutput struct {
	bytes.Buffer
	w io.Writer
}

func (s *standardOutput) Clear() error { s.Reset(); return nil }
func (s *standardOutput) Close()       {}

func (s *standardOutput) Commit() (output.Outcome, error) {
	_, err := s.WriteTo(s.w)
	return output.Written, err
}

// onePlace is one file: the Bundle, or a zip of the folder. For recipients it
// is encrypted in the age format (age-encryption.org/v1), so that no readable
// data reaches the disk. The zip has no times: the same files give the same
// bytes.
type onePlace struct {
	target
	to      []age.Recipient
	zipped  bool
	sealed  io.WriteCloser
	archive *zip.Writer
}

func (p *onePlace) Create(name string) (io.WriteCloser, error) {
	if len(p.to) > 0 && p.sealed == nil {
		var err error
		if p.sealed, err = age.Encrypt(p.target, marked(p.to)...); err != nil {
			return nil, fmt.Errorf("the file could not be encrypted: %w", err)
		}
	}
	var plain io.Writer = p.target
	if p.sealed != nil {
		plain = p.sealed
	}
	if !p.zipped {
		return part{plain}, nil
	}
	if p.archive == nil {
		p.archive = zip.NewWriter(plain)
	}
	file, err := p.archive.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate})
	return part{file}, err
}

// part is a file that ends when the next one begins or the place is committed.
type part struct{ io.Writer }

func (part) Close() error { return nil }

func (p *onePlace) Clear() error {
	p.sealed, p.archive = nil, nil
	return p.target.Clear()
}

func (p *onePlace) Commit() (output.Outcome, error) {
	if p.archive != nil {
		if err := p.archive.Close(); err != nil {
			return output.Written, err
		}
	}
	if p.sealed != nil {
		if err := p.sealed.Close(); err != nil {
			return output.Written, err
		}
	}
	return p.target.Commit()
}

// mark is an additional stanza that identifies an encrypted export as ours:
// only such a file is replaced. Readers of the format skip unknown stanzas
// (age-encryption.org/v1, "Recipient stanza").
const mark = "runsheet-export"

// markedRecipient adds the mark to a recipient's stanzas.
type markedRecipient struct{ age.Recipient }

// marked adds the mark to the first recipient.
func marked(to []age.Recipient) []age.Recipient {
	return append([]age.Recipient{markedRecipient{to[0]}}, to[1:]...)
}

// Wrap returns the recipient's own stanzas and the mark.
func (m markedRecipient) Wrap(key []byte) ([]*age.Stanza, error) {
	stanzas, _, err := m.WrapWithLabels(key)
	return stanzas, err
}

// WrapWithLabels keeps the labels that prevent mixing incompatible recipients.
func (m markedRecipient) WrapWithLabels(key []byte) (stanzas []*age.Stanza, labels []string, err error) {
	if labelled, ok := m.Recipient.(age.RecipientWithLabels); ok {
		stanzas, labels, err = labelled.WrapWithLabels(key)
	} else {
		stanzas, err = m.Recipient.Wrap(key)
	}
	return append(stanzas, &age.Stanza{Type: mark}), labels, err
}

// isSealed recognises an older encrypted export.
func isSealed(head []byte) bool {
	header, _, ok := bytes.Cut(head, []byte("\n---"))
	return ok && bytes.HasPrefix(header, []byte("age-encryption.org/v1\n")) && bytes.Contains(header, []byte("\n-> "+mark+"\n"))
}
