package profile

import (
	"encoding/json"
	"fmt"
	"strings"
)

// structureDefinition is the part of a StructureDefinition that is read.
type structureDefinition struct {
	URL, Version, Name, Type, Kind, Derivation, BaseDefinition string

	Context                []extensionContext
	ContextInvariant       []string
	Snapshot, Differential struct{ Element []elementDefinition }
}

// elementDefinition is the part of an ElementDefinition that is read: rules
// for instances and the identity of the element.
type elementDefinition struct {
	ID, Path, SliceName, Max, ContentReference string

	// nil if absent, as in a differential.
	Min         *int
	MaxLength   *int
	MustSupport *bool
	IsModifier  *bool

	Base       *elementBase
	Type       []elementType
	Binding    *elementBinding
	Slicing    *elementSlicing
	Constraint []elementConstraint
	Extension  []elementExtension

	fixed, pattern     *wanted
	minValue, maxValue *boundary
}

type elementBase struct {
	Min int
	Max string
}

type elementType struct {
	Code                                string
	Profile, TargetProfile, Aggregation []string
	Versioning                          string
	Extension                           []elementExtension
}

type elementBinding struct {
	Strength, ValueSet string
	Extension          []elementExtension
}

type elementSlicing struct {
	Discriminator []struct{ Type, Path string }
	Ordered       *bool
	Rules         string
}

type elementConstraint struct{ Key, Severity, Human, Expression, Source string }

type elementExtension struct {
	URL                                   string
	ValueString, ValueCanonical, ValueURI string
	ValueInteger                          *int
}

// boundary is the minimum or maximum value, with the type in its member name.
type boundary struct {
	kind  string
	value wanted
}

// minimum is the minimum cardinality; absent means 0.
func (e *elementDefinition) minimum() int {
	if e.Min == nil {
		return 0
	}
	return *e.Min
}

// maxPath limits the path and id of an element to several times the longest
// published.
const maxPath = 2000

// UnmarshalJSON decodes the element and its values, whose member names contain
// the type.
func (e *elementDefinition) UnmarshalJSON(text []byte) error {
	type plain elementDefinition
	if err := json.Unmarshal(text, (*plain)(e)); err != nil {
		return err
	}
	if len(e.Path) > maxPath || len(e.ID) > maxPath {
		return fmt.Errorf("the path or id of an element has more than %d characters: %s...", maxPath, e.Path[:min(len(e.Path), 60)])
	}
	var members map[string]json.RawMessage
	if err := json.Unmarshal(text, &members); err != nil {
		return err
	}
	for name, raw := range members { // one at most of each
		if err := e.takeValue(name, raw); err != nil {
			return fmt.Errorf("%s.%s: %w", e.Path, name, err)
		}
	}
	return nil
}

func (e *elementDefinition) takeValue(name string, raw json.RawMessage) error {
	var into *wanted
	taken := false
	switch {
	case strings.HasPrefix(name, "fixed"):
		taken, into = e.fixed != nil, new(wanted)
		e.fixed = into
	case strings.HasPrefix(name, "pattern"):
		taken, into = e.pattern != nil, new(wanted)
		e.pattern = into
	case strings.HasPrefix(name, "minValue"):
		taken, e.minValue = e.minValue != nil, &boundary{kind: name[len("minValue"):]}
		into = &e.minValue.value
	case strings.HasPrefix(name, "maxValue"):
		taken, e.maxValue = e.maxValue != nil, &boundary{kind: name[len("maxValue"):]}
		into = &e.maxValue.value
	default:
		return nil
	}
	if taken {
		return fmt.Errorf("there is a second one")
	}
	w, err := readWanted(raw)
	*into = w
	return err
}
