package rules

import (
	"bytes"
	"slices"

	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/resources"
)

// provenanceChecker checks that a record states its origin.
type provenanceChecker struct {
	checked
	// targets counts, for each resource, the Provenances that refer to it.
	targets []int
	// namedBy is the index, from 1, of the latest Provenance that refers to
	// it.
	namedBy []int
	any     bool
	// The latest labels and performers, as written, and whether they mark the
	// patient: most records repeat them in every resource.
	meta, performer       []byte
	isMarked, isByPatient bool
	bundleOfPerformer     int
}

// check reports missing or implausible origins of the resources of a Bundle.
func (c *provenanceChecker) check(rec *resources.Index, add func(issue.Finding)) {
	root := rec.Root()
	if root == nil || root.Type != "Bundle" {
		return
	}
	c.checked, c.any = checked{rec, rec.Doc, add}, false
	c.meta, c.performer = nil, nil
	if !c.fromPatient() {
		return
	}
	c.targets, c.namedBy = zeros(c.targets, len(rec.Resources)), zeros(c.namedBy, len(rec.Resources))
	c.provenances()
	for i := range rec.Resources {
		if res := &rec.Resources[i]; clinical(res) {
			c.resource(i, res)
		}
	}
}

func zeros(s []int, n int) []int {
	s = slices.Grow(s[:0], n)[:n]
	clear(s)
	return s
}

// fromPatient reports whether any resource of the document is labelled as
// patient-asserted, or is one of our records.
func (c *provenanceChecker) fromPatient() bool {
	for i := range c.rec.Resources {
		res := &c.rec.Resources[i]
		if clinical(res) && (len(res.Identity) > 0 || c.marked(res)) {
			return true
		}
	}
	return false
}

// clinical reports whether a resource must have an origin.
func clinical(res *resources.Resource) bool {
	if res.Owner != resources.Nowhere || res.Entry == doc.None {
		return false
	}
	switch res.Type {
	case "Observation", "Procedure", "MedicationAdministration":
		return true
	}
	return false
}

// marked reports whether a resource has the label for patient-asserted data.
func (c *provenanceChecker) marked(res *resources.Resource) bool {
	if raw := c.d.Raw(res.Meta); c.meta == nil || !bytes.Equal(raw, c.meta) {
		c.meta, c.isMarked = raw, c.readMark(res)
	}
	return c.isMarked
}

func (c *provenanceChecker) readMark(res *resources.Resource) bool {
	d := c.d
	for label := d.FirstChild(d.Get(res.Meta, "security")); label != doc.None; label = d.Next(label) {
		if d.Is(d.Get(label, "code"), "PATAST") && d.Is(d.Get(label, "system"), profiles.ObservationValue) {
			return true
		}
	}
	return false
}

// provenances counts the targets of every Provenance and checks its agents.
func (c *provenanceChecker) provenances() {
	d := c.d
	for i := range c.rec.Resources {
		res := &c.rec.Resources[i]
		if res.Type != "Provenance" {
			continue
		}
		c.any = true
		for t := d.FirstChild(res.Target); t != doc.None; t = d.Next(t) {
			target, outcome := c.rec.Resolve(t, i)
			if outcome != resources.Found {
				target = c.byCondition(t)
			}
			if target == resources.Nowhere {
				continue
			}
			c.targets[target]++
			if c.namedBy[target] == i+1 {
				c.report(t, "prov-target-odd", "the Provenance names this target twice")
			}
			c.namedBy[target] = i + 1
			if kind := c.rec.Resources[target].Type; kind == "Patient" || kind == "Provenance" {
				c.report(t, "prov-target-odd", "a session's Provenance speaks of its values, not of a {}", kind)
			}
		}
		if !c.patientAgent(i, res) {
			c.report(res.Node, "prov-no-patient", "no agent of the Provenance is a Patient")
		}
	}
}

