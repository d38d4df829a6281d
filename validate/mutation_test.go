package validate_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"runsheet.example/validate"
	"runsheet.example/validate/issue"
)

// tree is a JSON value that keeps the order of members and the text of numbers.
type tree struct {
	kind byte // '{', '[' or 0 for a scalar
	raw  string
	keys []string
	kids []*tree
}

func readTree(text string) *tree {
	d := json.NewDecoder(strings.NewReader(text))
	d.UseNumber()
	var read func() *tree
	read = func() *tree {
		token, err := d.Token()
		if err != nil {
			panic(err)
		}
		delim, ok := token.(json.Delim)
		if !ok {
			raw, err := json.Marshal(token)
			if err != nil {
				panic(err)
			}
			return &tree{raw: string(raw)}
		}
		n := &tree{kind: byte(delim)}
		for d.More() {
			if n.kind == '{' {
				key, err := d.Token()
				if err != nil {
					panic(err)
				}
				n.keys = append(n.keys, key.(string))
			}
			n.kids = append(n.kids, read())
		}
		if _, err := d.Token(); err != nil {
			panic(err)
		}
		return n
	}
	return read()
}

func (n *tree) write(out *bytes.Buffer) {
	switch n.kind {
	case '{', '[':
		out.WriteByte(n.kind)
		for i, kid := range n.kids {
			if i > 0 {
				out.WriteByte(',')
			}
			if n.kind == '{' {
				fmt.Fprintf(out, "%q:", n.keys[i])
			}
			kid.write(out)
		}
		out.WriteByte(n.kind + 2)
	default:
		out.WriteString(n.raw)
	}
}

func (n *tree) get(key string) *tree {
	if at := slices.Index(n.keys, key); at >= 0 {
		return n.kids[at]
	}
	return nil
}

func (n *tree) text() string {
	var s string
	if n == nil || json.Unmarshal([]byte(n.raw), &s) != nil {
		return ""
	}
	return s
}

// spot is a member of an object: where it is, by the type of the resource and
// the names on the way, and the resource around.
type spot struct {
	path     string
	in       *tree
	at       int
	resource *tree
}

func (s spot) value() *tree { return s.in.kids[s.at] }

// spots lists the members of all objects.
func spots(n *tree, path string, resource *tree) []spot {
	var all []spot
	if n.kind == '{' {
		if typ := n.get("resourceType"); typ != nil {
			path, resource = typ.text(), n
		}
	}
	for i, kid := range n.kids {
		below := path
		if n.kind == '{' {
			below += "." + n.keys[i]
			all = append(all, spot{below, n, i, resource})
		}
		all = append(all, spots(kid, below, resource)...)
	}
	return all
}

// fault is a kind of fault and one place where it is put in; undo takes it out.
type fault struct {
	kind string
	put  func() (undo func())
}

func set(s spot, to string) func() func() {
	return func() func() {
		before := s.in.kids[s.at]
		s.in.kids[s.at] = &tree{raw: to}
		return func() { s.in.kids[s.at] = before }
	}
}

func text(s string) string {
	raw, err := json.Marshal(s)
	if err != nil {
		panic(err)
	}
	return string(raw)
}

func drop(s spot) func() func() {
	return func() func() {
		keys, kids := s.in.keys, s.in.kids
		s.in.keys, s.in.kids = slices.Delete(slices.Clone(keys), s.at, s.at+1), slices.Delete(slices.Clone(kids), s.at, s.at+1)
		return func() { s.in.keys, s.in.kids = keys, kids }
	}
}

func rename(s spot, to string) func() func() {
	return func() func() {
		before := s.in.keys[s.at]
		s.in.keys[s.at] = to
		return func() { s.in.keys[s.at] = before }
	}
}

func wrap(s spot) func() func() {
	return func() func() {
		before := s.in.kids[s.at]
		s.in.kids[s.at] = &tree{kind: '[', kids: []*tree{before}}
		return func() { s.in.kids[s.at] = before }
	}
}

