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
	head, err := r.readWhole(decoder)
	if err != nil {
		return err
	}
	if head.Format != format {
		return fmt.Errorf("this is not a receipt of format %d", format)
	}
	r.take(head)
	if err := r.readChanges(bufio.NewReader(io.MultiReader(decoder.Buffered(), from))); err != nil {
		return err
	}
	r.file.head, err = marshal(r.header())
	r.file.changed = nil
	r.file.exists = true
	return err
}

func (r *Receipt) take(h header) {
	r.Server, r.LogID, r.Person, r.Patient, r.Named = h.Server, h.LogID, h.Person, h.Patient, h.Named
	r.Style, r.Options, r.Amending = h.Style, h.Options, h.Amending
}

// readWhole reads the object at the start of the file, its resources one at a
// time.
func (r *Receipt) readWhole(decoder *json.Decoder) (header, error) {
	if token, err := decoder.Token(); err != nil || token != json.Delim('{') {
		return header{}, errDamaged
	}
	members := map[string]json.RawMessage{}
	for decoder.More() {
		name, err := decoder.Token()
		if err != nil {
			return header{}, errDamaged
		}
		if name == "resources" {
			if err := r.readEntries(decoder); err != nil {
				return header{}, err
			}
			continue
		}
		var value json.RawMessage
		if err := decoder.Decode(&value); err != nil {
			return header{}, errDamaged
		}
		text, _ := name.(string)
		members[text] = value
	}
	if _, err := decoder.Token(); err != nil {
		return header{}, errDamaged
	}
	var head header
	text, err := json.Marshal(members)
	if err != nil || json.Unmarshal(text, &head) != nil {
		return header{}, errDamaged
	}
	return head, nil
}

func (r *Receipt) readEntries(decoder *json.Decoder) error {
	token, err := decoder.Token()
	if err == nil && token == nil {
		return nil // null
	}
	if err != nil || token != json.Delim('[') {
		return errDamaged
	}
	for decoder.More() {
		var e Entry
		if err := decoder.Decode(&e); err != nil {
			return errDamaged
		}
		if err := r.putRead(e); err != nil {
			return err
		}
	}
	if _, err := decoder.Token(); err != nil {
		return errDamaged
	}
	return nil
}

func (r *Receipt) putRead(e Entry) error {
	if e.Identity == "" || e.Type == "" || !structure.IsID([]byte(e.ID)) {
		return errors.New("a resource in the receipt has no identity, no type, or no id that FHIR allows")
	}
	r.Put(e)
	return nil
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
			r.file.behind = true
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
		r.take(*c.Head)
	}
	for _, e := range c.Resources {
		if err := r.putRead(e); err != nil {
			return err
		}
	}
	return nil
}
