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

const officialExamples = "../../profiles/fsh/node_modules/hl7.fhir.r4.examples"

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
func ours(lib *profile.Library, p pair) (faults []string, notes []string) {
	var d document
	d.doc.Parse(p.Resource, "")
	add := func(f issue.Finding) {
		if f.Severity == issue.Error {
			faults = append(faults, fmt.Sprintf("%s %s: %s", f.Rule, f.Expression, f.Details))
		}
	}
	d.types.Check(&d.doc, add)
	if d.doc.Root() == doc.None {
		return faults, nil
	}
	d.rec.Read(&d.doc)
	c := profile.New(lib, profile.Options{Profiles: []string{p.Profile}})
	c.Check(&d.types, &d.rec, add)
	var i invariant.Checker
	i.Check(&d.types, add)
	vitals.Check(&d.types, add)
	return faults, c.Notes()
}

// TestExamplesVerdicts holds published examples against the profiles they
// claim: those of R4 itself, and of guides with their own examples. All
// conform, or testdata/verdicts.txt says why not, and likewise why we accept
// what @medplum/core rejects. Then the examples both accept are made worse, a
// member less at a time, and the verdicts are compared again.
func TestExamplesVerdicts(t *testing.T) {
	lib := guidesLibrary(t, nil)
	decided := decisions(t, "ours", "other", "worse")
	var folders []string
	for _, g := range guides {
		folders = append(folders, filepath.Join(published, g.name))
	}
	t.Run("hl7.fhir.r4", func(t *testing.T) {
		v := verdicts{"hl7.fhir.r4", profile.NewLibrary(), nil, decided}
		v.compare(t, claimed(t, officialExamples, coreURL))
	})
	for _, g := range guides {
		if g.base != "" {
			t.Run(g.name, func(t *testing.T) {
				v := verdicts{g.name, lib, folders, decided}
				v.compare(t, claimed(t, filepath.Join(published, g.name, "example"), g.base))
			})
		}
	}
	allMet(t, decided)
}

const (
	coreURL   = "http://hl7.org/fhir/StructureDefinition/"
	published = "testdata/verdicts/node_modules"
)

// guides are published packages with, where they have examples, what the URLs
// of their profiles begin with; those that others are based on come first.
var guides = []struct{ name, base string }{
	{"hl7.terminology.r4", ""}, {"hl7.fhir.uv.extensions.r4", ""}, {"hl7.fhir.uv.genomics-reporting", "http://hl7.org/fhir/uv/genomics-reporting/"},
	{"hl7.fhir.uv.sdc", "http://hl7.org/fhir/uv/sdc/"}, {"hl7.fhir.uv.ips", "http://hl7.org/fhir/uv/ips/"},
	{"hl7.fhir.au.base", "http://hl7.org.au/fhir/"}, {"hl7.fhir.us.mcode", "http://hl7.org/fhir/us/mcode/"},
}

// guidesLibrary reads the guides as a person would give them, or each file as
// change leaves it.
func guidesLibrary(t *testing.T, change func(text []byte) []byte) *profile.Library {
	t.Helper()
	var all []*profile.Package
	for _, g := range guides {
		files, err := filepath.Glob(filepath.Join(published, g.name, "*.tgz"))
		if err != nil || len(files) != 1 {
			t.Fatalf("no %s: testdata/verdicts/fetch.sh gets it", g.name)
		}
		text, err := os.ReadFile(files[0])
		if err != nil {
			t.Fatal(err)
		}
		if change != nil {
			text = packed(t, changed(t, filepath.Join(published, g.name), change)...)
		}
		p, err := profile.ReadPackage(bytes.NewReader(text))
		if err != nil {
			t.Fatalf("%s: %v", g.name, err)
		}
		all = append(all, p)
	}
	return profile.NewLibrary(all...)
}

// changed reads the definitions of a folder.
func changed(t *testing.T, folder string, change func(text []byte) []byte) []string {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(folder, "*.json"))
	if err != nil {
		t.Fatal(err)
	}
	var files []string
	for _, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if strings.HasPrefix(filepath.Base(name), "StructureDefinition-") {
			text = change(text)
		}
		files = append(files, "package/"+filepath.Base(name)+"\x00"+string(text))
	}
	return files
}

