package fhirmap

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"unicode"

	"runsheet.example/fhirmap/r4"
	"runsheet.example/profiles"
)

// adapt changes a finished resource as the receiver asked: codes, tags and
// displays.
func (o Options) adapt(resource any) {
	switch r := resource.(type) {
	case *r4.Observation:
		o.code(&r.Code)
		for i := range r.Component {
			o.code(&r.Component[i].Code)
		}
	case *r4.DiagnosticReport:
		o.code(&r.Code)
	}
	if tags, _ := tags(o.Tags); len(tags) > 0 { // checked by Check
		if meta := metaOf(resource); meta != nil {
			meta.Tag = append(meta.Tag, tags...)
		}
	}
	if o.Display == NoDisplay {
		withoutDisplays(reflect.ValueOf(resource))
	}
}

// code adds the receiver's codings behind ours, each once. On request they
// replace local codings; LOINC stays, since the vital signs profiles of R4
// require it and it is how anyone else knows the value.
func (o Options) code(concept *r4.CodeableConcept) {
	var kept, theirs []r4.Coding
	for _, c := range concept.Coding {
		source := profiles.Coding{System: *c.System, Code: *c.Code}
		target, ok := o.Map.Target(source)
		if !ok || !o.CodesOnly || source.System != profiles.Local {
			kept = append(kept, c)
		}
		if ok && !slices.ContainsFunc(theirs, func(t r4.Coding) bool { return *t.System == target.System && *t.Code == target.Code }) {
			theirs = append(theirs, coding(target))
		}
	}
	concept.Coding = append(kept, theirs...)
}

// metaOf returns the meta of a resource and adds an empty one if it has none;
// nil for a type that the mapper writes without.
func metaOf(resource any) *r4.Meta {
	var at **r4.Meta
	switch r := resource.(type) {
	case *r4.Procedure:
		at = &r.Meta
	case *r4.Observation:
		at = &r.Meta
	case *r4.DiagnosticReport:
		at = &r.Meta
	case *r4.DocumentReference:
		at = &r.Meta
	case *r4.MedicationAdministration:
		at = &r.Meta
	case *r4.Device:
		at = &r.Meta
	case *r4.Provenance:
		at = &r.Meta
	case *r4.Patient:
		at = &r.Meta
	default:
		return nil
	}
	if *at == nil {
		*at = &r4.Meta{}
	}
	return *at
}

// withoutDisplays removes the display of every Coding. CodeableConcept.text,
// units and displays of references stay.
func withoutDisplays(v reflect.Value) {
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() {
			withoutDisplays(v.Elem())
		}
	case reflect.Slice:
		for i := range v.Len() {
			withoutDisplays(v.Index(i))
		}
	case reflect.Struct:
		if c, ok := v.Addr().Interface().(*r4.Coding); ok {
			c.Display = nil
			return
		}
		for i := range v.NumField() {
			withoutDisplays(v.Field(i))
		}
	}
}

// AddTag adds a tag, as SYSTEM|CODE, to tags as [manifest.Options] has them.
func AddTag(to, tag string) (string, error) {
	if tag == "" || strings.ContainsFunc(tag, unicode.IsSpace) {
		return to, errTag(tag)
	}
	list := append(strings.Fields(to), tag)
	slices.Sort(list)
	to = strings.Join(slices.Compact(list), " ")
	_, err := tags(to)
	return to, err
}

func errTag(tag string) error {
	return fmt.Errorf("tag %q: expected SYSTEM|CODE, with the URI of a code system and a code of it, without spaces", tag)
}

// tags parses the tags of options.
func tags(text string) ([]r4.Coding, error) {
	var out []r4.Coding
	for _, tag := range strings.Fields(text) {
		system, code, ok := strings.Cut(tag, "|")
		if !ok || !strings.ContainsRune(system, ':') || code == "" || strings.ContainsRune(code, '|') {
			return nil, errTag(tag)
		}
		out = append(out, r4.Coding{System: &system, Code: &code})
	}
	return out, nil
}
