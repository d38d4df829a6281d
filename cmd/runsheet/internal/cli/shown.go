package cli

import (
	"io"
	"sync"
	"unicode/utf8"

	"runsheet.example/validate/issue"
)

// shown writes text for a person, a table or a pipeline, in which control
// characters and those that turn the direction of writing stand as escapes:
// texts of a log or a server must not steer a terminal (see [issue.Escape]).
// Writers cut text anywhere, so the end of a write waits for the next one or for
// flush where it may be a part of a character or of a line end.
type shown struct {
	raw  io.Writer
	mu   sync.Mutex // an interrupted command may still be writing
	held []byte
}

func (s *shown) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	text := append(s.held, p...)
	end := completeTo(text)
	s.held = append([]byte(nil), text[end:]...)
	if _, err := s.raw.Write(issue.Escape(text[:end])); err != nil {
		return 0, err
	}
	return len(p), nil
}

// flush writes what waits.
func (s *shown) flush() {
	s.mu.Lock()
	defer s.mu.Unlock()
	_, _ = s.raw.Write(issue.Escape(s.held)) // the last words; nobody is left to tell
	s.held = nil
}

// completeTo is the length of a text without a carriage return or a part of a
// character at its end.
func completeTo(text []byte) int {
	end := len(text)
	if end > 0 && text[end-1] == '\r' {
		return end - 1
	}
	for back := 1; back < utf8.UTFMax && back <= end; back++ {
		if b := text[end-back]; utf8.RuneStart(b) {
			if !utf8.FullRune(text[end-back:]) {
				return end - back
			}
			break
		}
	}
	return end
}

// raw is what a writer writes to, for bytes that are no text and for what
// escapes its texts itself.
func raw(w io.Writer) io.Writer {
	if s, ok := w.(*shown); ok {
		s.flush()
		return s.raw
	}
	return w
}