// structural faults are wrong wherever they stand.
func structural(s spot) []fault {
	v := s.value()
	name := s.in.keys[s.at]
	all := []fault{
		{"unknown member " + s.path, rename(s, name+"X")},
		{"null at " + s.path, set(s, "null")},
	}
	switch {
	case v.kind == '[':
		all = append(all, fault{"empty array at " + s.path, set(s, "[]")}, fault{"no array at " + s.path, func() func() {
			s.in.kids[s.at] = v.kids[0]
			return func() { s.in.kids[s.at] = v }
		}})
	case v.kind == '{':
		all = append(all, fault{"empty object at " + s.path, set(s, "{}")}, fault{"text for object at " + s.path, set(s, `"x"`)}, fault{"array at " + s.path, wrap(s)})
	case v.raw[0] == '"':
		all = append(all, fault{"empty text at " + s.path, set(s, `""`)}, fault{"number for text at " + s.path, set(s, "7")}, fault{"array at " + s.path, wrap(s)})
	default:
		all = append(all, fault{"text for number at " + s.path, set(s, text(v.raw))}, fault{"array at " + s.path, wrap(s)})
	}
	return all
}

// required elements of R4 and of a session's record.
var required = []string{
	"Bundle.type", "Bundle.entry.request", "Bundle.entry.request.method", "Bundle.entry.request.url", "Bundle.entry.resource", "Bundle.entry.fullUrl",
	"Observation.status", "Observation.code", "Observation.subject", "Observation.component.code", "Procedure.status", "Procedure.subject",
	"MedicationAdministration.status", "MedicationAdministration.subject", "MedicationAdministration.medicationCodeableConcept",
	"MedicationAdministration.effectiveDateTime", "Provenance.target", "Provenance.recorded", "Provenance.agent", "Provenance.agent.who",
	"Observation.valueQuantity.code", "Observation.valueQuantity.system", "Observation.component.valueQuantity.code",
	"Observation.text.div", "Observation.text.status", "Observation.meta.security", "Observation.performer",
}

// semantic faults are wrong by what they say.
func semantic(s spot) []fault {
	var all []fault
	v := s.value()
	is := func(suffix string) bool { return strings.HasSuffix(s.path, suffix) }
	written := v.text()
	put := func(what, to string) {
		if to != written {
			all = append(all, fault{what + " at " + s.path, set(s, text(to))})
		}
	}
	if slices.Contains(required, s.path) {
		all = append(all, fault{"missing " + s.path, drop(s)})
	}
	switch {
	case is(".coding.system") || is(".valueQuantity.system"):
		put("other spelling of the system", strings.Replace(written, "http://", "https://", 1))
	case is(".coding.code"):
		put("mistyped code", written[:len(written)-1]+string(rune(written[len(written)-1]^1)))
	case is(".coding.display"):
		put("other words", "Other words")
	case is("uantity.code"):
		put("other case of the unit", strings.ToUpper(written)+"x")
		put("unit of another kind", "s")
		put("unit that is no UCUM", "bananas")
	case is("uantity.value") && s.resource.get("derivedFrom") != nil:
		all = append(all, fault{"changed computed value in " + s.path, set(s, v.raw+"1")})
		all = append(all, fault{"computed value times ten in " + s.path, set(s, v.raw+"e1")})
	case is("uantity.value"):
		all = append(all, fault{"value times 10,000 in " + s.path, set(s, v.raw+"e4")}, fault{"negative value in " + s.path, set(s, "-99999")})
	case is(".reference") && strings.HasPrefix(written, "urn:uuid:"):
		put("dangling reference", "urn:uuid:00000000-0000-4000-8000-000000000000")
		put("reference in capitals", "urn:uuid:"+strings.ToUpper(written[9:]))
	case is(".reference"):
		put("another patient", strings.Replace(written, "HHD-00042", "HHD-00043", 1))
		put("another form of patient", "Patient/77")
		put("reference that is none", "Patient 123")
		put("reference to another type", "Medication/1")
	case is("reference.type") || is(".subject.type") || is(".device.type") || is(".partOf.type"):
		put("another type said", "Group")
	case is(".status"):
		put("no such status", "finished")
	case is("DateTime") || is(".start") || is(".end") || is(".recorded"):
		put("no such day", "2025-13-01T10:00:00Z")
		put("no zone", strings.TrimSuffix(written, "Z"))
		put("a day that does not exist", "2025-02-30")
	case is(".identifier.system"):
		put("relative system", "mrn")
	case is("Bundle.entry.fullUrl"):
		put("relative fullUrl", "Observation/1")
		put("fullUrl in capitals", "urn:uuid:"+strings.ToUpper(written[9:]))
	case is(".request.method"):
		put("no such method", "SEND")
	case is(".request.url"):
		put("another type in the url", "Patient")
	case is(".ifNoneExist"):
		put("condition of another", written[:len(written)-4]+"0000")
	case is(".div"):
		put("script in the narrative", `<div xmlns="http://www.w3.org/1999/xhtml"><script>x</script></div>`)
	}
	return all
}

