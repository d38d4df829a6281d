package deliver

import (
	"fmt"
	"strings"

	"runsheet.example/cmd/runsheet/internal/deliver/server"
)

// Style is the form in which a record is sent.
type Style string

// The styles.
const (
	// Transaction sends each session whole or not at all.
	Transaction Style = "transaction"
	// Batch sends many resources in one request, each for itself, what others
	// refer to first.
	Batch Style = "batch"
	// Put sends each resource by itself, under our own id.
	Put Style = "put"
	// Single sends each resource by itself, on the condition that there is
	// none yet.
	Single Style = "single"
)

// ParseStyle reads a style's name; "auto" and the empty name give no style.
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

// recordTypes are the types a record may hold beside the Patient.
var recordTypes = []string{"Device", "Procedure", "Observation", "MedicationAdministration", "Provenance"}

// identified are those that carry an identifier.
var identified = recordTypes[:4]

// Proposal is a style with why it fits the server.
type Proposal struct {
	Style  Style
	Reason string
	// Declared says that the server declares what the style needs.
	Declared bool
}

// Propose picks the style from what the server says it can do. It prefers
// whole sessions to single resources, and our identifiers to our ids, which
// some servers take and then refuse to others.
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

// check compares a style chosen by hand with what the server says.
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
