// Package receipt keeps what a server has taken: for each identity of ours
// the type, id and version it has there, and the digest of the content sent.
// With it a second delivery sends nothing twice, an interrupted one goes on
// where it stopped, and a correction finds the record it corrects.
//
// The file is JSON, one resource a line. Every change is written to a new file
// that then takes the old one's place, so that at every moment, a loss of power
// included, there is one whole receipt: the one before or the one after.
package receipt

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// format is raised when an older program would misread a receipt.
const format = 1

// Status says how a resource came to stand at the server, or what became of
// it.
type Status string

// The states of an [Entry].
const (
	// Created by us.
	Created Status = "created"
	// Present before we came, with the content we would have sent.
	Present Status = "present"
	// Differs: present, with other content. A correction puts it right.
	Differs Status = "differs"
	// Corrected by us.
	Corrected Status = "corrected"
	// Withdrawn: marked by us as entered in error.
	Withdrawn Status = "entered-in-error"
)

// Entry is one resource at the server.
type Entry struct {
	// Identity is our UUID of it.
	Identity string `json:"identity"`
	Type     string `json:"type"`
	// ID and Version are the server's.
	ID      string `json:"id"`
	Version string `json:"version,omitempty"`
	Status  Status `json:"status"`
	// SHA256 is the digest of our content; empty when what stands there is
	// not ours.
	SHA256 string `json:"sha256,omitempty"`
	// Session is the identity of the session, empty for what sessions share,
	// and Label the session's id in the log.
	Session string `json:"session,omitempty"`
	Label   string `json:"label,omitempty"`
	// Role is what the resource is in its session.
	Role string `json:"role,omitempty"`
}

// Reference is the literal reference to the resource at the server.
func (e Entry) Reference() string { return e.Type + "/" + e.ID }

// Amendment is a correction that was begun: until its Provenance is sent it
// stands in the receipt, so that a cut correction is completed.
type Amendment struct {
	// Recorded is when it was begun, as a FHIR instant.
	Recorded string `json:"recorded"`
	// Session is the identity of the session it is about.
	Session string `json:"session"`
	// Reason is why, as given.
	Reason string `json:"reason,omitempty"`
	// Changes are the changed resources with the versions they replaced.
	Changes []Change `json:"changes"`
}

// Change is one resource of an [Amendment].
type Change struct {
	Identity   string `json:"identity"`
	OldVersion string `json:"oldVersion,omitempty"`
}

// Receipt is what one server has taken of one log.
type Receipt struct {
	Server string
	LogID  string
	// Patient is the patient's literal reference at the server, once known.
	Patient string
	// Style is the form of sending chosen at first.
	Style string
	// Options are the choices the record was exported with, as JSON; none in
	// receipts of the first programs.
	Options  json.RawMessage
	Amending []Amendment

	path    string
	order   []string
	entries map[string]*line
}

// line is an entry with its written form, kept so that writing a receipt is a
// copy.
type line struct {
	Entry
	text []byte
}

type header struct {
	Format   int             `json:"format"`
	Server   string          `json:"server"`
	LogID    string          `json:"log"`
	Patient  string          `json:"patient,omitempty"`
	Style    string          `json:"style,omitempty"`
	Options  json.RawMessage `json:"options,omitempty"`
	Amending []Amendment     `json:"amending,omitempty"`
}

// Open reads the receipt at path, or begins one when there is none. A receipt
// of another server or log is refused.
func Open(path, server, logID string) (*Receipt, error) {
	r := &Receipt{Server: server, LogID: logID, path: path, entries: map[string]*line{}}
	text, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return r, nil
	}
	if err != nil {
		return nil, err
	}
	if err := r.read(text); err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	switch {
	case r.Server != server:
		return nil, fmt.Errorf("%s is the receipt of another server (%s): name another file with --receipt", path, r.Server)
	case logID != "" && r.LogID != logID:
		return nil, fmt.Errorf("%s is the receipt of another log: name another file with --receipt", path)
	}
	return r, nil
}

