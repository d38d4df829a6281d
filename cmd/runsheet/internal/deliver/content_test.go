package deliver

import (
	"bytes"
	"encoding/json"
	"fmt"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/cmd/runsheet/internal/deliver/server"
	"runsheet.example/fhirmap"
	"runsheet.example/validate/manifest"
)

// The digest is of what the log says, however the patient is referred to.
func TestDigestLeavesThePatientOut(t *testing.T) {
	forms := []fhirmap.Options{{}, {Options: manifest.Options{Patient: "Patient/1"}}, {Options: manifest.Options{Patient: "Patient/another"}}, {Options: manifest.Options{CreatePatient: true}}}
	var digests []string
	for _, opts := range forms {
		sessions := mapped(t, smallLog, opts)
		text := ""
		for _, s := range sessions {
			for _, r := range s.Resources {
				if r.Type == "Observation" || r.Type == "Procedure" {
					text += Digest(r.JSON, s.patientIdentity()) + "\n"
				}
			}
		}
		digests = append(digests, text)
	}
	for i := range digests {
		if digests[i] != digests[0] {
			t.Errorf("%+v gives other digests", forms[i])
		}
	}
	one := mapped(t, smallLog, fhirmap.Options{})[0].Resources[3].JSON
	other := bytes.Replace(one, []byte("18:00"), []byte("18:01"), 1)
	if bytes.Equal(one, other) || Digest(one, "") == Digest(other, "") {
		t.Error("another time has the same digest")
	}
}

// Text that looks like a reference, in a note, is left alone.
func TestResolveLeavesTextAlone(t *testing.T) {
	const identity = "0fe284f2-49f6-5f03-b080-94c5e9324563"
	note := string(quoted(`he wrote "reference":"urn:uuid:` + identity + `" and "reference":"Patient?identifier=x"`))
	resource := []byte(`{"resourceType":"Observation","note":[{"text":` + note + `}],"partOf":[{"reference":"urn:uuid:` + identity + `"}],"subject":{"reference":"Patient?identifier=a|b"},"identifier":[{"value":"urn:uuid:` + identity + `"}]}`)
	out, err := resolve(resource, func(string) (string, bool) { return "Procedure/9", true })
	if err != nil {
		t.Fatal(err)
	}
	out = withPatient(out, "Patient/7")
	want := `{"resourceType":"Observation","note":[{"text":` + note + `}],"partOf":[{"reference":"Procedure/9"}],"subject":{"reference":"Patient/7"},"identifier":[{"value":"urn:uuid:` + identity + `"}]}`
	if string(out) != want {
		t.Errorf("got  %s\nwant %s", out, want)
	}
	if _, err := resolve(resource, func(string) (string, bool) { return "", false }); err == nil || !strings.Contains(err.Error(), identity) {
		t.Errorf("an unknown reference: %v", err)
	}
}

// The links in a Bundle are no identities: see the package comment.
func TestLinkIsNoIdentity(t *testing.T) {
	const identity = "0fe284f2-49f6-5f03-b080-94c5e9324563"
	if l := link(identity); l == "urn:uuid:"+identity || l != link(identity) || strings.ToLower(l) != l {
		t.Errorf("link %s", l)
	}
}

