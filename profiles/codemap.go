package profiles

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// CodeMap maps our codes (LOINC and [Local]) to those of a receiver.
//
// It is read from a FHIR R4 ConceptMap (JSON) or from CSV in UTF-8 with a
// heading row and the columns code, target and, left out or not, display: our
// code and the receiver's, each as SYSTEM|CODE, and the receiver's display. Our
// system may be left out. The separator is a comma or a semicolon; a row
// without a target maps nothing; the columns name, unit and version, which the
// empty map has, may stay.
//
// Only a target that is equal or equivalent is used: any other says more or
// less than our code. The methods accept nil, a map without codes.
type CodeMap struct {
	// Name is the name of the file, SHA256 the digest of its content, in
	// lower-case hexadecimal.
	Name, SHA256 string
	// Inexact is the number of targets that are not used because they mean
	// something else than our code.
	Inexact int
	targets map[Coding]Coding // keys without display
	sources map[Coding][]Coding
}

// mapping is one target of a map as written.
type mapping struct {
	at              string // its place, for errors
	source, target  Coding
	version         string // of the source's system, "" if not stated
	exact, hasRules bool
}

// ReadCodeMap reads a map; name is what errors call it. The error has a line
// for each fault: a source code that no record holds, a second target for one
// source, a map for another version of our code system, or a target that is
// none.
func ReadCodeMap(data []byte, name string) (*CodeMap, error) {
	sum := sha256.Sum256(data)
	m := &CodeMap{Name: name, SHA256: hex.EncodeToString(sum[:]), targets: map[Coding]Coding{}, sources: map[Coding][]Coding{}}
	text := bytes.TrimPrefix(data, []byte("\ufeff"))
	read := readCodeTable
	if first := bytes.TrimLeftFunc(text, unicode.IsSpace); bytes.HasPrefix(first, []byte("{")) {
		read = readConceptMap
	}
	if !utf8.Valid(text) {
		return nil, fmt.Errorf("%s: expected UTF-8", name)
	}
	list, faults := read(text)
	known := map[Coding]bool{}
	for _, c := range MappedCodes() {
		known[c.bare()] = true
	}
	first := map[Coding]string{} // place of the first target
	for _, p := range list {
		if err := p.fault(known); err != nil {
			faults = append(faults, err)
			continue
		}
		if !p.exact {
			if p.target.Code != "" {
				m.Inexact++
			}
			continue
		}
		if before, twice := first[p.source]; twice {
			faults = append(faults, fmt.Errorf("%s: %s has a target already, at %s: expected one that is equal or equivalent", p.at, p.source, before))
			continue
		}
		first[p.source] = p.at
		m.targets[p.source] = p.target
		m.sources[p.target.bare()] = append(m.sources[p.target.bare()], p.source)
	}
	if len(faults) == 0 && len(m.targets) == 0 {
		faults = append(faults, errors.New("no code has a target that is equal or equivalent: fill in the map"))
	}
	for i, err := range faults {
		faults[i] = fmt.Errorf("%s, %w", name, err)
	}
	return m, errors.Join(faults...)
}

// fault is what is wrong with a mapping by itself.
func (p mapping) fault(known map[Coding]bool) error {
	target := p.target.bare()
	switch {
	case p.source.System == Local && p.version != "" && p.version != LocalVersion:
		return fmt.Errorf("%s: the map is for version %q of our code system: expected %q", p.at, p.version, LocalVersion)
	case !known[p.source]:
		return fmt.Errorf("%s: source code %q: no record holds it; 'runsheet profiles show %s' lists the codes", p.at, strings.TrimPrefix(p.source.String(), "|"), EmptyMap)
	case !p.exact:
		return nil
	case p.hasRules:
		return fmt.Errorf("%s: a target that depends on other elements is not understood", p.at)
	case !strings.ContainsRune(target.System, ':') || strings.ContainsFunc(target.System, unicode.IsSpace):
		return fmt.Errorf("%s: target %q: expected SYSTEM|CODE, with the URI of the receiver's code system", p.at, target)
	case target.Code == "" || strings.Join(strings.Fields(target.Code), " ") != target.Code:
		return fmt.Errorf("%s: target %q: expected a code, without spaces around it", p.at, target)
	case known[target] || target.System == Local:
		return fmt.Errorf("%s: target %q is a code of ours, with another meaning", p.at, target)
	}
	return nil
}

// EmptyMap is the name of the map to fill in, in the package.
const EmptyMap = "runsheet-codes-to-receiver"

// Len is the number of codes that the map has a target for.
func (m *CodeMap) Len() int { return len(m.targets) }

// Target returns the receiver's code for one of ours.
func (m *CodeMap) Target(source Coding) (target Coding, ok bool) {
	if m != nil {
		target, ok = m.targets[source.bare()]
	}
	return target, ok
}

// Sources returns the codes of ours that a code of the receiver stands for.
func (m *CodeMap) Sources(target Coding) []Coding {
	if m == nil {
		return nil
	}
	return m.sources[target.bare()]
}

// Display returns the display of a code of the receiver; it is empty if the
// map states none.
func (m *CodeMap) Display(target Coding) string {
	for _, source := range m.Sources(target) {
		if d := m.targets[source].Display; d != "" {
			return d
		}
	}
	return ""
}

// CheckOnly reports a local code that the receiver's code cannot replace,
// because that stands for another of ours too.
func (m *CodeMap) CheckOnly() error {
	var faults []string
	for target, sources := range m.sources {
		if len(sources) > 1 && slices.ContainsFunc(sources, func(c Coding) bool { return c.System == Local }) {
			faults = append(faults, fmt.Sprintf("%s stands for %s", target, sources))
		}
	}
	if len(faults) == 0 {
		return nil
	}
	slices.Sort(faults)
	return fmt.Errorf("%s: local codes can be replaced only by a code that stands for none other: %s", m.Name, strings.Join(faults, "; "))
}
