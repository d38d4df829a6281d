//go:build examples

package profile_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/invariant"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/profile"
	"runsheet.example/validate/vitals"
)

const (
	officialExamples = "../../profiles/fsh/node_modules/hl7.fhir.r4.examples"
	publishedGuide   = "testdata/verdicts/node_modules/hl7.fhir.uv.ips"
)

// pair is a resource and the profile it is held against.
type pair struct {
	name     string
	Profile  string          `json:"profile"`
	Resource json.RawMessage `json:"resource"`
}

// claimed lists the examples of a folder with each profile they claim.
func claimed(t *testing.T, folder, base string) []pair {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(folder, "*.json"))
	if err != nil || len(names) == 0 {
		t.Fatalf("nothing in %s: npm ci in profiles/fsh and testdata/verdicts/fetch.sh get it", folder)
	}
	var out []pair
	for _, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		var r struct {
			ResourceType string
			Meta         struct{ Profile []string }
		}
		if json.Unmarshal(text, &r) != nil || r.ResourceType == "StructureDefinition" {
			continue
		}
		if vital := vitalSign(text); base == coreURL && vital != "" {
			out = append(out, pair{filepath.Base(name), coreURL + vital, text})
		}
		for _, url := range r.Meta.Profile {
			url, _, _ = strings.Cut(url, "|")
			if strings.HasPrefix(url, base) && !strings.HasSuffix(url, "/"+r.ResourceType) {
				out = append(out, pair{filepath.Base(name), url, text})
			}
		}
	}
	return out
}

// vitalSign is the profile that R4 applies to an Observation by its code.
func vitalSign(text []byte) string {
	var o struct {
		ResourceType string
		Code         struct {
			Coding []struct{ System, Code string }
		}
	}
	if json.Unmarshal(text, &o) != nil || o.ResourceType != "Observation" {
		return ""
	}
	for _, c := range o.Code.Coding {
		if name := vitalSigns[c.Code]; name != "" && c.System == "http://loinc.org" {
			return name
		}
	}
	return ""
}

// FHIR R4 4.0.1, Vital Signs.
var vitalSigns = map[string]string{
	"85353-1": "vitalspanel", "9279-1": "resprate", "8867-4": "heartrate", "2708-6": "oxygensat", "8310-5": "bodytemp",
	"8302-2": "bodyheight", "9843-4": "headcircum", "29463-7": "bodyweight", "39156-5": "bmi", "85354-9": "bp",
}

// theirs asks the other engine about all pairs.
func theirs(t *testing.T, pairs []pair, folders ...string) [][]string {
	t.Helper()
	var in bytes.Buffer
	for _, p := range pairs {
		var text bytes.Buffer
		if err := json.Compact(&text, p.Resource); err != nil {
			t.Fatal(err)
		}
		p.Resource = text.Bytes()
		if err := json.NewEncoder(&in).Encode(p); err != nil {
			t.Fatal(err)
		}
	}
	cmd := exec.Command("node", append([]string{filepath.Join("testdata", "verdicts", "verdicts.mjs")}, folders...)...)
	cmd.Stdin = &in
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("node: %v (npm ci in testdata/oracle)", err)
	}
	var all [][]string
	for line := range bytes.Lines(out) {
		var messages []string
		if err := json.Unmarshal(line, &messages); err != nil {
			t.Fatal(err)
		}
		all = append(all, messages)
	}
	if len(all) != len(pairs) {
		t.Fatalf("%d verdicts about %d resources", len(all), len(pairs))
	}
	return all
}

// ours are the errors of all layers that look at a resource by itself.
func ours(lib *profile.Library, p pair) (errors []string, notes []string) {
	var d document
	d.doc.Parse(p.Resource, "")
	add := func(f issue.Finding) {
		if f.Severity == issue.Error {
			errors = append(errors, fmt.Sprintf("%s %s: %s", f.Rule, f.Expression, f.Details))
		}
	}
	d.types.Check(&d.doc, add)
	if d.doc.Root() == doc.None {
		return errors, nil
	}
	d.rec.Read(&d.doc)
	c := profile.New(lib, profile.Options{Profiles: []string{p.Profile}})
	c.Check(&d.types, &d.rec, add)
	var i invariant.Checker
	i.Check(&d.types, add)
	vitals.CheckTyped(&d.types, add)
	return errors, c.Notes()
}

