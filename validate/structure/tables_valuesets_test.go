package structure_test

import (
	"fmt"
	"slices"
	"strings"
)

// codeSet is one value set that an element is bound to with strength
// required. Entries are "system|code" where the element is a concept.
type codeSet struct {
	url   string
	codes []string
	pairs []pair
}

type pair struct{ system, code string }

// open are the required value sets whose code systems lie outside FHIR; the
// tables only say that they are not checked by list.
var open = map[string]bool{
	"http://hl7.org/fhir/ValueSet/mimetypes":  true,
	"http://hl7.org/fhir/ValueSet/ucum-units": true,
	"http://hl7.org/fhir/ValueSet/currencies": true,
	"http://loinc.org/vs/LL379-9":             true,
	languages:                                 true,
}

const languages = "http://hl7.org/fhir/ValueSet/all-languages"

// mustBeFrom returns the value set that codes must be from: that of a
// required binding, or the set that a preferred binding to languages names as
// the largest.
func (b *binding) mustBeFrom() string {
	if b == nil {
		return ""
	}
	for _, x := range b.Extension {
		if strings.HasSuffix(x.URL, "/elementdefinition-maxValueSet") && x.ValueCanonical == languages {
			return languages
		}
	}
	if b.Strength != "required" {
		return ""
	}
	url, _, _ := strings.Cut(b.ValueSet, "|")
	return url
}

// expand notes the value set and returns its canonical URL.
func (m *model) expand(url string, d definitions) (string, error) {
	if _, done := m.setIndex[url]; done {
		return url, nil
	}
	s := codeSet{url: url}
	if !open[url] {
		if err := s.fill(d.values[url], d); err != nil {
			return "", err
		}
		if len(s.pairs) == 0 {
			return "", fmt.Errorf("value set %s is empty", url)
		}
	}
	for _, p := range s.pairs {
		s.codes = append(s.codes, p.code)
	}
	slices.Sort(s.codes)
	s.codes = slices.Compact(s.codes)
	m.setIndex[url] = len(m.sets)
	m.sets = append(m.sets, s)
	return url, nil
}

func (s *codeSet) fill(v valueSet, d definitions) error {
	if len(v.Compose.Exclude) > 0 {
		return fmt.Errorf("value set %s excludes codes", s.url)
	}
	for _, include := range v.Compose.Include {
		concepts := include.Concept
		if len(include.Filter) > 0 || len(include.ValueSet) > 0 {
			return fmt.Errorf("value set %s has a filter or an import", s.url)
		}
		if len(concepts) == 0 {
			cs := d.codes[include.System]
			if cs.Content != "complete" {
				return fmt.Errorf("value set %s: code system %s is %q", s.url, include.System, cs.Content)
			}
			concepts = cs.Concept
		}
		s.add(include.System, concepts)
	}
	return nil
}

func (s *codeSet) add(system string, concepts []concept) {
	for _, c := range concepts {
		s.pairs = append(s.pairs, pair{system, c.Code})
		s.add(system, c.Concept)
	}
}
