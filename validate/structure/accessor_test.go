package structure_test

import (
	"fmt"
	"slices"
	"testing"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/structure"
)

func ExampleChecker_Check() {
	const observation = `{"resourceType":"Observation","status":"done","code":{"text":"pulse"},"valueInteger":1.5}`
	var d doc.Doc
	for _, f := range d.Parse([]byte(observation), "pulse.json") {
		fmt.Println(f.Rule, f.Expression)
	}
	new(structure.Checker).Check(&d, func(f issue.Finding) {
		fmt.Println(f.Rule, f.Expression, f.Value)
	})
	// Output:
	// r4-binding Observation.status done
	// r4-integer Observation.value 1.5
}

// What the checker notes while it walks, for the packages that look further.
func TestAccessors(t *testing.T) {
	const text = `{"resourceType":"Bundle","entry":[{"resource":{"resourceType":"Observation",
		"_status":{"extension":[]},"subject":{"reference":"#p"},"focus":[{"reference":"x"}],
		"_valueString":{"id":"x"},"component":[{"valueQuantity":{"value":1}}],"note":[],"foo":{"bar":1},
		"contained":[{"resourceType":"Patient","id":"p"}],"effectiveDateTime":"2026","_effectiveDateTime":{"id":"y"}}}]}`
	var d doc.Doc
	d.Parse([]byte(text), "")
	var c structure.Checker
	c.Check(&d, func(issue.Finding) {})
	obs := d.Get(d.Item(d.Get(d.Root(), "entry"), 0), "resource")
	component := d.Item(d.Get(obs, "component"), 0)

	for _, x := range []struct {
		node    doc.Node
		typ     structure.Type
		element string
	}{
		{d.Root(), structure.Bundle, ""},
		{obs, structure.Observation, "resource"},
		{d.Get(obs, "_status"), structure.Element, "status"},
		{d.Get(obs, "subject"), structure.Reference, "subject"},
		{d.Get(d.Get(obs, "subject"), "reference"), structure.String, "reference"},
		{d.Get(obs, "focus"), 0, "focus"},
		{d.Item(d.Get(obs, "focus"), 0), structure.Reference, "focus"},
		{d.Get(component, "valueQuantity"), structure.Quantity, "value"},
		{d.Get(d.Get(component, "valueQuantity"), "value"), structure.Decimal, "value"},
		{component, structure.ObservationComponent, "component"},
		{d.Get(obs, "foo"), 0, ""},
		{doc.None, 0, ""},
	} {
		if got := c.TypeOf(x.node); got != x.typ {
			t.Errorf("%s: type %s, want %s", d.Path(x.node), got, x.typ)
		}
		if got := c.ElementName(x.node); got != x.element {
			t.Errorf("%s: element %q, want %q", d.Path(x.node), got, x.element)
		}
	}

	for _, x := range []struct {
		element string
		want    doc.Node
	}{
		{"value", d.Get(obs, "_valueString")},
		{"effective", d.Get(obs, "effectiveDateTime")},
		{"status", d.Get(obs, "_status")},
		{"note", doc.None},
		{"foo", doc.None},
		{"valueString", doc.None},
		{"performer", doc.None},
	} {
		if got := c.Child(obs, x.element); got != x.want {
			t.Errorf("child %s: got %d, want %d", x.element, got, x.want)
		}
	}
	if c.Child(doc.None, "value") != doc.None || c.Child(d.Get(obs, "note"), "value") != doc.None {
		t.Error("what is no object has no elements")
	}
	if got := c.Resources(); len(got) != 3 || got[1] != obs || c.TypeOf(got[2]) != structure.Patient {
		t.Errorf("resources %v", got)
	}
}

func TestObjects(t *testing.T) {
	var d doc.Doc
	d.Parse([]byte(`{"resourceType":"Patient","_active":{"id":"x"},"name":[{"text":"y"}],"foo":{}}`), "")
	var c structure.Checker
	c.Check(&d, func(issue.Finding) {})
	var got []string
	for _, n := range c.Objects() {
		got = append(got, c.TypeOf(n).String())
	}
	if !slices.Equal(got, []string{"Patient", "Element", "HumanName"}) {
		t.Errorf("got %v", got)
	}
}

func TestAllowedTargets(t *testing.T) {
	var d doc.Doc
	d.Parse([]byte(`{"resourceType":"Observation","subject":{"display":"x"},"focus":[{"display":"x"}],"valueInteger":1}`), "")
	var c structure.Checker
	c.Check(&d, func(issue.Finding) {})
	want := []structure.Type{structure.Device, structure.Group, structure.Location, structure.Patient}
	if got := c.AllowedTargets(d.Get(d.Root(), "subject")); !slices.Equal(got, want) {
		t.Errorf("subject: %v", got)
	}
	if got := c.AllowedTargets(d.Item(d.Get(d.Root(), "focus"), 0)); got != nil {
		t.Errorf("focus may point to anything, got %v", got)
	}
	if got := c.AllowedTargets(d.Get(d.Root(), "valueInteger")); got != nil {
		t.Errorf("an integer points to nothing, got %v", got)
	}
}

// A document that could not be read to its end lacks what may well be there.
func TestBrokenDocumentsAreLeftAlone(t *testing.T) {
	found := check(`{"resourceType":"Observation","status":"final",`)
	if len(found) != 1 || found[0].Rule != "json-syntax" {
		t.Errorf("%+v", found)
	}
}

func TestCheckAllocatesNothingWhenReused(t *testing.T) {
	var d doc.Doc
	d.Parse([]byte(extension("Uuid", `"urn:uuid:98ebcb82-034f-4a54-aedd-74d0cfc15a04"`)), "")
	var c structure.Checker
	add := func(f issue.Finding) { t.Errorf("%+v", f) }
	c.Check(&d, add)
	if n := testing.AllocsPerRun(20, func() { c.Check(&d, add) }); n != 0 {
		t.Errorf("%v allocations", n)
	}
}
