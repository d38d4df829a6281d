package resources

import (
	"sync"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/structure"
)

// slot is an element of a resource whose node is stored.
type slot uint8

const (
	noSlot slot = iota
	slotType
	slotID
	slotEntry
	slotBundleType
	slotMeta
	slotIdentifier
	slotContained
	slotStatus
	slotCode
	slotCategory
	slotSubject
	slotEffective
	slotValue
	slotAbsent
	slotMethod
	slotPartOf
	slotDerivedFrom
	slotComponent
	slotPerformer
	slotFocus
	slotTarget
	slotAgent
	slotExtensions
)

// slotNames are the member names of each slot.
var slotNames = [...]struct {
	slot  slot
	names []string
}{
	{slotType, []string{"resourceType"}},
	{slotID, []string{"id"}},
	{slotEntry, []string{"entry"}},
	{slotBundleType, []string{"type"}},
	{slotMeta, []string{"meta"}},
	{slotIdentifier, []string{"identifier"}},
	{slotContained, []string{"contained"}},
	{slotStatus, []string{"status"}},
	{slotCode, []string{"code", "medicationCodeableConcept"}},
	{slotCategory, []string{"category"}},
	{slotSubject, []string{"subject", "patient"}},
	{slotEffective, []string{"effectiveDateTime", "effectivePeriod", "effectiveInstant", "performedPeriod", "performedDateTime"}},
	{slotValue, []string{"valueQuantity", "valueCodeableConcept", "valueString", "valueInteger", "valueBoolean",
		"valueDateTime", "valuePeriod", "valueRange", "valueRatio", "valueSampledData", "valueTime"}},
	{slotAbsent, []string{"dataAbsentReason"}},
	{slotMethod, []string{"method"}},
	{slotPartOf, []string{"partOf"}},
	{slotDerivedFrom, []string{"derivedFrom"}},
	{slotComponent, []string{"component"}},
	{slotPerformer, []string{"performer"}},
	{slotFocus, []string{"focus"}},
	{slotTarget, []string{"target"}},
	{slotAgent, []string{"agent"}},
	{slotExtensions, []string{"extension"}},
}

// slotTable maps the hash of a member name to its slot.
type slotTable [1 << 10]struct {
	name string
	slot slot
}

var slots = sync.OnceValue(func() *slotTable {
	t := new(slotTable)
	for _, s := range slotNames {
		for _, name := range s.names {
			at := doc.Hash([]byte(name))
			for t[at].slot != noSlot {
				at = (at + 1) % uint32(len(t))
			}
			t[at].name, t[at].slot = name, s.slot
		}
	}
	return t
})

// slotsByElement maps an element number to its slot.
var slotsByElement = sync.OnceValue(func() *[structure.Elements]slot {
	table := new([structure.Elements]slot)
	for element := 1; element < len(table); element++ {
		name := []byte(structure.MemberName(element))
		table[element] = slots().of(name, doc.Hash(name))
	}
	return table
})

// slotOf returns the slot of a member.
func (r *Index) slotOf(m doc.Node) slot {
	key := r.Doc.Key(m)
	if r.types != nil && len(key) > 0 && key[0] != '_' {
		if element := r.types.Element(m); element > 0 {
			return r.byElement[element]
		}
	}
	return r.slots.of(key, r.Doc.KeyHash(m))
}

func (t *slotTable) of(name []byte, hash uint32) slot {
	for {
		row := &t[hash%uint32(len(t))]
		if row.slot == noSlot || row.name == string(name) {
			return row.slot
		}
		hash++
	}
}

// slot returns the field that stores an element.
func (res *Resource) slot(s slot) *doc.Node {
	switch s {
	case slotMeta:
		return &res.Meta
	case slotIdentifier:
		return &res.Identifier
	case slotContained:
		return &res.Contained
	case slotStatus:
		return &res.Status
	case slotCode:
		return &res.Code
	case slotCategory:
		return &res.Category
	case slotSubject:
		return &res.Subject
	case slotEffective:
		return &res.Effective
	case slotValue:
		return &res.Value
	case slotAbsent:
		return &res.Absent
	case slotMethod:
		return &res.Method
	case slotPartOf:
		return &res.PartOf
	case slotDerivedFrom:
		return &res.DerivedFrom
	case slotComponent:
		return &res.Component
	case slotPerformer:
		return &res.Performer
	case slotFocus:
		return &res.Focus
	case slotTarget:
		return &res.Target
	case slotAgent:
		return &res.Agent
	default:
		return &res.Extensions
	}
}
