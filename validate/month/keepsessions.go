package month

import (
	"encoding/binary"

	"runsheet.example/validate/spill"
)

// keepSession stores a session of a file: in memory, or, above the limit, in
// the scratch file together with the earlier ones.
func (m *Month) keepSession(s *session, from int32) {
	one := *s
	one.seq, one.at.file = m.seq, from
	switch {
	case m.spilled:
		m.spill(&one)
	case len(m.sessions) < m.limits.sessions:
		m.sessions = append(m.sessions, one)
	default:
		m.spilled = true
		for i := range m.sessions {
			m.spill(&m.sessions[i])
		}
		clear(m.sessions)
		m.sessions = m.sessions[:0]
		m.spill(&one)
	}
}

func (m *Month) spill(s *session) {
	if m.failed == nil {
		m.fail(m.laterSessions.Add(s.patient, s.encode()))
	}
}

// sessionSize is the size of a session in the scratch file, without its texts.
const sessionSize = 6*8 + 4*4

// encode returns a session in the format of the scratch file.
func (s *session) encode() []byte {
	order := binary.LittleEndian
	b := make([]byte, 0, sessionSize+len(s.at.identity)+len(s.at.expression))
	for _, n := range [...]uint64{s.patient, s.seq, uint64(s.span.Start), uint64(s.span.End), uint64(s.day), s.flags()} {
		b = order.AppendUint64(b, n)
	}
	for _, n := range [...]int32{s.at.file, s.at.line, s.at.column, int32(len(s.at.identity))} {
		b = order.AppendUint32(b, uint32(n))
	}
	return append(append(b, s.at.identity...), s.at.expression...)
}

const (
	flagDone = 1 << iota
	flagCut
	flagStart
	flagEnd
)

func (s *session) flags() (flags uint64) {
	for _, one := range [...]struct {
		is   bool
		flag uint64
	}{{s.done, flagDone}, {s.cut, flagCut}, {s.span.HasStart, flagStart}, {s.span.HasEnd, flagEnd}} {
		if one.is {
			flags |= one.flag
		}
	}
	return flags
}

func decodeSession(b []byte) session {
	order := binary.LittleEndian
	number := func(i int) uint64 { return order.Uint64(b[8*i:]) }
	small := func(i int) int32 { return int32(order.Uint32(b[6*8+4*i:])) }
	texts, flags := b[sessionSize:], number(5)
	s := session{patient: number(0), seq: number(1), day: int64(number(4)), done: flags&flagDone != 0, cut: flags&flagCut != 0}
	s.span.Start, s.span.End = int64(number(2)), int64(number(3))
	s.span.HasStart, s.span.HasEnd = flags&flagStart != 0, flags&flagEnd != 0
	identity := small(3)
	s.at = place{file: small(0), line: small(1), column: small(2), identity: string(texts[:identity]), expression: string(texts[identity:])}
	return s
}

// compareGroup compares the sessions of a group of patients, as many patients
// at a time as fit in memory.
func (m *Month) compareGroup(group int, expected Expected, found *late) {
	passes := uint64(m.laterSessions.Len(group)/m.limits.sessions) + 1
	for pass := range passes {
		m.sessions = m.sessions[:0]
		err := m.laterSessions.Each(group, func(b []byte) {
			switch key := binary.LittleEndian.Uint64(b); {
			case key/spill.Groups%passes != pass:
			case len(m.sessions) >= m.limits.ofPatient:
				m.tooMany = true
			default:
				m.sessions = append(m.sessions, decodeSession(b))
			}
		})
		m.fail(err)
		m.comparePatients(m.sessions, expected, found)
	}
	clear(m.sessions[:cap(m.sessions)])
}
