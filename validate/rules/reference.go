package rules

import (
	"bytes"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/resources"
	"runsheet.example/validate/structure"
)

// referenceChecker checks references and Bundle entries.
type referenceChecker struct {
	checked
	types *structure.Checker
	// line: the document is one line of an NDJSON file, where a urn:uuid
	// reference cannot resolve.
	line bool

	byIdentifier      int // subjects with an identifier only
	firstByIdentifier doc.Node
	conditions        map[uint64]int
	otherPatients     []doc.Node // references reported as another patient
	about             []int      // per resource, see sessions
	// person is the patient in the reference being compared, own the subject of
	// the session with index ownOf.
	person, own person
	ownOf       int
}

// check reports faults in references and Bundle entries. types must have
// checked the same document.
func (c *referenceChecker) check(rec *resources.Index, types *structure.Checker, line bool, add func(issue.Finding)) {
	if rec.Root() == nil {
		return
	}
	c.checked, c.types, c.line = checked{rec, rec.Doc, add}, types, line
	c.byIdentifier, c.otherPatients, c.ownOf = 0, c.otherPatients[:0], resources.Nowhere
	rec.ReadReferences(types.References())
	c.references()
	for i := range rec.Resources {
		res := &rec.Resources[i]
		c.subject(res)
		if res.Entry != doc.None {
			c.entry(i, res)
		}
		if res.Type == "Bundle" {
			c.bundle(i, res)
		}
	}
	c.identifierOnly()
}

// report adds a finding about a node.
func (c *referenceChecker) report(n doc.Node, rule, details string, value []byte) {
	c.complain(n, rule, issue.T(details), string(value), issue.Text{})
}

// references checks every literal reference.
func (c *referenceChecker) references() {
	for i := range c.rec.References {
		if ref := &c.rec.References[i]; c.d.Kind(ref.Literal) == doc.String {
			c.reference(ref)
		}
	}
}

func (c *referenceChecker) reference(ref *resources.Reference) {
	n, text := ref.Literal, ref.Text
	if ref.Outcome != resources.Found && !isUUIDForm(text) { // compared with fullUrl if the target is found
		c.report(n, "ref-uuid-form", "the UUID of the reference is not in the lower-case form", text)
	}
	switch ref.Outcome {
	case resources.Missing:
		c.missing(n, text, ref.From)
	case resources.Conditional:
		if !c.inTransaction(ref.From) {
			c.report(n, "ref-conditional-outside-transaction", "a search stands as reference outside a transaction", text)
		}
	case resources.Found:
		c.internal(ref)
		c.version(n, text, ref.Target)
	case resources.Elsewhere:
		if !isLiteral(text) {
			c.report(n, "ref-form", "the text is neither Type/id nor an absolute URL", text)
		}
	}
	if ref.Type != "" {
		c.statedType(ref)
		c.target(ref)
	}
}

// isLiteral reports Type/id, with or without a version, or an absolute URL.
func isLiteral(text []byte) bool {
	if isAbsolute(text) {
		return !bytes.ContainsAny(text, " \t\n\r")
	}
	rest, version, versioned := bytes.Cut(text, []byte("/_history/"))
	name, id, ok := bytes.Cut(rest, []byte("/"))
	if _, known := structure.ResourceType(name); !ok || !known {
		return false
	}
	return structure.IsID(id) && (!versioned || structure.IsID(version))
}

// version compares the version in a reference with that of the entry.
func (c *referenceChecker) version(n doc.Node, text []byte, target int) {
	_, version, versioned := bytes.Cut(text, []byte("/_history/"))
	if !versioned {
		return
	}
	to := &c.rec.Resources[target]
	for i := range c.rec.Resources { // a Bundle may hold several versions
		one := &c.rec.Resources[i]
		if one.Bundle == to.Bundle && bytes.Equal(one.FullURL, to.FullURL) && bytes.Equal(c.d.Str(c.d.Get(one.Meta, "versionId")), version) {
			return
		}
	}
	c.report(n, "ref-version", "no entry with this fullUrl has this version", version)
}

