package receipt

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"os"

	"runsheet.example/cmd/runsheet/internal/output"
	"runsheet.example/validate/issue"
)

// journal is the state of the receipt file.
type journal struct {
	exists bool // the file holds a receipt
	stale  bool // there are changes after the whole receipt
	cutOff bool // the last change is truncated
	// open is the file for appending changes; nil before the first.
	open *os.File
	// head is the header; changed are the entries that differ from the file.
	head    []byte
	changed []int
}

// change is one line after the whole receipt.
type change struct {
	Head      *header `json:"head,omitempty"`
	Resources []Entry `json:"resources,omitempty"`
}

// marshal writes JSON without characters that control a terminal.
func marshal(value any) ([]byte, error) {
	text, err := json.Marshal(value)
	return issue.Escape(text), err
}

func (r *Receipt) write(to io.Writer) error {
	head, err := marshal(r.header())
	if err != nil {
		return err
	}
	out := bufio.NewWriterSize(to, 1<<16)
	_, _ = out.Write(head[:len(head)-1]) // Flush returns the error
	_, _ = out.WriteString(",\"resources\":[")
	for i := range r.entries {
		text, err := marshal(&r.entries[i])
		if err != nil {
			return err
		}
		if i > 0 {
			_ = out.WriteByte(',')
		}
		_ = out.WriteByte('\n')
		_, _ = out.Write(text)
	}
	_, _ = out.WriteString("\n]}\n")
	return out.Flush()
}

// Save writes the changes to disk: appended to the file or, if there is no
// receipt yet or its end is truncated, as a whole receipt.
func (r *Receipt) Save() error {
	head, err := marshal(r.header())
	if err != nil {
		return err
	}
	if r.file.exists && len(r.file.changed) == 0 && bytes.Equal(head, r.file.head) {
		return nil
	}
	if r.file.open == nil && (!r.file.exists || r.file.stale) {
		return r.replace(head)
	}
	if err := r.append(head); err != nil {
		// The file now ends with part of the line, so the next change must not
		// be appended.
		r.file.stop()
		r.file.stale = true
		return fmt.Errorf("the receipt cannot be written: %w", err)
	}
	r.file.stale = true
	r.file.head, r.file.changed = head, r.file.changed[:0]
	return nil
}

// append appends a line to the file and syncs it to disk.
func (r *Receipt) append(head []byte) error {
	if r.file.open == nil {
		file, err := os.OpenFile(r.path, os.O_APPEND|os.O_WRONLY, 0)
		if err != nil {
			return err
		}
		r.file.open = file
	}
	var c change
	if !bytes.Equal(head, r.file.head) {
		now := r.header()
		c.Head = &now
	}
	seen := map[int]bool{}
	for _, at := range r.file.changed {
		if !seen[at] {
			seen[at] = true
			c.Resources = append(c.Resources, r.entries[at])
		}
	}
	line, err := marshal(c)
	if err != nil {
		return err
	}
	if _, err := r.file.open.Write(append(line, '\n')); err != nil {
		return err
	}
	return r.file.open.Sync()
}

// Close writes the receipt in its final form, which does not depend on how
// often the delivery was interrupted.
func (r *Receipt) Close() error {
	defer r.file.stop()
	if !r.file.stale && len(r.file.changed) == 0 {
		return nil
	}
	head, err := marshal(r.header())
	if err != nil {
		return err
	}
	return r.replace(head)
}

func (j *journal) stop() {
	if j.open != nil {
		_ = j.open.Close() // everything written is on disk
		j.open = nil
	}
}

// replace writes the whole receipt in place of the old one.
func (r *Receipt) replace(head []byte) error {
	r.file.stop()
	file, err := output.NewFile(r.path, true, func([]byte) bool { return true })
	if err == nil {
		defer file.Close()
		err = r.write(file)
	}
	if err == nil {
		_, err = file.Commit()
	}
	if err != nil {
		return fmt.Errorf("the receipt cannot be written: %w", err)
	}
	r.file = journal{exists: true, head: head, changed: r.file.changed[:0]}
	return nil
}
