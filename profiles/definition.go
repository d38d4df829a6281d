package profiles

import (
	"encoding/json"
	"fmt"
	"slices"
	"sort"
	"strings"
)

// structure is what a page needs of a StructureDefinition.
type structure struct {
	ID, URL, Version, Title, Description, Purpose, Type, BaseDefinition string

	Snapshot, Differential struct{ Element []element }
}

// element is an ElementDefinition. Fixed and pattern values are read from the
// raw members, because their names carry the type.
type element struct {
	ID, Path, SliceName, Short, Max string

	Min         int
	MustSupport bool
	Type        []struct {
		Code                   string
		Profile, TargetProfile []string
	}
	Binding *struct{ Strength, ValueSet string }
	Slicing *struct {
		Discriminator []struct{ Type, Path string }
		Rules         string
	}
	Constraint []constraint
	required   string // fixed or pattern value, in words
}

type constraint struct{ Key, Severity, Human, Expression string }

// UnmarshalJSON reads the element and its fixed or pattern value.
func (e *element) UnmarshalJSON(text []byte) error {
	type plain element
	if err := json.Unmarshal(text, (*plain)(e)); err != nil {
		return err
	}
	var members map[string]json.RawMessage
	if err := json.Unmarshal(text, &members); err != nil {
		return err
	}
	var names []string
	for name := range members {
		if strings.HasPrefix(name, "fixed") || strings.HasPrefix(name, "pattern") {
			names = append(names, name)
		}
	}
	sort.Strings(names)
	for _, name := range names {
		value, err := inWords(members[name])
		if err != nil {
			return fmt.Errorf("%s.%s: %w", e.ID, name, err)
		}
		e.required = value
	}
	return nil
}

// inWords writes a fixed or pattern value for a person: a coding as
// system#code, anything else as it is.
func inWords(text json.RawMessage) (string, error) {
	var value any
	if err := json.Unmarshal(text, &value); err != nil {
		return "", err
	}
	switch v := value.(type) {
	case string:
		return v, nil
	case map[string]any:
		if codings, ok := v["coding"].([]any); ok {
			var words []string
			for _, c := range codings {
				coding, _ := c.(map[string]any)
				words = append(words, codingWords(coding))
			}
			return strings.Join(words, " and "), nil
		}
		return codingWords(v), nil
	default:
		return string(text), nil
	}
}

func codingWords(coding map[string]any) string {
	return fmt.Sprintf("%v#%v", coding["system"], coding["code"])
}

// shown are the elements a page lists: those this profile says something
// about, and those a sender must fill, without the parts of data types nobody
// touched.
func (s structure) shown() []element {
	said := map[string]bool{}
	for _, e := range s.Differential.Element {
		said[e.ID] = true
	}
	var out []element
	for _, e := range s.Snapshot.Element[1:] {
		if said[e.ID] || e.Min > 0 && e.required != "" || e.Min > 0 && strings.Count(e.Path, ".") == 1 {
			out = append(out, e)
		}
	}
	return out
}

// own are the invariants of ours, in the order of their keys.
func (s structure) own() []constraint {
	var out []constraint
	for _, e := range s.Snapshot.Element {
		for _, c := range e.Constraint {
			if strings.HasPrefix(c.Key, "rs-") {
				out = append(out, c)
			}
		}
	}
	slices.SortFunc(out, func(a, b constraint) int { return strings.Compare(a.Key, b.Key) })
	return out
}

// name is the element's path below the resource, with the slice.
func (e element) name() string {
	_, rest, _ := strings.Cut(e.ID, ".")
	return rest
}

func (e element) cardinality() string { return fmt.Sprintf("%d..%s", e.Min, e.Max) }

// types lists the data types, references with what they may point to.
func (e element) types() string {
	var out []string
	for _, t := range e.Type {
		name := lastSegment(t.Code)
		var targets []string
		for _, target := range slices.Concat(t.Profile, t.TargetProfile) {
			targets = append(targets, lastSegment(target))
		}
		if len(targets) > 0 {
			name += "(" + strings.Join(targets, ", ") + ")"
		}
		out = append(out, name)
	}
	return strings.Join(out, ", ")
}

// rule says what the value must be: fixed, from a value set, or sliced.
func (e element) rule() string {
	var out []string
	if e.required != "" {
		out = append(out, "`"+e.required+"`")
	}
	if e.Binding != nil && e.Binding.ValueSet != "" && e.Binding.Strength != "example" {
		out = append(out, e.Binding.Strength+" "+lastSegment(e.Binding.ValueSet))
	}
	if e.Slicing != nil && len(e.Slicing.Discriminator) > 0 && e.SliceName == "" {
		var by []string
		for _, d := range e.Slicing.Discriminator {
			by = append(by, d.Type+" of "+d.Path)
		}
		out = append(out, "sliced by "+strings.Join(by, " and ")+", "+e.Slicing.Rules)
	}
	return strings.Join(out, "; ")
}

func lastSegment(url string) string {
	url, _, _ = strings.Cut(url, "|")
	return url[strings.LastIndexAny(url, "/#")+1:]
}
