package issue

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"slices"
	"sync"
)

// Rule is one entry of the rules table: what is checked, why, on whose word,
// and how to mend it. The table is data; `runsheet rules` and its page are
// printed from it.
type Rule struct {
	// ID is permanent and public: the text of a rule may change, its id may
	// not, and an id is never used again for something else. Ids are kebab
	// case and begin with the layer: "log-", "about-", "map-", "clin-", "month-",
	// "json-", "fhir-", "r4-", "inv-", "profile-", "ref-", "bundle-", "unit-", "term-", "calc-",
	// "prov-", "accept-", "audit-".
	ID string `json:"id"`
	// Layer is the group the rule is printed in.
	Layer Layer `json:"layer"`
	// Severity is the usual severity of a finding of this rule.
	Severity Severity `json:"severity"`
	// IssueType is the FHIR R4 issue-type code for OperationOutcome.
	IssueType string `json:"issueType"`
	// What is the requirement, in one sentence of plain words.
	What string `json:"what"`
	// Why is what goes wrong if it is not met.
	Why string `json:"why"`
	// Source is the standard, paper or "common practice" of the rule.
	Source string `json:"source"`
	// Mend is what the user can do about it.
	Mend string `json:"mend"`
}

// Layer names a group of rules.
type Layer string

// The layers, in the order a month passes through them.
const (
	LayerLog       Layer = "log"       // reading the log
	LayerClinical  Layer = "clinical"  // limits and arithmetic
	LayerMonth     Layer = "month"     // completeness and duplicates
	LayerJSON      Layer = "json"      // bytes and JSON grammar
	LayerStructure Layer = "structure" // R4 elements, types, bindings
	LayerInvariant Layer = "invariant" // R4 invariants
	LayerProfile   Layer = "profile"   // what profiles ask beyond R4
	LayerReference Layer = "reference" // references and Bundles
	LayerUnit      Layer = "unit"      // UCUM
	LayerTerm      Layer = "term"      // codes and displays
	LayerComputed  Layer = "computed"  // recomputation of derived values
	LayerAccept    Layer = "accept"    // the list of accepted findings
	LayerAudit     Layer = "audit"     // the records of a unit against its roster
)

// Rules returns every rule, ordered by layer and id. The slice is the
// caller's own.
func Rules() []Rule { return slices.Clone(table().ordered) }

// Lookup finds a rule by its id.
func Lookup(id string) (Rule, bool) {
	r, ok := table().byID[id]
	return r, ok
}

type ruleTable struct {
	ordered []Rule
	byID    map[string]Rule
}

// table is built on first use: the parts live in one file per layer so that
// each can be read and reviewed alone.
var table = sync.OnceValue(func() ruleTable {
	t := ruleTable{byID: map[string]Rule{}}
	for _, part := range [][]Rule{
		logRules, workbookRules, mapRules, clinicalRules, recordClinicalRules, monthRules, recordMonthRules,
		jsonRules, recordDocumentRules, structureRules, schemaRules, invariantRules(), profileRules,
		referenceRules, unitRules, recordUnitRules, termRules, computedRules, acceptRules, auditRules,
	} {
		for _, r := range part {
			if _, twice := t.byID[r.ID]; twice {
				panic("issue: rule " + r.ID + " stands twice in the table")
			}
			t.byID[r.ID] = r
		}
		t.ordered = append(t.ordered, part...)
	}
	return t
})

// RulesDigest identifies the rules table: the SHA-256 of its JSON, so that a
// record of a check says which rules it was made with.
func RulesDigest() string {
	text, err := json.Marshal(table().ordered)
	if err != nil {
		panic("issue: the rules table cannot be written: " + err.Error())
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}
