package profile

import (
	"encoding/json"
	"slices"
	"strings"
)

// codeSystem is a code system; if complete, it has all codes.
type codeSystem struct {
	complete      bool
	caseSensitive bool
	displays      map[string]string // by code; in lower case where case does not matter
	codes         []string          // in order of definition
	parents       map[string][]string
	valued        map[string]map[string][]string // property, value, codes
}

type concept struct {
	Code     string
	Display  string
	Concept  []concept
	Property []struct {
		Code, ValueCode string
	}
}

// Found is the result of looking up a code.
type Found uint8

const (
	NotKnown      Found = iota // the code system or all of its codes are unknown
	InSystem                   // the code system has the code
	NotInFragment              // the code system is incomplete and its known part lacks the code
	NotInSystem                // the complete code system lacks the code
)

// Code looks up a code and returns its display, "" if unknown.
func (l *Library) Code(system, code string) (display string, found Found) {
	s := l.anyCodeSystem(system)
	if s == nil {
		return "", NotKnown
	}
	if !s.caseSensitive {
		code = strings.ToLower(code)
	}
	display, ok := s.displays[code]
	switch {
	case ok:
		return display, InSystem
	case s.complete:
		return "", NotInSystem
	default:
		return "", NotInFragment
	}
}

// codeSystem returns the code system of a URL, nil if not all of its codes are
// known.
func (l *Library) codeSystem(canonical string) *codeSystem {
	if s := l.anyCodeSystem(canonical); s != nil && s.complete {
		return s
	}
	return nil
}

// anyCodeSystem returns the code system of a URL, nil if none of its codes is
// known.
func (l *Library) anyCodeSystem(canonical string) *codeSystem {
	if s, done := l.systems[canonical]; done {
		return s
	}
	s := l.readCodeSystem(canonical)
	l.systems[canonical] = s
	return s
}

func (l *Library) readCodeSystem(canonical string) *codeSystem {
	bare, version, _ := strings.Cut(canonical, "|")
	def, err := l.find("CodeSystem", bare, version)
	if err != nil {
		return nil
	}
	var cs struct {
		Content       string
		CaseSensitive bool
		Concept       []concept
	}
	if err := json.Unmarshal(def.text, &cs); err != nil || cs.Content != "complete" && cs.Content != "fragment" || len(cs.Concept) == 0 {
		return nil
	}
	s := &codeSystem{
		complete: cs.Content == "complete", caseSensitive: cs.CaseSensitive, displays: map[string]string{},
		parents: map[string][]string{}, valued: map[string]map[string][]string{},
	}
	s.take(cs.Concept, "", 0)
	return s
}

func (s *codeSystem) take(all []concept, parent string, depth int) {
	if depth > maxNesting {
		return
	}
	for i := range all {
		c := &all[i]
		s.codes = append(s.codes, c.Code)
		if key := c.Code; s.caseSensitive {
			s.displays[key] = c.Display
		} else {
			s.displays[strings.ToLower(key)] = c.Display
		}
		if parent != "" {
			s.parents[c.Code] = append(s.parents[c.Code], parent)
		}
		for _, p := range c.Property {
			if p.ValueCode == "" {
				continue
			}
			if p.Code == "subsumedBy" || p.Code == "parent" {
				s.parents[c.Code] = append(s.parents[c.Code], p.ValueCode)
			}
			if s.valued[p.Code] == nil {
				s.valued[p.Code] = map[string][]string{}
			}
			s.valued[p.Code][p.ValueCode] = append(s.valued[p.Code][p.ValueCode], c.Code)
		}
		s.take(c.Concept, c.Code, depth+1)
	}
}

// filtered returns the codes that pass all filters; ok is false for an
// unsupported filter.
func (s *codeSystem) filtered(in *inclusion) (codes []string, ok bool) {
	codes = s.codes
	for _, f := range in.Filter {
		passes, ok := s.filter(f.Property, f.Op, f.Value)
		if !ok {
			return nil, false
		}
		var kept []string
		for _, code := range codes {
			if passes(code) {
				kept = append(kept, code)
			}
		}
		codes = kept
	}
	return codes, true
}

func (s *codeSystem) filter(property, op, value string) (func(string) bool, bool) {
	if property == "concept" || property == "code" {
		below := func(code string) bool { return s.isBelow(code, value, map[string]bool{}) }
		switch op {
		case "is-a":
			return func(code string) bool { return code == value || below(code) }, true
		case "descendent-of":
			return func(code string) bool { return code != value && below(code) }, true
		case "is-not-a":
			return func(code string) bool { return code != value && !below(code) }, true
		case "=":
			return func(code string) bool { return code == value }, true
		case "in":
			list := strings.Split(value, ",")
			return func(code string) bool { return slices.Contains(list, code) }, true
		}
		return nil, false
	}
	if codes, known := s.valued[property]; known && op == "=" {
		return func(code string) bool { return slices.Contains(codes[value], code) }, true
	}
	return nil, false
}

// isBelow reports whether a code is a direct or indirect descendant of an
// ancestor.
func (s *codeSystem) isBelow(code, ancestor string, seen map[string]bool) bool {
	for _, parent := range s.parents[code] {
		if parent == ancestor {
			return true
		}
		if !seen[parent] {
			seen[parent] = true
			if s.isBelow(parent, ancestor, seen) {
				return true
			}
		}
	}
	return false
}
