//go:build examples

package validate_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/invariant"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/structure"
	"runsheet.example/validate/ucum"
)

// examples are the documents that HL7 publishes with R4 (npm
// hl7.fhir.r4.examples 4.0.1, CC0). They are large, so what reads them stands
// behind a build tag; .ci/examples gets them and runs it.
func examples(tb testing.TB) []string {
	tb.Helper()
	const folder = "../testdata/oracle/examples/node_modules/hl7.fhir.r4.examples"
	files, err := filepath.Glob(folder + "/*.json")
	files = slices.DeleteFunc(files, func(path string) bool { return filepath.Base(path) == "package.json" })
	if err != nil || len(files) != 5306 {
		tb.Fatalf("%d examples (%v), 5,306 are published: run bash .ci/examples", len(files), err)
	}
	return files
}

// TestExamplesStructure compares our structure layer with the published JSON
// Schema on all official examples: a document is refused by both or by none,
// save those listed with the reason in testdata/examples-structure.txt.
func TestExamplesStructure(t *testing.T) {
	var d doc.Doc
	var ours structure.Checker
	published := publishedSchema(t)
	different := map[string]bool{}
	counts := map[string]int{}
	for _, file := range examples(t) {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		var rules []string
		for _, f := range d.Parse(data, "") {
			rules = append(rules, f.Rule)
		}
		ours.Check(&d, func(f issue.Finding) {
			if f.Severity == issue.Error {
				rules = append(rules, f.Rule)
			}
		})
		takes := conforms(published, data)
		switch {
		case takes == (len(rules) == 0):
			counts[map[bool]string{true: "both accept", false: "both refuse"}[takes]]++
		case takes:
			different[filepath.Base(file)+" ours "+tally(rules)] = true
		default:
			different[filepath.Base(file)+" schema"] = true
		}
	}
	t.Logf("table: structure and JSON Schema: %d documents differ, %v", len(different), counts)
	compareWithList(t, "testdata/examples-structure.txt", different)
}

func tally(rules []string) string {
	slices.Sort(rules)
	var parts []string
	for len(rules) > 0 {
		n := 1
		for n < len(rules) && rules[n] == rules[0] {
			n++
		}
		parts = append(parts, fmt.Sprintf("%s*%d", rules[0], n))
		rules = rules[n:]
	}
	return strings.Join(parts, ",")
}

// judged are what npm fhirpath and @lhncbc/ucum-lhc say of the files: broken
// invariants by "file key place", and units.
func judged(t *testing.T, files []string) (broken map[string]int, units map[string]bool) {
	t.Helper()
	out, err := oracle(t, strings.Join(files, "\n"), "examples.mjs")
	if err != nil {
		t.Fatal(err)
	}
	broken, units = map[string]int{}, map[string]bool{}
	for line := range bytes.Lines(out) {
		var said struct {
			File, Key, Expression, Message, Code string
			Valid                                *bool
		}
		if err := json.Unmarshal(line, &said); err != nil {
			t.Fatal(err)
		}
		switch {
		case said.Valid != nil:
			units[said.Code] = *said.Valid
		case said.Message != "":
			broken[said.File+" "+said.Key+" cannot be evaluated"]++
		default:
			broken[said.File+" "+said.Key+" "+said.Expression]++
		}
	}
	return broken, units
}

// TestExamplesOtherEngines asks npm fhirpath and @lhncbc/ucum-lhc about all
// official examples.
func TestExamplesOtherEngines(t *testing.T) {
	broken, units := judged(t, examples(t))
	t.Run("invariants", func(t *testing.T) { compareInvariants(t, broken) })
	t.Run("units", func(t *testing.T) { compareExampleUnits(t, units) })
}

// compareInvariants compares ours with theirs, each at its place, save those
// listed with the reason in testdata/examples-invariants.txt.
func compareInvariants(t *testing.T, theirs map[string]int) {
	ours := ourInvariants(t, examples(t))
	different := map[string]bool{}
	both, wordings := 0, map[string]int{}
	for place := range maps.Keys(union(ours, theirs)) {
		_, rest, _ := strings.Cut(place, " ")
		key, _, _ := strings.Cut(rest, " ")
		switch {
		case ours[place] == theirs[place]:
			both += ours[place]
		case strings.HasSuffix(key, "-0") && ours[place] > 0:
			wordings[key] += ours[place]
		default:
			different[fmt.Sprintf("%s ours %d fhirpath %d", place, ours[place], theirs[place])] = true
		}
	}
	for key, n := range wordings {
		different[fmt.Sprintf("%s ours %d times", key, n)] = true
	}
	t.Logf("table: invariants and npm fhirpath: %d found by both, %v by words only, %d other differences", both, wordings, len(different)-len(wordings))
	compareWithList(t, "testdata/examples-invariants.txt", different)
}

// ourInvariants are those that we find broken, by "file key place".
func ourInvariants(t *testing.T, files []string) map[string]int {
	t.Helper()
	keys := map[string]string{}
	for _, entry := range invariant.Table() {
		keys[entry.Rule] = entry.Key
	}
	ours := map[string]int{}
	var check invariantsOf
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range check.everywhere(data) {
			if key, ok := keys[f.Rule]; ok {
				ours[filepath.Base(file)+" "+key+" "+f.Expression]++
			}
		}
	}
	return ours
}

// invariantsOf finds the broken invariants of one document after the other.
type invariantsOf struct {
	d doc.Doc
	s structure.Checker
	c invariant.Checker
}

