package invariant

import (
	"strings"
	"sync"

	"runsheet.example/validate/profile/fhirpath"
	"runsheet.example/validate/structure"
)

// publishedInvariant is one invariant of FHIR R4 4.0.1 as HL7 publishes it.
type publishedInvariant struct {
	on         structure.Type // type of the objects it is evaluated on
	path, key  string
	isWarning  bool
	expression string
}

// instead holds the expressions that replace published ones that are wrong or
// contradict the text of the invariant.
var instead = map[string]string{
	// The code is noshow.
	"app-4": "cancelationReason.exists() implies (status = 'noshow' or status = 'cancelled')",
	// The text is about problem list items; the published expression compares
	// a concept with a string, which is never equal.
	"con-3": "clinicalStatus.exists() or verificationStatus.coding.where(system = 'http://terminology.hl7.org/CodeSystem/condition-ver-status' and code = 'entered-in-error').exists() or " +
		"category.coding.where(system = 'http://terminology.hl7.org/CodeSystem/condition-category' and code = 'problem-list-item').empty()",
	// select(...).exists() is true for any type at all.
	"eld-11": "binding.empty() or type.empty() or type.where(code in ('code' | 'Coding' | 'CodeableConcept' | 'Quantity' | 'string' | 'uri')).exists()",
	// The whole path must match, not some part of it.
	"eld-19": `path.matchesFull('[^\\s.,:;\'"/|?!@#$%&*()\\[\\]{}]{1,64}(\\.[^\\s.,:;\'"/|?!@#$%&*()\\[\\]{}]{1,64}(\\[x\\])?(:[^\\s.]+)?)*')`,
	"eld-20": `path.matchesFull('[A-Za-z][A-Za-z0-9]*(\\.[a-z][A-Za-z0-9]*(\\[x\\])?)*')`,
	// The text is about the code; the published expression compares whole
	// codings, displays included.
	"obs-7": "value.empty() or component.all(code.coding.where(code.exists()).select(system & '|' & code).intersect(%resource.code.coding.select(system & '|' & code)).empty())",
	// The text says "more than one".
	"que-12": "enableWhen.count() > 1 implies enableBehavior.exists()",
	// Without repeats an item does not repeat; the published expression then
	// comes out empty.
	"que-13": "initial.count() <= 1 or (repeats.exists() and repeats)",
	// sdf-14 asks for the ids.
	"sdf-16": "snapshot.element.id.isDistinct()",
	"sdf-17": "differential.element.id.isDistinct()",
	// The published expression cannot be evaluated for more than one when.
	"tim-9": "offset.empty() or (when.exists() and when.where($this in ('C' | 'CM' | 'CD' | 'CV')).empty())",
	// What does not say that it is abstract is not; the published expression
	// then comes out empty.
	"vsd-9": "code.exists() or (abstract.exists() and abstract)",
}

// computerName replaces the invariants whose keys end in -0, about the names of
// conformance resources: the whole name must match.
const computerName = "name.matchesFull('[A-Z][A-Za-z0-9_]{0,254}')"

// text is the expression that is evaluated.
func (p *publishedInvariant) text() string {
	if strings.HasSuffix(p.key, "-0") {
		return computerName
	}
	if own, ok := instead[p.key]; ok {
		return own
	}
	return p.expression
}

// rule is the id in the rules table. The standard uses a few keys twice, which
// begin with inv.
func (p *publishedInvariant) rule() string {
	if strings.HasPrefix(p.key, "inv-") {
		root, _, _ := strings.Cut(p.path, ".")
		return "inv-" + p.key + "-" + strings.ToLower(root)
	}
	return "inv-" + p.key
}

// isElsewhere reports the invariants of every element and of narratives, which
// the walk through the document and the structure layer evaluate.
func (p *publishedInvariant) isElsewhere() bool {
	return p.on == structure.Element || p.on == structure.Narrative
}

// Entry is one invariant of FHIR R4 4.0.1.
type Entry struct {
	Path string // of the element it is defined on
	Key  string // in the standard; a few keys are used for two invariants
	// Rule is the id of the rule in the rules table.
	Rule string
	// IsWarning is set if the standard's severity is warning, not error.
	IsWarning bool
}

// Table returns every invariant of FHIR R4 4.0.1.
func Table() []Entry {
	entries := make([]Entry, len(published))
	for i := range published {
		p := &published[i]
		entries[i] = Entry{p.path, p.key, p.rule(), p.isWarning}
	}
	return entries
}

var known sync.Map // []rule by type

// rulesOf returns the invariants of a type.
func rulesOf(t structure.Type) []rule {
	if rules, ok := known.Load(t); ok {
		return rules.([]rule)
	}
	var rules []rule
	switch t {
	case structure.Age, structure.Count, structure.Distance, structure.Duration:
		rules = append(rules, rulesOf(structure.Quantity)...)
	case structure.SimpleQuantity:
		rules = append(rules, rulesOf(structure.Quantity)...)
		rules = append(rules, rule{id: "inv-sqty-1", holds: lacks("comparator"), decides: true})
	}
	for i := range published {
		if p := &published[i]; p.on == t && !p.isElsewhere() {
			rules = append(rules, p.asRule())
		}
	}
	known.Store(t, rules)
	return rules
}

func (p *publishedInvariant) asRule() rule {
	r := byHand[p.key]
	r.id = p.rule()
	if !r.decides {
		r.expression = sync.OnceValues(func() (*fhirpath.Expression, error) { return fhirpath.Compile(p.text()) })
	}
	return r
}
