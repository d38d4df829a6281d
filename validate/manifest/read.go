package manifest

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
)

// Part is a member of the manifest, or an element of one that is a list.
type Part struct {
	Member string
	// Element is set for an element of a list.
	Element bool
	// Value is the JSON value; nil for a list, whose elements follow.
	Value json.RawMessage
	// At is the position of the value in bytes.
	At int64
}

// Scan calls take for the members of a manifest in their order, and for the
// elements of those that are lists, so that it does not hold a large manifest in
// memory. It returns an error of take, of reading, or a [SyntaxError].
func Scan(r io.Reader, take func(Part) error) error {
	s := scanner{decoder: json.NewDecoder(bufio.NewReaderSize(r, 1<<16)), take: take}
	if err := s.object(); err != nil {
		return err
	}
	if _, err := s.decoder.Token(); !errors.Is(err, io.EOF) {
		return s.fault(errors.New("there is text after the object"))
	}
	return nil
}

// SyntaxError says where the bytes are not the JSON object they should be.
type SyntaxError struct {
	Offset int64
	Reason string
}

// Error gives the reason and the place.
func (e *SyntaxError) Error() string { return fmt.Sprintf("%s (at byte %d)", e.Reason, e.Offset) }

type scanner struct {
	decoder *json.Decoder
	take    func(Part) error
}

func (s *scanner) fault(err error) error {
	var syntax *json.SyntaxError
	if errors.As(err, &syntax) || errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		err = errors.New("it is not JSON")
	}
	return &SyntaxError{Offset: s.decoder.InputOffset(), Reason: err.Error()}
}

func (s *scanner) object() error {
	if err := s.expect('{'); err != nil {
		return err
	}
	seen := map[string]bool{}
	for s.decoder.More() {
		token, err := s.decoder.Token()
		if err != nil {
			return s.fault(err)
		}
		name := token.(string) // in an object the decoder gives nothing else here
		if seen[name] {
			return s.fault(fmt.Errorf("the member %q stands there twice", name))
		}
		seen[name] = true
		if err := s.member(name); err != nil {
			return err
		}
	}
	return s.expect('}')
}

// lists are the members that are lists.
var lists = map[string]bool{"bundles": true, "leftOut": true, "expected": true}

func (s *scanner) member(name string) error {
	if !lists[name] {
		return s.value(Part{Member: name})
	}
	if err := s.expect('['); err != nil {
		return err
	}
	if err := s.take(Part{Member: name, At: s.decoder.InputOffset() - 1}); err != nil {
		return err
	}
	for s.decoder.More() {
		if err := s.value(Part{Member: name, Element: true}); err != nil {
			return err
		}
	}
	return s.expect(']')
}

func (s *scanner) value(p Part) error {
	if err := s.decoder.Decode(&p.Value); err != nil {
		return s.fault(err)
	}
	p.At = s.decoder.InputOffset() - int64(len(p.Value))
	return s.take(p)
}

func (s *scanner) expect(wanted json.Delim) error {
	token, err := s.decoder.Token()
	if err == nil && token != wanted {
		err = fmt.Errorf("there is no %s", wanted)
	}
	if err != nil {
		return s.fault(err)
	}
	return nil
}
