package deliver

import (
	"fmt"
	"strings"

	"runsheet.example/cmd/runsheet/internal/deliver/server"
)

// Style is how a record is sent.
type Style string

// The styles.
const (
	// Transaction sends each session as a whole or not at all.
	Transaction Style = "transaction"
	// Batch sends many independent resources in one request, referenced ones
	// first.
	Batch Style = "batch"
	// Put sends each resource alone, under our own id.
	Put Style = "put"
	// Single sends each resource alone, on the condition that it does not
	// exist.
	Single Style = "single"
)

// ParseStyle parses a style's name; "auto" and the empty name return no style.
func ParseStyle(name string) (Style, error) {
	switch s := Style(name); s {
	case "", "auto":
		return "", nil
	case Transaction, Batch, Put, Single:
		return s, nil
	default:
		return "", fmt.Errorf("--style %q: expected auto, %s, %s, %s or %s", name, Transaction, Batch, Put, Single)
	}
}

// recordTypes are the types that a record may contain beside the Patient.
var recordTypes = []string{"Device", "Procedure", "Observation", "MedicationAdministration", "Provenance"}

// identified are the types with an identifier.
var identified = recordTypes[:4]

// Proposal is a style with the reason why it suits the server.
type Proposal struct {
	Style  Style
	Reason string
	// Declared reports that the server declares the features of the style.
	Declared bool
}

// Propose selects the style from the server's capabilities. It prefers whole
// sessions to single resources, and our identifiers to our ids, which some
// servers accept and then refuse to others.
func Propose(c server.Capability) Proposal {
	conditional := c.All(identified, func(t server.TypeCapability) bool { return t.ConditionalCreate })
	search := c.All(identified, func(t server.TypeCapability) bool { return t.Search && t.SearchesIdentifier })
	create := c.All(recordTypes, func(t server.TypeCapability) bool { return t.Create })
	put := c.All(recordTypes, func(t server.TypeCapability) bool { return t.UpdateCreate })
	switch {
	case c.Transaction && conditional:
		return Proposal{Transaction, "the server does transactions and conditional creates", true}
	case c.Batch && conditional:
		return Proposal{Batch, "the server does batches and conditional creates, but no transactions", true}
	case conditional && create:
		return Proposal{Single, "the server does conditional creates one by one", true}
	case put:
		return Proposal{Put, "the server takes our own ids, but does no conditional creates", true}
	case create && search:
		return Proposal{Single, "the server creates and searches; each resource is looked for before it is created", true}
	default:
		return Proposal{Style: Single, Reason: "the server does not say that it does conditional creates, takes our ids, or searches by identifier"}
	}
}

// check compares a style chosen by hand with the server's capabilities.
func (s Style) check(c server.Capability) Proposal {
	p := Propose(c)
	switch {
	case p.Style == s:
		return p
	case s == Transaction && !c.Transaction, s == Batch && !c.Batch,
		s == Put && !c.All(recordTypes, func(t server.TypeCapability) bool { return t.UpdateCreate }):
		return Proposal{Style: s, Reason: "chosen by you, though the server does not say that it can; " + strings.ToLower(p.Reason)}
	default:
		return Proposal{Style: s, Reason: "chosen by you", Declared: p.Declared}
	}
}