// TestExamplesVerdicts holds published examples against the profiles they
// claim: those of R4 itself, and a guide of HL7 with its own examples. All
// conform, save those listed. Then each example is made worse, a member less
// at a time, and the verdicts are compared with those of @medplum/core: what
// it rejects and we do not must be none.
func TestExamplesVerdicts(t *testing.T) {
	for _, tc := range []struct {
		name, base string
		pairs      []pair
		lib        *profile.Library
		folders    []string
	}{
		{"R4", coreURL, claimed(t, officialExamples, coreURL), profile.NewLibrary(), nil},
		{"guide", "", claimed(t, filepath.Join(publishedGuide, "example"), "http://hl7.org/fhir/uv/ips/"), guideLibrary(t), []string{publishedGuide}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			compareVerdicts(t, tc.pairs, tc.lib, tc.folders)
		})
	}
}

const coreURL = "http://hl7.org/fhir/StructureDefinition/"

func guideLibrary(t *testing.T) *profile.Library {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(publishedGuide, "*.json"))
	if err != nil {
		t.Fatal(err)
	}
	var files []string
	for _, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		files = append(files, "package/"+filepath.Base(name)+"\x00"+string(text))
	}
	return library(t, files...)
}

// rejected are the examples that do not conform: a body temperature without a
// time, which the profile asks for.
var rejected = map[string]bool{"Observation-f202.json " + coreURL + "bodytemp": true}

func compareVerdicts(t *testing.T, pairs []pair, lib *profile.Library, folders []string) {
	their := theirs(t, pairs, folders...)
	var mutants []pair
	byProfile := map[string][3]int{}
	for i, p := range pairs {
		errors, _ := ours(lib, p)
		n := byProfile[p.Profile]
		n[0]++
		n[1] += min(1, len(errors))
		n[2] += min(1, len(their[i]))
		byProfile[p.Profile] = n
		if (len(errors) > 0) != rejected[p.name+" "+p.Profile] {
			t.Errorf("%s against %s: %q", p.name, p.Profile, errors)
		}
		if len(errors) > 0 || len(their[i]) > 0 {
			t.Logf("%s against %s\n  ours   %q\n  theirs %q", p.name, p.Profile, errors, their[i])
		}
		if len(errors) == 0 && len(their[i]) == 0 {
			mutants = append(mutants, worse(t, p)...)
		}
	}
	for _, url := range slices.Sorted(maps.Keys(byProfile)) {
		n := byProfile[url]
		t.Logf("%-80s %3d examples, rejected by ours %d, by the other %d", url, n[0], n[1], n[2])
	}
	var both, neither, onlyOurs, onlyTheirs int
	reasons := map[string]int{}
	for i, messages := range theirs(t, mutants, folders...) {
		errors, _ := ours(lib, mutants[i])
		switch {
		case len(errors) > 0 && len(messages) > 0:
			both++
		case len(errors) > 0:
			onlyOurs++
			rule, _, _ := strings.Cut(errors[0], " ")
			reasons[rule]++
		case len(messages) > 0:
			onlyTheirs++
			t.Errorf("only the other rejects %s against %s: %q", mutants[i].name, mutants[i].Profile, messages)
		default:
			neither++
		}
	}
	if both < 200 {
		t.Errorf("only %d are rejected by both", both)
	}
	t.Logf("%d made worse: rejected by both %d, neither %d, only ours %d %v, only the other %d", len(mutants), both, neither, onlyOurs, reasons, onlyTheirs)
}

// worse makes a resource worse in all ways that take one member out of it.
func worse(t *testing.T, p pair) []pair {
	t.Helper()
	var root map[string]any
	d := json.NewDecoder(bytes.NewReader(p.Resource))
	d.UseNumber()
	if err := d.Decode(&root); err != nil {
		t.Fatal(err)
	}
	var out []pair
	var visit func(v any, path string)
	visit = func(v any, path string) {
		switch v := v.(type) {
		case map[string]any:
			for _, name := range slices.Sorted(maps.Keys(v)) {
				if name == "resourceType" || path == "" && (name == "meta" || name == "text") {
					continue
				}
				kept := v[name]
				delete(v, name)
				text, err := json.Marshal(root)
				if err != nil {
					t.Fatal(err)
				}
				out = append(out, pair{p.name + " without " + path + name, p.Profile, text})
				v[name] = kept
				visit(kept, path+name+".")
			}
		case []any:
			for i, item := range v {
				visit(item, fmt.Sprintf("%s%d.", path, i))
			}
		}
	}
	switch root["resourceType"] {
	case "Bundle", "CodeSystem", "ValueSet": // too many members
	default:
		visit(root, "")
	}
	return out
}