// byCondition resolves a conditional reference by record identifier, the form
// in which a correction refers to its target (FHIR R4 4.0.1 RESTful API,
// 3.1.0.11.2), to a resource of the document.
func (c *provenanceChecker) byCondition(target doc.Node) int {
	kind, query, _ := bytes.Cut(c.d.Str(c.d.Get(target, "reference")), []byte("?"))
	token, ok := identifierCondition(query)
	if !ok {
		return resources.Nowhere
	}
	system, value, _ := bytes.Cut(token, []byte("|"))
	if string(system) != profiles.RecordIdentifier {
		return resources.Nowhere
	}
	at := c.rec.ByIdentity(value)
	if at == resources.Nowhere || c.rec.Resources[at].Type != string(kind) {
		return resources.Nowhere
	}
	return at
}

func (c *provenanceChecker) patientAgent(i int, res *resources.Resource) bool {
	d := c.d
	for a := d.FirstChild(res.Agent); a != doc.None; a = d.Next(a) {
		if c.refersTo(d.Get(a, "who"), i, "Patient") {
			return true
		}
	}
	return false
}

// refersTo reports whether a Reference resolves to a resource of the type, as
// far as it is known.
func (c *provenanceChecker) refersTo(ref doc.Node, from int, want string) bool {
	if ref == doc.None {
		return false
	}
	if target, outcome := c.rec.Resolve(ref, from); outcome == resources.Found {
		return c.rec.Resources[target].Type == want
	}
	text := c.d.Str(c.d.Get(ref, "reference"))
	if kind := resources.TargetType(text); len(kind) > 0 {
		return string(kind) == want
	}
	return c.d.Is(c.d.Get(ref, "type"), want)
}

// resource checks one clinical resource.
func (c *provenanceChecker) resource(i int, res *resources.Resource) {
	if c.targets[i] == 0 && !c.namesProgram(res) {
		details := "no Provenance has this resource as a target"
		if !c.any {
			details = "the Bundle has no Provenance"
		}
		c.report(res.Node, "prov-missing", details)
	}
	if !c.marked(res) {
		c.report(res.Node, "prov-not-marked", "the resource does not say that a patient asserts it")
	}
	if res.Type == "Observation" && !c.patientPerformer(i, res) && !c.derived(res) && !c.rec.IsLaboratory(res) {
		c.report(res.Node, "prov-no-performer", "the Observation names neither the patient nor a helper as performer")
	}
}

// namesProgram reports whether an Observation outside a session has the
// program that computed it as its device, which replaces a Provenance.
func (c *provenanceChecker) namesProgram(res *resources.Resource) bool {
	if res.Type != "Observation" || res.PartOf != doc.None || c.d.Get(res.Node, "device") == doc.None {
		return false
	}
	return c.derived(res)
}

// derived reports whether an Observation is derived from others, so that it
// has no performer.
func (c *provenanceChecker) derived(res *resources.Resource) bool {
	if _, computed := c.rec.IsComputed(res); computed {
		return true
	}
	return res.DerivedFrom != doc.None || c.d.Get(res.Node, "hasMember") != doc.None || c.rec.HasCoding(res.Code, profiles.ModelWeek) || c.summary(res)
}

// summary reports whether an Observation sums up or counts the sessions of some
// days, which it does not list.
func (c *provenanceChecker) summary(res *resources.Resource) bool {
	return res.PartOf == doc.None && slices.ContainsFunc(append(profiles.SummaryCodings(), profiles.Attendance), func(code profiles.Coding) bool { return c.rec.HasCoding(res.Code, code) })
}

func (c *provenanceChecker) patientPerformer(i int, res *resources.Resource) bool {
	raw := c.d.Raw(res.Performer)
	contained := bytes.IndexByte(raw, '#') >= 0 // of which each resource has its own
	if c.performer == nil || contained || !bytes.Equal(raw, c.performer) || c.bundleOfPerformer != res.Bundle {
		c.performer, c.bundleOfPerformer = raw, res.Bundle
		c.isByPatient = c.readPerformer(i, res)
	}
	return c.isByPatient
}

func (c *provenanceChecker) readPerformer(i int, res *resources.Resource) bool {
	for p := c.d.FirstChild(res.Performer); p != doc.None; p = c.d.Next(p) {
		if c.refersTo(p, i, "Patient") || c.refersTo(p, i, "RelatedPerson") { // who helps a small child
			return true
		}
	}
	return false
}

func (c *provenanceChecker) report(n doc.Node, rule, details string, args ...any) {
	c.add(c.d.Finding(n, rule, issue.T(details, args...)))
}
