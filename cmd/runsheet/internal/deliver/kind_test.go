package deliver

import (
	"encoding/json"
	"regexp"
	"strings"
	"testing"

	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/fhirmap"
	"runsheet.example/testdata/oracle/servertest"
)

// computedCode is the code of a method, such as "idwg-1".
var computedCode = regexp.MustCompile(`("method":\{"coding":\[\{"system":"[^"]*","code":"[^"]*)-1"`)

// firstValue is a value with decimals, up to its last digit.
var firstValue = regexp.MustCompile(`("valueQuantity":\{"value":-?[0-9]+\.[0-9]+)`)

// laterMethods gives every computed value the next version of its method, and
// a value of one digit more where it has decimals.
func laterMethods(sessions []Session) (computed int) {
	for _, s := range sessions {
		for i, r := range s.Resources {
			if !strings.HasPrefix(r.Role, "computed:") || !computedCode.Match(r.JSON) {
				continue
			}
			text := computedCode.ReplaceAll(r.JSON, []byte(`${1}-2"`))
			s.Resources[i].JSON = firstValue.ReplaceAll(text, []byte(`${1}5`))
			computed++
		}
	}
	return computed
}

func statuses(t *testing.T, d *delivery, sessions []Session) map[string]string {
	t.Helper()
	out := map[string]string{}
	there := map[string]stored{}
	for _, h := range holdings(t, d.server) {
		there[h.ResourceType+"/"+h.ID] = h
	}
	r := d.open()
	for _, s := range sessions {
		for _, resource := range s.Resources {
			if e, ok := r.Of(resource.Identity); ok && s.Label == "a" {
				out[resource.Role] = there[e.Reference()].Status
			}
		}
	}
	return out
}

// Another version of a method amends what was computed by it, and nothing else
// changes; the Provenance does not say that the patient changed the log.
func TestAmendedByAnotherMethod(t *testing.T) {
	s := servertest.Start(t)
	s.Reset(t, nil, smallPatient)
	d := newDelivery(t, s, Transaction)
	before := mapped(t, smallLog, fhirmap.Options{})
	d.mustSend(before)
	after := mapped(t, smallLog, fhirmap.Options{})
	computed := laterMethods(after)
	plan, err := d.amend(after, "")
	if err != nil {
		t.Fatal(err)
	}
	if did := plan.Counts(); computed < 5 || did.Amended != computed || did.Corrected != 0 {
		t.Errorf("%d computed values: %+v", computed, did)
	}
	for role, status := range statuses(t, d, after) {
		if strings.HasPrefix(role, "computed:") && status == "corrected" || role == "weight_before" && status != final {
			t.Errorf("%s is %s", role, status)
		}
	}
	d.valid()
	for _, h := range holdings(t, s) {
		text := string(h.raw)
		if h.ResourceType == "Provenance" && strings.Contains(text, `"UPDATE"`) && !strings.Contains(text, "another version of the method") {
			t.Errorf("the Provenance says %s", text)
		}
		if h.Status == "amended" && !strings.Contains(h.Note[len(h.Note)-1].Text, "another version of the method") {
			t.Errorf("note %v", h.Note)
		}
	}
	if plan, err := d.amend(after, ""); err != nil || !plan.Empty() {
		t.Errorf("amended again: %v, %+v", err, plan)
	}
	// An error found later corrects what was amended.
	d.later++
	corrected := mapped(t, edited(t, smallLog, "sessions.csv", "63.40,142", "63.50,142"), fhirmap.Options{})
	laterMethods(corrected)
	if _, err := d.amend(corrected, ""); err != nil {
		t.Fatal(err)
	}
	if got := statuses(t, d, corrected); got["weight_before"] != "corrected" || got["computed:urea_reduction_ratio:urr"] != "amended" {
		t.Errorf("weight %s, urea reduction (which does not rest on it) %s", got["weight_before"], got["computed:urea_reduction_ratio:urr"])
	}
	d.valid()
}

