package resources

import (
	"bytes"
	"sync"

	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
)

// codeRows maps each code to its rows of the code table.
var codeRows = sync.OnceValue(func() map[string][]*profiles.Measurement {
	rows := map[string][]*profiles.Measurement{}
	table := profiles.Measurements()
	for i := range table {
		for _, c := range table[i].Codings {
			key := c.System + "|" + c.Code
			rows[key] = append(rows[key], &table[i])
		}
	}
	return rows
})

// inputRows maps each code to its stated inputs.
var inputRows = sync.OnceValue(func() map[string]*profiles.Input {
	rows := map[string]*profiles.Input{}
	for _, in := range profiles.Inputs() {
		rows[in.Coding.System+"|"+in.Coding.Code] = &in
	}
	return rows
})

// maxKey is longer than any system and code of the table; a longer key costs
// an allocation.
const maxKey = 128

// CodeKey appends "system|code" of a Coding to room.
func (r *Index) CodeKey(room []byte, coding doc.Node) []byte {
	room = append(room, r.Doc.Str(r.Doc.Get(coding, "system"))...)
	room = append(room, '|')
	return append(room, r.Doc.Str(r.Doc.Get(coding, "code"))...)
}

// ourKey is CodeKey, of the code of ours that a receiver's code stands for.
func (r *Index) ourKey(room []byte, coding doc.Node) []byte {
	if source, ok := r.replaced(coding); ok {
		return append(room, source.String()...)
	}
	return r.CodeKey(room, coding)
}

// replaced returns the only code of ours that a receiver's code stands for.
func (r *Index) replaced(coding doc.Node) (source profiles.Coding, ok bool) {
	if r.Codes == nil {
		return source, false
	}
	d := r.Doc
	sources := r.Codes.Sources(profiles.Coding{System: string(d.Str(d.Get(coding, "system"))), Code: string(d.Str(d.Get(coding, "code")))})
	if len(sources) != 1 {
		return source, false
	}
	return sources[0], true
}

// InputOf returns the stated input that a component's code identifies.
func (r *Index) InputOf(code doc.Node) (*profiles.Input, bool) {
	var room [maxKey]byte
	for c := r.Doc.FirstChild(r.Doc.Get(code, "coding")); c != doc.None; c = r.Doc.Next(c) {
		if in, ok := inputRows()[string(r.ourKey(room[:0], c))]; ok {
			return in, true
		}
	}
	return nil, false
}

// HasCoding reports whether a CodeableConcept contains a code.
func (r *Index) HasCoding(concept doc.Node, coding profiles.Coding) bool {
	d := r.Doc
	for c := d.FirstChild(d.Get(concept, "coding")); c != doc.None; c = d.Next(c) {
		if r.isCoding(c, coding) {
			return true
		}
	}
	return false
}

func (r *Index) isCoding(n doc.Node, coding profiles.Coding) bool {
	d := r.Doc
	if d.Is(d.Get(n, "code"), coding.Code) && d.Is(d.Get(n, "system"), coding.System) {
		return true
	}
	source, ok := r.replaced(n)
	return ok && source.System == coding.System && source.Code == coding.Code
}

// IsComputed reports whether the method of an Observation is one of our
// algorithms, and returns its Coding.
func (r *Index) IsComputed(res *Resource) (coding doc.Node, ok bool) {
	return res.algorithm, res.algorithm != doc.None
}

func (r *Index) algorithm(method doc.Node) doc.Node {
	d := r.Doc
	for c := d.FirstChild(d.Get(method, "coding")); c != doc.None; c = d.Next(c) {
		if d.Is(d.Get(c, "system"), profiles.Algorithm) {
			return c
		}
	}
	return doc.None
}

// IsLaboratory reports whether an Observation is a laboratory result, by its
// row or, for a test without a code, by its category.
func (r *Index) IsLaboratory(res *Resource) bool {
	if res.Row != nil {
		return res.Row.Category == profiles.Laboratory
	}
	for concept := r.Doc.FirstChild(res.Category); concept != doc.None; concept = r.Doc.Next(concept) {
		if r.HasCoding(concept, profiles.Coding{System: profiles.ObservationCategory, Code: string(profiles.Laboratory)}) {
			return true
		}
	}
	return false
}

