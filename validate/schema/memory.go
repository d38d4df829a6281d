package schema

import "runsheet.example/validate/doc"

// memory remembers values that a leaf takes. It is bounded: when it has
// maxValues, they become the old ones, and the old ones before are forgotten.
type memory struct{ young, old map[leafValue]struct{} }

// leafValue is a value as the engine is shown it: of a number only its kind.
type leafValue struct {
	leaf *leaf
	kind doc.Kind
	text string
}

const (
	maxValues = 1 << 13
	// maxText leaves out what hardly ever repeats, such as narratives.
	maxText = 128
)

func (m *memory) has(l *leaf, kind doc.Kind, text []byte) bool {
	if len(text) > maxText {
		return false
	}
	if _, known := m.young[leafValue{l, kind, string(text)}]; known {
		return true
	}
	_, known := m.old[leafValue{l, kind, string(text)}]
	if known {
		m.keep(l, kind, text)
	}
	return known
}

func (m *memory) keep(l *leaf, kind doc.Kind, text []byte) {
	if len(text) > maxText {
		return
	}
	if len(m.young) >= maxValues || m.young == nil {
		m.young, m.old = map[leafValue]struct{}{}, m.young
	}
	m.young[leafValue{l, kind, string(text)}] = struct{}{}
}
