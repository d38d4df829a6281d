package resources

import (
	"sync"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/structure"
)

// slot is the number, from 1, of an element whose node is stored; 0 is none.
type slot uint8

// stored are the elements of a resource whose nodes are stored: the field of
// each, and the names its member may have.
var stored = [...]struct {
	field func(*Resource) *doc.Node
	names []string
}{
	{func(r *Resource) *doc.Node { return &r.typeName }, []string{"resourceType"}},
	{func(r *Resource) *doc.Node { return &r.id }, []string{"id"}},
	{func(r *Resource) *doc.Node { return &r.entries }, []string{"entry"}},
	{func(r *Resource) *doc.Node { return &r.bundleType }, []string{"type"}},
	{func(r *Resource) *doc.Node { return &r.Meta }, []string{"meta"}},
	{func(r *Resource) *doc.Node { return &r.Identifier }, []string{"identifier"}},
	{func(r *Resource) *doc.Node { return &r.Contained }, []string{"contained"}},
	{func(r *Resource) *doc.Node { return &r.Status }, []string{"status"}},
	{func(r *Resource) *doc.Node { return &r.Code }, []string{"code", "medicationCodeableConcept"}},
	{func(r *Resource) *doc.Node { return &r.Category }, []string{"category"}},
	{func(r *Resource) *doc.Node { return &r.Subject }, []string{"subject", "patient"}},
	{func(r *Resource) *doc.Node { return &r.Effective }, []string{"effectiveDateTime", "effectivePeriod", "effectiveInstant", "performedPeriod", "performedDateTime"}},
	{func(r *Resource) *doc.Node { return &r.Value }, []string{"valueQuantity", "valueCodeableConcept", "valueString", "valueInteger", "valueBoolean",
		"valueDateTime", "valuePeriod", "valueRange", "valueRatio", "valueSampledData", "valueTime"}},
	{func(r *Resource) *doc.Node { return &r.Absent }, []string{"dataAbsentReason"}},
	{func(r *Resource) *doc.Node { return &r.Method }, []string{"method"}},
	{func(r *Resource) *doc.Node { return &r.PartOf }, []string{"partOf"}},
	{func(r *Resource) *doc.Node { return &r.DerivedFrom }, []string{"derivedFrom"}},
	{func(r *Resource) *doc.Node { return &r.Component }, []string{"component"}},
	{func(r *Resource) *doc.Node { return &r.Performer }, []string{"performer"}},
	{func(r *Resource) *doc.Node { return &r.Focus }, []string{"focus"}},
	{func(r *Resource) *doc.Node { return &r.Target }, []string{"target"}},
	{func(r *Resource) *doc.Node { return &r.Agent }, []string{"agent"}},
	{func(r *Resource) *doc.Node { return &r.Extensions }, []string{"extension"}},
}

// blank is a resource before its members are read.
var blank = func() Resource {
	r := Resource{
		Node: doc.None, Entry: doc.None, Bundle: Nowhere, Owner: Nowhere, Hub: Nowhere,
		FullURLNode: doc.None, Request: doc.None, RequestMethod: doc.None, RequestURL: doc.None, IfNoneExist: doc.None,
	}
	for i := range stored {
		*stored[i].field(&r) = doc.None
	}
	return r
}()

// slotTables are the slots by the name of a member, and by its element.
var slotTables = sync.OnceValues(func() (byName map[string]slot, byElement *[structure.Elements]slot) {
	byName, byElement = map[string]slot{}, new([structure.Elements]slot)
	for i := range stored {
		for _, name := range stored[i].names {
			byName[name] = slot(i + 1)
		}
	}
	for element := 1; element < structure.Elements; element++ {
		byElement[element] = byName[structure.MemberName(element)]
	}
	return byName, byElement
})

// slotOf returns the slot of a member.
func (r *Index) slotOf(m doc.Node) slot {
	key := r.Doc.Key(m)
	if r.types != nil && len(key) > 0 && key[0] != '_' {
		if element := r.types.Element(m); element > 0 {
			return r.byElement[element]
		}
	}
	return r.byName[string(key)]
}