func (of *invariantsOf) once(data []byte) (found []issue.Finding) {
	add := func(f issue.Finding) { found = append(found, f) }
	of.d.Parse(data, "")
	of.s.Check(&of.d, add)
	of.c.Check(&of.s, add)
	return found
}

// everywhere looks at the entries of a Bundle one by one when the list of
// findings of the whole has come to its end.
func (of *invariantsOf) everywhere(data []byte) []issue.Finding {
	const most = 1000
	whole := of.once(data)
	if len(whole) < most {
		return whole
	}
	found := slices.DeleteFunc(whole, func(f issue.Finding) bool { return !strings.HasPrefix(f.Rule, "inv-bdl-") })
	var bundle struct {
		Entry []struct{ Resource json.RawMessage }
	}
	if err := json.Unmarshal(data, &bundle); err != nil {
		panic(err)
	}
	for i, entry := range bundle.Entry {
		for _, f := range of.once(entry.Resource) {
			_, within, _ := strings.Cut(f.Expression+".", ".")
			f.Expression = strings.TrimSuffix(fmt.Sprintf("Bundle.entry[%d].resource.%s", i, within), ".")
			found = append(found, f)
		}
	}
	return found
}

func union(a, b map[string]int) map[string]int {
	all := maps.Clone(a)
	maps.Copy(all, b)
	return all
}

// compareExampleUnits compares our reading of UCUM with theirs on every unit in the
// examples.
func compareExampleUnits(t *testing.T, units map[string]bool) {
	different := map[string]bool{}
	for code, valid := range units {
		if _, err := ucum.Parse(code); (err == nil) != valid {
			different[fmt.Sprintf("%q ours %v ucum-lhc %v", code, err == nil, valid)] = true
		}
	}
	t.Logf("table: units and npm ucum-lhc: %d units, %d differ", len(units), len(different))
	compareWithList(t, "testdata/examples-units.txt", different)
}

// compared are the types of resource whose examples are also compared broken.
var compared = []string{
	"Bundle", "CarePlan", "Composition", "Device", "DiagnosticReport", "DocumentReference", "List", "MedicationAdministration",
	"Observation", "OperationOutcome", "Patient", "Procedure", "Provenance", "Questionnaire", "QuestionnaireResponse", "ServiceRequest",
}

// TestExamplesBroken compares invariants with npm fhirpath on examples of the
// types a treatment record is made of, each with one member left out, one
// after the other.
func TestExamplesBroken(t *testing.T) {
	folder := t.TempDir()
	var files []string
	for _, file := range examples(t) {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		var d doc.Doc
		d.Parse(data, "")
		if len(data) > 40_000 || !slices.Contains(compared, string(d.Str(d.Get(d.Root(), "resourceType")))) {
			continue
		}
		for n := range doc.Node(d.Len()) {
			parent := d.Parent(n)
			if d.Kind(parent) != doc.Object || d.Count(parent) < 2 || string(d.Key(n)) == "resourceType" {
				continue
			}
			path := filepath.Join(folder, fmt.Sprintf("%s-%d.json", strings.TrimSuffix(filepath.Base(file), ".json"), n))
			if err := os.WriteFile(path, without(&d, n), 0o600); err != nil {
				t.Fatal(err)
			}
			files = append(files, path)
		}
	}
	theirs, _ := judged(t, files)
	compareKinds(t, theirs, ourInvariants(t, files))
}

// compareKinds counts differences by key, since one left-out member tells as
// much as the next; the counts and reasons stand in
// testdata/examples-broken.txt. Places are left out: of an invariant about a
// list we blame the item.
func compareKinds(t *testing.T, theirs, ours map[string]int) {
	both, kinds := 0, map[string]int{}
	theirs, ours = byFileAndKey(theirs), byFileAndKey(ours)
	for place := range maps.Keys(union(ours, theirs)) {
		_, key, _ := strings.Cut(place, " ")
		switch mine, other := ours[place] > 0, theirs[place] > 0; {
		case mine && other:
			both++
		case mine:
			kinds[key+" ours"]++
		default:
			kinds[key+" fhirpath"]++
		}
	}
	different := map[string]bool{}
	for kind, n := range kinds {
		different[fmt.Sprintf("%s %d", kind, n)] = true
	}
	t.Logf("table: examples made worse, invariants and npm fhirpath: %d found by both, %d kinds of difference", both, len(kinds))
	compareWithList(t, "testdata/examples-broken.txt", different)
}

func byFileAndKey(found map[string]int) map[string]int {
	kept := map[string]int{}
	for place, n := range found {
		fields := strings.SplitN(place, " ", 3)
		kept[fields[0]+" "+fields[1]] += n
	}
	return kept
}

// without writes the document without one member.
func without(d *doc.Doc, member doc.Node) []byte {
	start, end := d.Offset(member), d.End(member)
	// back over the name, and over the comma before or after
	start = bytes.LastIndexByte(d.Data[:start], ':')
	start = bytes.LastIndexByte(d.Data[:bytes.LastIndexByte(d.Data[:start], '"')], '"')
	if comma := bytes.TrimRight(d.Data[:start], " \t\r\n"); comma[len(comma)-1] == ',' {
		start = len(comma) - 1
	} else if rest := bytes.TrimLeft(d.Data[end:], " \t\r\n"); rest[0] == ',' {
		end = len(d.Data) - len(rest) + 1
	}
	return slices.Concat(d.Data[:start], d.Data[end:])
}
