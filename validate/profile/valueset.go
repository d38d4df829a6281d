package profile

import (
	"encoding/json"
	"strings"
)

// valueSet is an expansion as far as it can be computed offline: the known
// codes, and the systems that are undecided.
type valueSet struct {
	codes map[string]map[string]bool // by system
	// open are systems of which some codes may be in the value set, "" any.
	open map[string]bool
	// first are examples of codes, for messages.
	first []string
}

// valueSetDefinition is the part of a ValueSet that is read.
type valueSetDefinition struct {
	Compose *struct {
		Include, Exclude []inclusion
	}
	Expansion *struct{ Contains []contained }
}

type inclusion struct {
	System, Version string
	Concept         []struct{ Code string }
	Filter          []struct{ Property, Op, Value string }
	ValueSet        []string
}

type contained struct {
	System, Code string
	Abstract     bool
	Contains     []contained
}

// maxNesting limits code hierarchies and value sets that import others.
const maxNesting = 64

// valueSet returns the expansion of a value set, nil if unknown.
func (l *Library) valueSet(canonical string) *valueSet {
	if v, done := l.sets[canonical]; done {
		return v
	}
	if l.active[canonical] || len(l.active) > maxNesting {
		return nil // a value set that imports itself
	}
	l.active[canonical] = true
	v := l.expand(canonical)
	delete(l.active, canonical)
	l.sets[canonical] = v
	return v
}

func (l *Library) expand(canonical string) *valueSet {
	bare, version, _ := strings.Cut(canonical, "|")
	def, err := l.find("ValueSet", bare, version)
	if err != nil {
		return nil
	}
	var vs valueSetDefinition
	if err := json.Unmarshal(def.text, &vs); err != nil {
		return nil
	}
	v := newValueSet()
	switch {
	case vs.Compose != nil && len(vs.Compose.Include) > 0:
		for i := range vs.Compose.Include {
			v.merge(l.include(&vs.Compose.Include[i]))
		}
		for i := range vs.Compose.Exclude {
			v.exclude(l.include(&vs.Compose.Exclude[i]))
		}
		if len(v.open) > 0 && vs.Expansion != nil {
			v.takeAll(vs.Expansion.Contains, 0)
		}
	case vs.Expansion != nil:
		v.takeAll(vs.Expansion.Contains, 0)
	default:
		return nil
	}
	return v
}

func newValueSet() *valueSet {
	return &valueSet{codes: map[string]map[string]bool{}, open: map[string]bool{}}
}

// include expands one include of a compose.
func (l *Library) include(in *inclusion) *valueSet {
	var v *valueSet
	if in.System != "" {
		v = l.ofSystem(in)
	}
	for _, url := range in.ValueSet {
		imported := l.valueSet(url)
		if imported == nil {
			imported = newValueSet()
			imported.open[""] = true
		}
		if v == nil {
			v = newValueSet()
			v.merge(imported)
		} else {
			v = v.intersection(imported)
		}
	}
	if v == nil {
		v = newValueSet()
		v.open[""] = true
	}
	return v
}

func (l *Library) ofSystem(in *inclusion) *valueSet {
	v := newValueSet()
	if len(in.Concept) > 0 {
		for _, c := range in.Concept {
			v.take(in.System, c.Code)
		}
		return v
	}
	system := l.codeSystem(in.System)
	if system == nil {
		v.open[in.System] = true
		return v
	}
	codes, ok := system.filtered(in)
	if !ok {
		v.open[in.System] = true
		return v
	}
	for _, code := range codes {
		v.take(in.System, code)
	}
	return v
}

func (v *valueSet) take(system, code string) {
	const few = 16
	if v.codes[system] == nil {
		v.codes[system] = map[string]bool{}
	}
	if len(v.first) <= few && !v.codes[system][code] {
		v.first = append(v.first, code)
	}
	v.codes[system][code] = true
}

func (v *valueSet) takeAll(all []contained, depth int) {
	if depth > maxNesting {
		return
	}
	for i := range all {
		if all[i].Code != "" && !all[i].Abstract {
			v.take(all[i].System, all[i].Code)
		}
		v.takeAll(all[i].Contains, depth+1)
	}
}

func (v *valueSet) merge(w *valueSet) {
	for system, codes := range w.codes {
		if v.codes[system] == nil {
			v.codes[system] = map[string]bool{}
		}
		for code := range codes {
			v.codes[system][code] = true
		}
	}
	for system := range w.open {
		v.open[system] = true
	}
	v.first = append(v.first, w.first...)
}

func (v *valueSet) exclude(w *valueSet) {
	for system, codes := range w.codes {
		for code := range codes {
			delete(v.codes[system], code)
		}
	}
	// A code that an exclude may remove is no longer certain.
	for system := range w.open {
		if len(v.codes[system]) > 0 || system == "" {
			v.open[system] = true
			delete(v.codes, system)
		}
	}
	v.first = nil
}

func (v *valueSet) intersection(w *valueSet) *valueSet {
	out := newValueSet()
	for system, codes := range v.codes {
		for code := range codes {
			if in, sure := w.has(system, code); in {
				out.take(system, code)
			} else if !sure {
				out.open[system] = true
			}
		}
	}
	for system := range v.open {
		out.open[system] = true
	}
	out.first = nil
	return out
}

// has reports whether the value set contains a code of a system, and whether
// the answer is certain.
func (v *valueSet) has(system, code string) (in, sure bool) {
	if v.codes[system][code] {
		return true, true
	}
	return false, !v.open[system] && !v.open[""]
}

// hasCode reports whether the value set contains a code of any system, because
// an element of type code has no system.
func (v *valueSet) hasCode(code string) (in, sure bool) {
	for _, codes := range v.codes {
		if codes[code] {
			return true, true
		}
	}
	return false, len(v.open) == 0
}

// some lists the codes of a small value set.
func (v *valueSet) some() string {
	const few = 16
	if len(v.first) == 0 || len(v.first) > few || len(v.open) > 0 {
		return ""
	}
	return ": " + strings.Join(v.first, ", ")
}