// Parse reads a receipt's text.
func Parse(text []byte) (*Receipt, error) {
	r := &Receipt{entries: map[string]*line{}}
	return r, r.read(text)
}

func (r *Receipt) read(text []byte) error {
	var file struct {
		header
		Resources []Entry `json:"resources"`
	}
	if err := json.Unmarshal(text, &file); err != nil {
		return errors.New("this is not a receipt, or it was damaged")
	}
	if file.Format != format {
		return fmt.Errorf("this is not a receipt of format %d", format)
	}
	r.Server, r.LogID, r.Patient, r.Style, r.Options, r.Amending = file.Server, file.LogID, file.Patient, file.Style, file.Options, file.Amending
	for _, e := range file.Resources {
		if e.Identity == "" || e.Type == "" || e.ID == "" {
			return errors.New("a resource in the receipt has no identity, type or id")
		}
		if err := r.Put(e); err != nil {
			return err
		}
	}
	return nil
}

// Exists reports whether the receipt stands in its file already.
func (r *Receipt) Exists() bool {
	_, err := os.Stat(r.path)
	return err == nil
}

// HasSessions reports whether the server has taken anything but what sessions
// share.
func (r *Receipt) HasSessions() bool {
	for _, l := range r.entries {
		if l.Session != "" {
			return true
		}
	}
	return false
}

// Of gives the entry of an identity.
func (r *Receipt) Of(identity string) (Entry, bool) {
	l, ok := r.entries[identity]
	if !ok {
		return Entry{}, false
	}
	return l.Entry, true
}

// All lists the entries in the order in which they came.
func (r *Receipt) All() []Entry {
	out := make([]Entry, 0, len(r.order))
	for _, identity := range r.order {
		out = append(out, r.entries[identity].Entry)
	}
	return out
}

// Put adds or replaces an entry; [Receipt.Save] keeps it.
func (r *Receipt) Put(e Entry) error {
	text, err := json.Marshal(e)
	if err != nil {
		return err
	}
	if _, known := r.entries[e.Identity]; !known {
		r.order = append(r.order, e.Identity)
	}
	r.entries[e.Identity] = &line{e, text}
	return nil
}

// Text is the receipt as it is written.
func (r *Receipt) Text() ([]byte, error) {
	head, err := json.Marshal(header{format, r.Server, r.LogID, r.Patient, r.Style, r.Options, r.Amending})
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	out.Write(head[:len(head)-1])
	out.WriteString(",\"resources\":[")
	for i, identity := range r.order {
		if i > 0 {
			out.WriteByte(',')
		}
		out.WriteByte('\n')
		out.Write(r.entries[identity].text)
	}
	out.WriteString("\n]}\n")
	return out.Bytes(), nil
}

// Save writes the receipt to its file: whole, on the disk, in place of the old
// one.
func (r *Receipt) Save() error {
	text, err := r.Text()
	if err != nil {
		return err
	}
	folder := filepath.Dir(r.path)
	temporary, err := os.CreateTemp(folder, ".runsheet-*")
	if err != nil {
		return fmt.Errorf("the receipt cannot be written: %w", err)
	}
	defer os.Remove(temporary.Name())
	_, err = temporary.Write(text)
	err = errors.Join(err, temporary.Sync(), temporary.Close())
	if err == nil {
		err = os.Rename(temporary.Name(), r.path)
	}
	if err != nil {
		return fmt.Errorf("the receipt cannot be written: %w", err)
	}
	return syncFolder(folder)
}

// syncFolder puts the new name on the disk. Where folders cannot be synced the
// rename has to do.
func syncFolder(path string) error {
	folder, err := os.Open(path)
	if err != nil {
		return nil
	}
	defer folder.Close()
	_ = folder.Sync()
	return nil
}
