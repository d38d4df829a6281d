package resources

import (
	"sync"

	"runsheet.example/validate/doc"
)

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
		algorithm: doc.None, FullURLNode: doc.None, Request: doc.None, RequestMethod: doc.None, RequestURL: doc.None, IfNoneExist: doc.None,
	}
	for i := range stored {
		*stored[i].field(&r) = doc.None
	}
	return r
}()

// slot is the field of a member name.
type slot struct {
	name  string
	field func(*Resource) *doc.Node
}

// slots is a hash table of the names, of which it has room for some four times
// as many.
const slots = 256

var slotTable = sync.OnceValue(func() *[slots]slot {
	table := new([slots]slot)
	for _, s := range stored {
		for _, name := range s.names {
			at := doc.Hash([]byte(name)) % slots
			for table[at].field != nil {
				at = (at + 1) % slots
			}
			table[at] = slot{name, s.field}
		}
	}
	return table
})

// slotOf returns the field of a member, nil if its node is not stored.
func slotOf(d *doc.Doc, m doc.Node) func(*Resource) *doc.Node {
	table, key := slotTable(), d.Key(m)
	for at := d.KeyHash(m) % slots; ; at = (at + 1) % slots {
		if s := &table[at]; s.field == nil || s.name == string(key) {
			return s.field
		}
	}
}