// mostOfAKind is in how many places a kind of fault is tried.
const mostOfAKind = 2

// TestMutantsAreFound puts faults into a session one at a time: at least 98 % of
// the kinds are found, by more than a note.
func TestMutantsAreFound(t *testing.T) {
	root := readTree(session(t))
	v := validate.New(validate.Options{})
	kinds := map[string]int{}
	var missed []string
	for _, s := range spots(root, "", nil) {
		for _, f := range slices.Concat(structural(s), semantic(s)) {
			if kinds[f.kind]++; kinds[f.kind] > mostOfAKind {
				continue
			}
			undo := f.put()
			if !found(v, root) && !slices.Contains(missed, f.kind) {
				missed = append(missed, f.kind)
			}
			undo()
		}
	}
	if found(v, root) {
		t.Fatal("a fault was not taken out")
	}
	share := 1 - float64(len(missed))/float64(len(kinds))
	t.Logf("%d kinds of fault, %.1f %% found, not:\n%s", len(kinds), 100*share, strings.Join(missed, "\n"))
	if len(kinds) < 100 || share < 0.98 {
		t.Errorf("missed %d of %d:\n%s", len(missed), len(kinds), strings.Join(missed, "\n"))
	}
}

func found(v *validate.Validator, root *tree) bool {
	var out bytes.Buffer
	root.write(&out)
	return slices.ContainsFunc(v.Bytes(out.Bytes(), "x.json"), func(f issue.Finding) bool { return f.Severity != issue.Information })
}

// harmless changes leave a record right.
func harmless(s spot) []fault {
	v := s.value()
	add := func(what, key, raw string) fault {
		return fault{what + " in " + s.path, func() func() {
			v.keys, v.kids = append(v.keys, key), append(v.kids, &tree{raw: raw})
			return func() { v.keys, v.kids = v.keys[:len(v.keys)-1], v.kids[:len(v.kids)-1] }
		}}
	}
	extension := `[{"url":"https://other.example/note","valueString":"x"}]`
	switch name := s.in.keys[s.at]; {
	case name == "resource":
		return []fault{
			{"members in reverse in " + v.get("resourceType").text(), func() func() {
				reverse := func() { slices.Reverse(v.keys); slices.Reverse(v.kids) }
				reverse()
				return reverse
			}},
			add("an unknown extension", "extension", extension),
			add("a language", "language", `"en-GB"`),
			add("implicit rules", "implicitRules", `"https://other.example/rules"`),
		}
	case v.kind == '{' && (name == "code" || name == "valueQuantity" || name == "subject" || name == "performedPeriod" || name == "method" || name == "dosage"):
		return []fault{add("an unknown extension", "extension", extension), add("an id", "id", text("e"+fmt.Sprint(s.at)))}
	case name == "text" && v.raw != "":
		return []fault{{"escaped letters in " + s.path, set(s, `"\u0041`+v.raw[1:])}}
	case name == "meta":
		return []fault{add("a tag", "tag", `[{"system":"https://other.example/tags","code":"x"}]`), add("a version", "versionId", `"3"`), add("a time", "lastUpdated", `"2026-01-01T00:00:00Z"`)}
	case v.kind == '[' && name == "coding":
		return []fault{{"a code of another system in " + s.path, func() func() {
			v.kids = append(v.kids, readTree(`{"system":"https://other.example/codes","code":"x1"}`))
			return func() { v.kids = v.kids[:len(v.kids)-1] }
		}}}
	case v.kind == '[' && name == "identifier":
		return []fault{{"another identifier in " + s.path, func() func() {
			v.kids = append(v.kids, readTree(`{"system":"https://other.example/ids","value":"1"}`))
			return func() { v.kids = v.kids[:len(v.kids)-1] }
		}}}
	}
	return nil
}

// TestHarmlessChangesAreNot holds that what leaves a record right raises
// nothing.
func TestHarmlessChangesAreNot(t *testing.T) {
	root := readTree(session(t))
	v := validate.New(validate.Options{})
	kinds := map[string]int{}
	for _, s := range spots(root, "", nil) {
		for _, f := range harmless(s) {
			if kinds[f.kind]++; kinds[f.kind] > mostOfAKind {
				continue
			}
			undo := f.put()
			if found(v, root) {
				var out bytes.Buffer
				root.write(&out)
				t.Errorf("%s: %v", f.kind, v.Bytes(out.Bytes(), "x.json"))
			}
			undo()
		}
	}
	if len(kinds) < 40 {
		t.Errorf("%d kinds of change", len(kinds))
	}
}