func (c *referenceChecker) missing(n doc.Node, text []byte, from int) {
	switch {
	case text[0] == '#':
		// Covered by an invariant of R4 (ref-1).
	case c.rec.Resources[from].Bundle != resources.Nowhere:
		c.report(n, "ref-unresolved", "no entry of the Bundle has this fullUrl", text)
	default:
		f := c.d.Finding(n, "ref-urn-outside-bundle", issue.T("the resource stands alone, so nothing can have this urn"))
		f.Value = string(text)
		if c.line {
			f.Severity = issue.Error
		}
		c.add(f)
	}
}

// internal checks a reference from one Bundle entry to another.
func (c *referenceChecker) internal(ref *resources.Reference) {
	n, text, to := ref.Literal, ref.Text, &c.rec.Resources[ref.Target]
	bundle := c.rec.Resources[ref.From].Bundle
	if bundle == resources.Nowhere || to.Owner != resources.Nowhere || text[0] == '#' {
		return
	}
	kind := string(c.rec.Resources[bundle].BundleType)
	urn := bytes.HasPrefix(text, []byte("urn:"))
	switch {
	case kind == "batch" && (urn || c.d.Is(to.RequestMethod, "POST")):
		c.report(n, "ref-batch-internal", "an entry of a batch refers to another entry", text)
	case kind == "transaction" && urn && c.d.Is(to.RequestMethod, "PUT") &&
		bytes.IndexByte(c.d.Str(to.RequestURL), '?') >= 0:
		c.report(n, "bundle-put-reference", "the entry referred to is updated by a condition", text)
	}
}

// inTransaction is also true in a Bundle of unknown type, which the structure
// layer reports.
func (c *referenceChecker) inTransaction(from int) bool {
	bundle := c.rec.Resources[from].Bundle
	if bundle == resources.Nowhere {
		return false
	}
	switch string(c.rec.Resources[bundle].BundleType) {
	case "batch", "history", "batch-response", "transaction-response", "document", "message", "searchset", "collection":
		return false
	}
	return true
}

// statedType compares the target's type with Reference.type.
func (c *referenceChecker) statedType(ref *resources.Reference) {
	if text := c.d.Str(ref.Stated); len(text) > 0 && string(text) != ref.Type {
		f := c.d.Finding(ref.Stated, "ref-type-mismatch", issue.T("type and reference name different types of resource"))
		f.Value, f.Expected = string(text), issue.Literal(ref.Type)
		c.add(f)
	}
}

// subject checks how a resource identifies its patient.
func (c *referenceChecker) subject(res *resources.Resource) {
	switch {
	case res.Subject == doc.None:
		if res.Type == "Observation" && res.Owner == resources.Nowhere && res.Focus == doc.None {
			c.report(res.Node, "ref-subject-missing", "the Observation has no subject", nil)
		}
	case res.Type != "Observation" && res.Type != "Procedure" && res.Type != "MedicationAdministration":
	case c.d.Get(res.Subject, "reference") == doc.None && c.d.Get(res.Subject, "identifier") != doc.None &&
		c.d.Get(res.Subject, "_reference") == doc.None:
		if c.byIdentifier == 0 {
			c.firstByIdentifier = res.Subject
		}
		c.byIdentifier++
	}
}

// identifierOnly reports subjects without a literal reference, once for the
// document: one author writes them all alike.
func (c *referenceChecker) identifierOnly() {
	if c.byIdentifier == 0 {
		return
	}
	f := c.d.Finding(c.firstByIdentifier, "ref-identifier-only", issue.T("the subject is named by an identifier alone"))
	if c.byIdentifier > 1 {
		f.Details = f.Details.And(issue.T("so are {} more in this document", c.byIdentifier-1))
	}
	if kind := string(c.rec.Root().BundleType); kind == "collection" {
		f.Severity = issue.Information // no server is contacted to find the patient
	}
	c.add(f)
}

const prefix = "urn:uuid:"

// isUUIDLike reports whether a text starts with urn:uuid: in any case.
func isUUIDLike(text []byte) bool {
	return len(text) >= len(prefix) && (string(text[:len(prefix)]) == prefix || bytes.EqualFold(text[:len(prefix)], []byte(prefix)))
}

// isUUIDForm reports whether a text that starts with urn:uuid: has the form of
// a UUID; any other text is fine.
func isUUIDForm(text []byte) bool { return !isUUIDLike(text) || structure.IsUUID(text) }