// phase returns the phase given by the categories.
func (r *Index) phase(category doc.Node) profiles.Phase {
	d := r.Doc
	for concept := d.FirstChild(category); concept != doc.None; concept = d.Next(concept) {
		for c := d.FirstChild(d.Get(concept, "coding")); c != doc.None; c = d.Next(c) {
			if !d.Is(d.Get(c, "system"), profiles.SNOMED) {
				continue
			}
			for _, p := range [...]profiles.Phase{profiles.PhasePre, profiles.PhaseIntra, profiles.PhasePost} {
				if coding, _ := p.Coding(); d.Is(d.Get(c, "code"), coding.Code) {
					return p
				}
			}
		}
	}
	return profiles.PhaseAny
}

// phaseOf is phase with a cache of the latest categories.
func (r *Index) phaseOf(category doc.Node) profiles.Phase {
	if raw := r.Doc.Raw(category); r.lastCategory == nil || !bytes.Equal(raw, r.lastCategory) {
		r.lastCategory, r.lastPhase = raw, r.phase(category)
	}
	return r.lastPhase
}

// facts is the result of classifying one code as written.
type facts struct {
	isPressure bool
	rows       []candidate
}

// candidate is a row that matches one of the codings, with its score.
type candidate struct {
	row   *profiles.Measurement
	score int
}

// A session uses few measurement codes, and every session repeats them. The
// cache holds this many; longer codes and any beyond the limit are looked up
// each time.
const (
	mostCodes    = 1 << 10
	longestCode  = 1 << 10
	codingsTaken = 64
)

// factsOf returns the facts of a CodeableConcept.
func (r *Index) factsOf(code doc.Node) facts {
	raw := r.Doc.Raw(code)
	if known, ok := r.codes[string(raw)]; ok {
		return known
	}
	known := r.readFacts(code)
	if len(raw) <= longestCode && len(r.codes) < mostCodes {
		r.codes[string(raw)] = known
	}
	return known
}

func (r *Index) readFacts(code doc.Node) (known facts) {
	d := r.Doc
	var room [maxKey]byte
	for c := d.FirstChild(d.Get(code, "coding")); c != doc.None && d.Index(c) < codingsTaken; c = d.Next(c) {
		known.isPressure = known.isPressure || r.isCoding(c, profiles.PressurePanel)
		for _, row := range codeRows()[string(r.ourKey(room[:0], c))] {
			known.rows = append(known.rows, candidate{row, r.score(row, code)})
		}
	}
	return known
}

// classify finds the code table row of an Observation.
func (r *Index) classify(res *Resource) {
	known := r.factsOf(res.Code)
	res.IsPressure = known.isPressure
	if len(known.rows) == 0 {
		return
	}
	best, ties := 0, 0
	unit := r.Doc.Str(r.Doc.Get(res.Value, "code"))
	for _, c := range known.rows {
		score := c.score + agreement(c.row, res.Phase, unit)
		switch {
		case res.Row == nil || score > best:
			res.Row, best, ties = c.row, score, 1
		case score == best && c.row.Field != res.Row.Field:
			ties++
		}
	}
	res.Exact = ties == 1 && best >= completeRow
}

// Weights of a candidate row. A row reaches completeRow if all its codes are
// present and its phase does not contradict.
const (
	completeRow    = 16
	phaseAgrees    = 4
	phaseDisagrees = -20
	unitAgrees     = 1
)

// score is the score of a row by the codes.
func (r *Index) score(row *profiles.Measurement, code doc.Node) int {
	score := completeRow
	if len(row.Codings) > 1 { // of one if found by that one
		for _, c := range row.Codings {
			if !r.HasCoding(code, c) {
				score -= completeRow / 2
			}
		}
	}
	// A row with a code specific to the phase outranks one without.
	return score + len(row.Codings) - 1
}

// agreement is the score of a row by phase and unit.
func agreement(row *profiles.Measurement, phase profiles.Phase, unit []byte) (score int) {
	switch {
	case row.Phase == phase:
		score += phaseAgrees
	case row.Phase != profiles.PhaseAny && phase != profiles.PhaseAny:
		score += phaseDisagrees
	}
	for _, u := range row.Units {
		if u == string(unit) {
			score += unitAgrees
			break
		}
	}
	return score
}