// Setting a member changes that member alone and keeps every other as written.
func TestMembersKeepTheText(t *testing.T) {
	const text = `{"resourceType":"Observation","status":"final","valueQuantity":{"value":72.0},"note":[{"text":"a \u003c b"}]}`
	list, err := members([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	if got := string(object(list)); got != text {
		t.Errorf("written again: %s", got)
	}
	list = addNote(set(set(list, "status", quoted("corrected")), "id", quoted("7")), "why <this>")
	want := `{"resourceType":"Observation","id":"7","status":"corrected","valueQuantity":{"value":72.0},"note":[{"text":"a \u003c b"},{"text":"why <this>"}]}`
	if got := string(object(list)); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}

// contains takes as ours what a server may make of it, and nothing else.
func TestContains(t *testing.T) {
	const ours = `{"resourceType":"Observation","status":"final","subject":{"reference":"Patient?identifier=a|b","type":"Patient"},"partOf":[{"reference":"Procedure/9"}],"valueQuantity":{"value":72.0,"unit":"kg"},"note":[{"text":"n"}]}`
	for theirs, want := range map[string]bool{
		`{"resourceType":"Observation","id":"1","meta":{"versionId":"1"},"text":{"div":"x"},"status":"final","subject":{"reference":"Patient/4","type":"Patient","display":"P"},"partOf":[{"reference":"https://h.example/Procedure/9"}],"valueQuantity":{"value":72,"unit":"kg"},"note":[{"text":"n"}]}`: true,
		`{"resourceType":"Observation","status":"corrected","subject":{"reference":"Patient/4","type":"Patient"},"partOf":[{"reference":"Procedure/9"}],"valueQuantity":{"value":72.00,"unit":"kg"},"note":[{"text":"n"},{"text":"why"}]}`:                                                                true,
		`{"resourceType":"Observation","status":"final","subject":{"reference":"Patient/4","type":"Patient"},"partOf":[{"reference":"Procedure/9"}],"valueQuantity":{"value":72.1,"unit":"kg"},"note":[{"text":"n"}]}`:                                                                                    false,
		`{"resourceType":"Observation","status":"final","subject":{"reference":"Patient/4","type":"Patient"},"partOf":[{"reference":"Procedure/8"}],"valueQuantity":{"value":72.0,"unit":"kg"},"note":[{"text":"n"}]}`:                                                                                    false,
		`{"resourceType":"Observation","status":"final","subject":{"reference":"Group/4","type":"Patient"},"partOf":[{"reference":"Procedure/9"}],"valueQuantity":{"value":72.0,"unit":"kg"},"note":[{"text":"n"}]}`:                                                                                      false,
		`{"resourceType":"Observation","status":"final","subject":{"reference":"Patient/4","type":"Patient"},"partOf":[{"reference":"Procedure/9"}],"valueQuantity":{"value":72.0,"unit":"kg","comparator":"<"},"note":[{"text":"n"}]}`:                                                                   false,
		`{"resourceType":"Observation","status":"entered-in-error","subject":{"reference":"Patient/4","type":"Patient"},"partOf":[{"reference":"Procedure/9"}],"valueQuantity":{"value":72.0,"unit":"kg"},"note":[{"text":"n"}]}`:                                                                         false,
		`{"resourceType":"Observation","status":"final","partOf":[{"reference":"Procedure/9"}],"valueQuantity":{"value":72.0,"unit":"kg"},"note":[{"text":"n"}]}`:                                                                                                                                         false,
		`{}`: false, `[]`: false, ``: false,
	} {
		if got := contains([]byte(theirs), []byte(ours)); got != want {
			t.Errorf("%t, want %t: %s", got, want, theirs)
		}
	}
}

// HAPI FHIR's server appends the number of the request to meta.source.
func TestContainsSource(t *testing.T) {
	const ours = `{"resourceType":"Observation","meta":{"source":"urn:uuid:a"}}`
	for source, want := range map[string]bool{"urn:uuid:a": true, "urn:uuid:a#hEVusodisVmxtrgN": true, "urn:uuid:b#a": false, "#a": false} {
		if got := contains([]byte(strings.Replace(ours, "urn:uuid:a", source, 1)), []byte(ours)); got != want {
			t.Errorf("%s: %t, want %t", source, got, want)
		}
	}
}

// The condition of a Provenance holds for the Provenance itself: it names what
// it is about, never the program that assembled it. Its first parameter is a
// plain name, or HAPI FHIR's server takes the condition for no query.
func TestProvenanceCondition(t *testing.T) {
	s := &Sender{rules: rules{style: Transaction}, targets: true}
	var err error
	if s.receipt, err = receipt.Open(filepath.Join(t.TempDir(), "receipt.json"), "http://127.0.0.1/fhir", ""); err != nil {
		t.Fatal(err)
	}
	session := mapped(t, smallLog, fhirmap.Options{})[0]
	inside := map[string]bool{}
	var provenance, procedure fhirmap.Resource
	for _, r := range session.Resources {
		inside[r.Identity] = true
		switch r.Type {
		case "Device": // of the session before
			s.receipt.Put(receipt.Entry{Identity: r.Identity, Type: r.Type, ID: "7", Status: receipt.Created})
		case "Provenance":
			provenance = r
		case "Procedure":
			procedure = r
		}
	}
	e, err := s.prepare(provenance, inside)
	if err != nil || e.condition != provenance.Condition || !regexp.MustCompile(`^[A-Za-z-]+=`).MatchString(e.condition) {
		t.Errorf("in the transaction: %s, %v", e.condition, err)
	}
	s.receipt.Put(receipt.Entry{Identity: procedure.Identity, Type: "Procedure", ID: "9", Status: receipt.Created})
	e, err = s.prepare(provenance, inside)
	if recorded, _, _ := strings.Cut(provenance.Condition, "&"); err != nil || e.condition != recorded+"&target=Procedure%2F9" {
		t.Errorf("behind the rest: %s, %v", e.condition, err)
	}
}

// Parts are whole: each resource in just one, none larger than the limit, and
// none that refers to what has not gone before.
func TestPartsAreSelfContained(t *testing.T) {
	sessions := mapped(t, "../../../../testdata/month", fhirmap.Options{})
	rapid.Check(t, func(rt *rapid.T) {
		session := rapid.SampledFrom(sessions).Draw(rt, "session")
		r := rules{rapid.SampledFrom([]Style{Transaction, Batch, Single, Put}).Draw(rt, "style"), rapid.IntRange(0, 30).Draw(rt, "max"), rapid.Bool().Draw(rt, "apart")}
		sent := map[string]bool{}
		known := func(identity string) bool { return sent[identity] }
		pending := slices.Clone(session.Resources)
		predicted, err := r.requests(pending, known)
		if err != nil {
			rt.Fatal(err)
		}
		count := 0
		for ; len(pending) > 0; count++ {
			chunk, err := r.next(pending, known)
			if err != nil {
				rt.Fatal(err)
			}
			if len(chunk) > r.limit() {
				rt.Fatalf("%d in a part of %d", len(chunk), r.limit())
			}
			inside := map[string]bool{}
			for _, c := range chunk {
				inside[c.Identity] = true
			}
			for _, c := range chunk {
				for _, identity := range references(c.JSON) {
					if !sent[identity] && !(r.style == Transaction && inside[identity]) {
						rt.Fatalf("%s %s refers to what comes later", c.Type, c.Role)
					}
				}
			}
			for _, c := range chunk {
				if sent[c.Identity] {
					rt.Fatalf("%s twice", c.Role)
				}
				sent[c.Identity] = true
			}
			pending = slices.DeleteFunc(pending, func(p fhirmap.Resource) bool { return sent[p.Identity] })
		}
		if count != predicted || len(sent) != len(session.Resources) {
			rt.Fatalf("%d parts, %d foretold; %d of %d resources", count, predicted, len(sent), len(session.Resources))
		}
	})
}

func TestPropose(t *testing.T) {
	all := func(change func(*server.TypeCapability)) map[string]server.TypeCapability {
		out := map[string]server.TypeCapability{}
		for _, name := range recordTypes {
			c := server.TypeCapability{Create: true, Update: true, Search: true, SearchesIdentifier: true, ConditionalCreate: true, UpdateCreate: true}
			change(&c)
			out[name] = c
		}
		return out
	}
	for _, c := range []struct {
		capability server.Capability
		want       Style
		declared   bool
	}{
		{server.Capability{Transaction: true, Batch: true, Types: all(func(*server.TypeCapability) {})}, Transaction, true},
		{server.Capability{Batch: true, Types: all(func(*server.TypeCapability) {})}, Batch, true},
		{server.Capability{Types: all(func(*server.TypeCapability) {})}, Single, true},
		{server.Capability{Transaction: true, Types: all(func(t *server.TypeCapability) { t.ConditionalCreate = false })}, Put, true},
		{server.Capability{Transaction: true, Types: all(func(t *server.TypeCapability) { t.ConditionalCreate, t.UpdateCreate = false, false })}, Single, true},
		{server.Capability{}, Single, false},
	} {
		if p := Propose(c.capability); p.Style != c.want || p.Declared != c.declared || p.Reason == "" {
			t.Errorf("%+v, want %s", p, c.want)
		}
	}
	if p := Put.check(server.Capability{}); p.Style != Put || p.Declared || !strings.Contains(p.Reason, "chosen by you, though") {
		t.Errorf("%+v", p)
	}
}

func FuzzParseBundle(f *testing.F) {
	roles := map[string]string{"0fe284f2-49f6-5f03-b080-94c5e9324563": "procedure"}
	f.Add([]byte(`{"type":"transaction","entry":[{"fullUrl":"` + link("0fe284f2-49f6-5f03-b080-94c5e9324563") + `","resource":{"resourceType":"Procedure"},"request":{"method":"POST","url":"Procedure","ifNoneExist":"identifier=a|b"}}]}`))
	f.Add([]byte(`{"resourceType":"Observation","note":[{"text":"\"reference\":\"urn:uuid:0fe284f2-49f6-5f03-b080-94c5e9324563\""}],"partOf":[{"reference":"urn:uuid:0fe284f2-49f6-5f03-b080-94c5e9324563"}]}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		if s, err := parseBundle(text, roles); err == nil && s.Identity == "" {
			t.Error("a session without an identity")
		}
		_, _ = parseAnswers(text, 1)
		_, _ = one(text, question{resourceType: "Observation", matches: func(found) bool { return true }})
		_ = contains(text, text)
		var compact bytes.Buffer
		if json.Compact(&compact, text) != nil {
			return
		}
		resolved, err := resolve(compact.Bytes(), func(string) (string, bool) { return "Procedure/1", true })
		if err != nil || !json.Valid(resolved) {
			t.Errorf("resolved to no JSON: %v %s", err, resolved)
		}
		list, err := members(compact.Bytes())
		if err != nil || len(list) == 0 {
			return
		}
		if text := object(addNote(set(list, "id", quoted("7")), fmt.Sprintf("%q", text))); !json.Valid(text) {
			t.Errorf("edited to no JSON: %s", text)
		}
	})
}