// Each way in which a session can change, with what becomes of its
// Observations.
func TestKinds(t *testing.T) {
	s := servertest.Start(t)
	words := func(sessions []Session) {
		for i, r := range sessions[0].Resources {
			if r.Role == "weight_before" {
				sessions[0].Resources[i].JSON = []byte(strings.Replace(string(r.JSON), `"note":[`, `"note":[{"text":"Other words."},`, 1))
			}
		}
	}
	for name, c := range map[string]struct {
		before, after []string // changes to the small log
		later         func([]Session)
		want          map[string]string
	}{
		"a value was wrong": {
			after: []string{"sessions.csv", "63.40,142", "63.50,142"},
			want:  map[string]string{"weight_before": "corrected", "weight_after": final},
		},
		"other words": {
			later: words,
			want:  map[string]string{"weight_before": "amended", "weight_after": final},
		},
		"a value was wrong and the methods are others": {
			after: []string{"sessions.csv", "63.40,142", "63.50,142"},
			later: func(sessions []Session) { laterMethods(sessions) },
			want:  map[string]string{"weight_before": "corrected", "weight_after": final, "computed:urea_reduction_ratio:urr": "amended"},
		},
		"a value that was not there": {
			before: []string{"sessions.csv", "63.40,142", "not done,142"},
			want:   map[string]string{"weight_before": final, "weight_after": final},
		},
		"a height": {
			before: []string{"log.toml", "height_cm = 164", "height_cm = 146"},
			want:   map[string]string{"weight_before": final, "computed:total_body_water:watson-female": "corrected"},
		},
	} {
		t.Run(name, func(t *testing.T) {
			s.Reset(t, nil, smallPatient)
			d := newDelivery(t, s, Transaction)
			d.mustSend(mapped(t, edited(t, smallLog, c.before...), fhirmap.Options{}))
			after := mapped(t, edited(t, smallLog, c.after...), fhirmap.Options{})
			if c.later != nil {
				c.later(after)
			}
			if _, err := d.amend(after, ""); err != nil {
				t.Fatal(err)
			}
			got := statuses(t, d, after)
			for role, want := range c.want {
				if got[role] != want {
					t.Errorf("%s is %q, want %q", role, got[role], want)
				}
			}
			d.valid()
		})
	}
}

// What is computed follows its inputs, through others that are computed too;
// with a receipt of the first programs nothing is known, and a change counts as
// a correction.
func TestCorrectionFollowsInputs(t *testing.T) {
	observation := func(identity, method, value string, from ...string) fhirmap.Resource {
		type ref struct {
			Reference string `json:"reference"`
		}
		var refs []ref
		for _, f := range from {
			refs = append(refs, ref{"urn:uuid:" + f})
		}
		derived, err := json.Marshal(refs)
		must(t, err)
		text := `{"resourceType":"Observation","status":"final","valueQuantity":{"value":` + value + `}`
		if method != "" {
			text += `,"method":{"coding":[{"code":"` + method + `"}]},"derivedFrom":` + string(derived)
		}
		return fhirmap.Resource{Type: "Observation", Identity: identity, JSON: []byte(text + "}")}
	}
	const a, b, c, session = "0fe284f2-49f6-5f03-b080-00000000000a", "0fe284f2-49f6-5f03-b080-00000000000b", "0fe284f2-49f6-5f03-b080-00000000000c", "0fe284f2-49f6-5f03-b080-000000000001"
	for name, tt := range map[string]struct {
		before, after []fhirmap.Resource
		want          string
	}{
		"input corrected":              {[]fhirmap.Resource{observation(a, "", "1"), observation(b, "m-1", "2", a), observation(c, "n-1", "3", b)}, []fhirmap.Resource{observation(a, "", "9"), observation(b, "m-1", "8", a), observation(c, "n-1", "7", b)}, "corrected corrected corrected"},
		"input of another method":      {[]fhirmap.Resource{observation(a, "", "1"), observation(b, "m-1", "2", a), observation(c, "n-1", "3", b)}, []fhirmap.Resource{observation(a, "", "1"), observation(b, "m-2", "8", a), observation(c, "n-1", "7", b)}, "amended amended"},
		"both":                         {[]fhirmap.Resource{observation(a, "", "1"), observation(b, "m-1", "2", a)}, []fhirmap.Resource{observation(a, "", "9"), observation(b, "m-2", "8", a)}, "corrected corrected"},
		"another input":                {[]fhirmap.Resource{observation(b, "m-1", "2")}, []fhirmap.Resource{observation(a, "", "1"), observation(b, "m-1", "8", a)}, "amended"},
		"no input says why":            {[]fhirmap.Resource{observation(a, "", "1"), observation(b, "m-1", "2", a)}, []fhirmap.Resource{observation(a, "", "1"), observation(b, "m-1", "8", a)}, "corrected"},
		"the same by another method":   {[]fhirmap.Resource{observation(b, "m-1", "2")}, []fhirmap.Resource{observation(b, "m-2", "2")}, "amended"},
		"the value by the same method": {[]fhirmap.Resource{observation(b, "m-1", "2")}, []fhirmap.Resource{observation(b, "m-1", "3")}, "corrected"},
	} {
		for _, old := range []bool{false, true} {
			r, err := receipt.Open(t.TempDir()+"/receipt.json", "https://fhir.example", "")
			must(t, err)
			s := &Sender{receipt: r}
			for _, resource := range tt.before {
				s.record(Session{Identity: session}, resource, "x", "1", receipt.Created)
				if e, _ := r.Of(resource.Identity); old {
					e.State, e.Method, e.Result = "", "", ""
					r.Put(e)
				}
			}
			plan := MakePlan(r, []Session{{Identity: session, Resources: tt.after}}, nil, AmendOptions{})
			var kinds []string
			for _, c := range plan.Sessions[0].Correct {
				kinds = append(kinds, string(c.Kind))
			}
			got, want := strings.Join(kinds, " "), tt.want
			if old {
				want = strings.ReplaceAll(want, "amended", "corrected")
			}
			if got != want {
				t.Errorf("%s, old receipt %t: %s, want %s", name, old, got, want)
			}
		}
	}
}
