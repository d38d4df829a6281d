package receipt

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"runsheet.example/validate/structure"
)

var errDamaged = errors.New("this is not a receipt, or it was damaged")

// read reads a whole receipt and the changes after it.
func (r *Receipt) read(from io.Reader) error {
	decoder := json.NewDecoder(from)
	var whole struct {
		header
		Resources []Entry `json:"resources"`
	}
	if err := decoder.Decode(&whole); err != nil {
		return errDamaged
	}
	if whole.Format != format {
		return fmt.Errorf("this is not a receipt of format %d", format)
	}
	err := r.apply(change{&whole.header, whole.Resources})
	if err == nil {
		err = r.readChanges(bufio.NewReader(io.MultiReader(decoder.Buffered(), from)))
	}
	if err != nil {
		return err
	}
	r.file.head, err = marshal(r.header())
	r.file.changed = nil
	r.file.exists = true
	return err
}

// readChanges reads the lines after the whole receipt. Only the last can be
// truncated, because each is on disk before the next is written.
func (r *Receipt) readChanges(lines *bufio.Reader) error {
	var broken bool
	for {
		line, err := lines.ReadBytes('\n')
		if text := bytes.TrimSpace(line); len(text) > 0 {
			if broken {
				return errDamaged
			}
			r.file.stale = true
			var c change
			if json.Unmarshal(text, &c) != nil {
				broken = true
			} else if err := r.apply(c); err != nil {
				return err
			}
		}
		switch {
		case errors.Is(err, io.EOF):
			r.file.cutOff = broken
			return nil
		case err != nil:
			return err
		}
	}
}

func (r *Receipt) apply(c change) error {
	if c.Head != nil {
		if c.Head.Format != format {
			return errDamaged
		}
		h := *c.Head
		r.Server, r.LogID, r.Person, r.Patient, r.Named = h.Server, h.LogID, h.Person, h.Patient, h.Named
		r.Style, r.Options, r.Ordered, r.Amending, r.NotKept = h.Style, h.Options, h.Ordered, h.Amending, h.NotKept
	}
	for _, e := range c.Resources {
		if e.Identity == "" || e.Type == "" || !structure.IsID([]byte(e.ID)) {
			return errors.New("a resource in the receipt has no identity, no type, or no id that FHIR allows")
		}
		r.Put(e)
	}
	return nil
}