// TestExamplesDifferentials holds the examples of the guides, and each with a
// member less, against profiles whose snapshots were made here: the findings
// are those with the snapshots that were shipped.
func TestExamplesDifferentials(t *testing.T) {
	decided := decisions(t, "made")
	shipped := guidesLibrary(t, nil)
	made := guidesLibrary(t, func(text []byte) []byte {
		var sd map[string]json.RawMessage
		if err := json.Unmarshal(text, &sd); err != nil {
			t.Fatal(err)
		}
		delete(sd, "snapshot")
		text, err := json.Marshal(sd)
		if err != nil {
			t.Fatal(err)
		}
		return text
	})
	for _, g := range guides {
		if g.base == "" {
			continue
		}
		v := verdicts{guide: g.name, decided: decided}
		checked, unmade, rejected, different := 0, 0, 0, 0
		for _, p := range claimed(t, filepath.Join(published, g.name, "example"), g.base) {
			if made.Check(p.Profile) != nil {
				unmade++
				continue
			}
			for _, q := range append(worse(t, p), p) {
				checked++
				want, _ := ours(shipped, q)
				got, _ := ours(made, q)
				rejected += min(1, len(want))
				if !slices.Equal(want, got) {
					different++
					v.met(t, "made", q.Profile[strings.LastIndexByte(q.Profile, '/')+1:]+" "+q.name, fmt.Sprintf("%q, shipped %q", got, want))
				}
			}
		}
		t.Logf("table: made snapshots, %-30s %4d examples and worse ones, %d rejected, %d with other findings; %d without base", g.name, checked, rejected, different, unmade)
	}
	allMet(t, decided)
}

// verdicts compares two engines on the examples of one guide.
type verdicts struct {
	guide   string
	lib     *profile.Library
	folders []string
	decided []*decision
}

// met counts something that differs down, or tells that nobody decided it.
func (v *verdicts) met(t *testing.T, who, text, about string) {
	t.Helper()
	for _, d := range v.decided {
		if d.who == who && d.guide == v.guide && d.count > 0 && strings.HasPrefix(text, d.text) {
			d.count--
			return
		}
	}
	t.Errorf("not listed: %s %s: %s about %s", who, v.guide, text, about)
}

func (v *verdicts) compare(t *testing.T, pairs []pair) {
	their := theirs(t, pairs, v.folders...)
	var mutants []pair
	var count [4]int // accepted by both, rejected by us only, by the other only, by both
	open := map[string]bool{}
	for i, p := range pairs {
		faults, notes := ours(v.lib, p)
		for _, note := range notes {
			open[note] = true
		}
		verdict := min(1, len(faults)) + 2*min(1, len(their[i]))
		count[verdict]++
		about := p.name + " against " + p.Profile
		for _, fault := range faults {
			v.met(t, "ours", fault, about)
		}
		switch verdict {
		case 2:
			v.met(t, "other", their[i][0], about)
		case 0:
			mutants = append(mutants, worse(t, p)...)
		}
	}
	for _, note := range slices.Sorted(maps.Keys(open)) {
		t.Logf("not checked: %s", note)
	}
	t.Logf("table: verdicts on  %-32s %4d examples: both accept %d, both reject %d, only ours rejects %d, only the other %d", v.guide, len(pairs), count[0], count[3], count[1], count[2])
	v.compareMutants(t, mutants)
}

func (v *verdicts) compareMutants(t *testing.T, mutants []pair) {
	var both, neither, onlyOurs, onlyTheirs int
	reasons := map[string]int{}
	for i, messages := range theirs(t, mutants, v.folders...) {
		faults, _ := ours(v.lib, mutants[i])
		switch {
		case len(faults) > 0 && len(messages) > 0:
			both++
		case len(faults) > 0:
			onlyOurs++
			rule, _, _ := strings.Cut(faults[0], " ")
			reasons[rule]++
		case len(messages) > 0:
			onlyTheirs++
			v.met(t, "worse", messages[0], mutants[i].name+" against "+mutants[i].Profile)
		default:
			neither++
		}
	}
	t.Logf("table: verdicts on  %-32s %4d made worse: both reject %d, neither %d, only ours %d %v, only the other %d", v.guide, len(mutants), both, neither, onlyOurs, reasons, onlyTheirs)
}
