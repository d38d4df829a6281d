package profile

import (
	"cmp"
	"encoding/json"
	"slices"
	"strings"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/resources"
	"runsheet.example/validate/structure"
)

// Sample is one resource that is held against profiles.
type Sample struct {
	Name string
	JSON []byte
}

// Fit is how resources fit one profile.
type Fit struct {
	URL  string `json:"url"`
	Type string `json:"type"`
	// Verdict is one of the verdicts below.
	Verdict Verdict `json:"verdict"`
	// Fits are the names of the resources that fit, Fails the number of others
	// of the kind that the profile is for, by code and category.
	Fits  []string `json:"fits,omitempty"`
	Fails int      `json:"fails,omitempty"`
	// Nearest is the resource with the fewest errors among those that do not
	// fit, and Errors are these.
	Nearest string          `json:"nearest,omitempty"`
	Errors  []issue.Finding `json:"errors,omitempty"`
	// NotChecked says what could not be checked, or why nothing could.
	NotChecked []string `json:"notChecked,omitempty"`

	codes []string // that the profile fixes, of any coding of the code
}

// Verdict sums a [Fit] up.
type Verdict string

const (
	FitsAll     Verdict = "fits"           // every resource of its kind fits, as far as it could be checked
	FitsSome    Verdict = "fits some"      // of those of its kind
	FitsNone    Verdict = "does not fit"   // none of those of its kind
	OtherKind   Verdict = "other code"     // no resource has the code that it asks for
	CannotCheck Verdict = "cannot be told" // the profile cannot be used
)

// FitAll holds resources against every profile of some packages that is for a
// resource of their types, in the order of the packages and URLs. Profiles of
// other types are only counted. packages are searched for what profiles are based
// on, too.
func FitAll(packages []*Package, samples []Sample) (fits []Fit, others int) {
	lib := NewLibrary(packages...)
	types := map[string]bool{}
	for _, s := range samples {
		types[typeOf(s.JSON)] = true
	}
	var checkers []*Checker
	for _, p := range packages {
		for _, fit := range p.resourceProfiles() {
			switch err := lib.Check(fit.URL); {
			case !types[fit.Type]:
				others++
				continue
			case err != nil:
				fit.Verdict, fit.NotChecked = CannotCheck, []string{err.Error()}
			}
			fits = append(fits, fit)
			checkers = append(checkers, New(lib, Options{Profiles: []string{fit.URL}}))
		}
	}
	for _, s := range samples {
		one := newSubject(s)
		for i := range fits {
			if fits[i].Type == one.typ && fits[i].Verdict != CannotCheck {
				fits[i].add(s.Name, one.codes, one.errors(checkers[i]), checkers[i].Notes())
			}
		}
	}
	for i := range fits {
		fits[i].conclude()
	}
	return fits, others
}

// resourceProfiles are the profiles of a package on types of resources, by URL.
func (p *Package) resourceProfiles() (out []Fit) {
	for url, versions := range p.definitions {
		var d struct {
			Kind, Derivation, Type string
			Abstract               bool
			Snapshot, Differential struct{ Element []codeElement }
		}
		last := versions[len(versions)-1]
		if last.kind != "StructureDefinition" || json.Unmarshal(last.text, &d) != nil {
			continue
		}
		if d.Kind == "resource" && d.Derivation == "constraint" && !d.Abstract {
			fit := Fit{URL: url, Type: d.Type}
			for _, e := range append(d.Snapshot.Element, d.Differential.Element...) {
				if e.Path == d.Type+".code" || strings.HasPrefix(e.Path, d.Type+".code.") {
					fit.codes = append(fit.codes, e.codes()...)
				}
			}
			out = append(out, fit)
		}
	}
	slices.SortFunc(out, func(a, b Fit) int { return cmp.Compare(a.URL, b.URL) })
	return out
}

// codeElement is an element of a profile as far as it fixes a code.
type codeElement struct {
	Path, FixedCode                              string
	PatternCoding                                struct{ Code string }
	PatternCodeableConcept, FixedCodeableConcept struct{ Coding []struct{ Code string } }
}

func (e codeElement) codes() (out []string) {
	for _, c := range append(e.PatternCodeableConcept.Coding, e.FixedCodeableConcept.Coding...) {
		out = append(out, c.Code)
	}
	return slices.DeleteFunc(append(out, e.FixedCode, e.PatternCoding.Code), func(code string) bool { return code == "" })
}

func typeOf(text []byte) string {
	var r struct{ ResourceType string }
	_ = json.Unmarshal(text, &r) // no type: no profile is for it
	return r.ResourceType
}

// subject is a sample as the profile layer reads it.
type subject struct {
	typ       string
	codes     []string
	doc       doc.Doc
	structure structure.Checker
	index     resources.Index
}

func newSubject(s Sample) *subject {
	out := &subject{typ: typeOf(s.JSON)}
	var r struct {
		Code struct{ Coding []struct{ Code string } }
	}
	_ = json.Unmarshal(s.JSON, &r) // a type without code has none
	for _, c := range r.Code.Coding {
		out.codes = append(out.codes, c.Code)
	}
	out.doc.Parse(s.JSON, s.Name)
	out.structure.Check(&out.doc, func(issue.Finding) {}) // a sample is valid R4
	out.index.Read(&out.doc)
	return out
}

func (s *subject) errors(c *Checker) (out []issue.Finding) {
	c.Check(&s.structure, &s.index, func(f issue.Finding) {
		if f.Severity == issue.Error {
			out = append(out, f)
		}
	})
	return out
}

// add counts a resource.
func (f *Fit) add(name string, codes []string, errors []issue.Finding, notes []string) {
	for _, note := range notes {
		if !slices.Contains(f.NotChecked, note) {
			f.NotChecked = append(f.NotChecked, note)
		}
	}
	ofKind := !slices.ContainsFunc(errors, func(e issue.Finding) bool { return isKind(f.Type, e.Expression) })
	if len(f.codes) > 0 {
		ofKind = slices.ContainsFunc(codes, func(code string) bool { return slices.Contains(f.codes, code) })
	}
	switch {
	case len(errors) == 0:
		f.Fits = append(f.Fits, name)
		return
	case ofKind:
		f.Fails++
	}
	// A resource of the kind is nearer than any other.
	if was := f.Fails > 1 || f.Fails == 1 && !ofKind; f.Nearest == "" || ofKind && !was || ofKind == was && len(errors) < len(f.Errors) {
		f.Nearest, f.Errors = name, errors
	}
}

// isKind reports whether an expression is about what kind of thing a resource
// is: its code or category.
func isKind(typ, expression string) bool {
	for _, element := range []string{".code", ".category"} {
		if rest, ok := strings.CutPrefix(expression, typ+element); ok && (rest == "" || rest[0] == '.' || rest[0] == '[') {
			return true
		}
	}
	return false
}

func (f *Fit) conclude() {
	switch {
	case f.Verdict == CannotCheck:
	case len(f.Fits) > 0 && f.Fails == 0:
		f.Verdict, f.Nearest, f.Errors = FitsAll, "", nil
	case len(f.Fits) > 0:
		f.Verdict = FitsSome
	case f.Fails > 0:
		f.Verdict = FitsNone
	default:
		f.Verdict = OtherKind
	}
}
