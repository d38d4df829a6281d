//go:build differences

package validate_test

import (
	"bufio"
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"hash/fnv"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"runsheet.example/validate"
	"runsheet.example/validate/issue"
)

// Drawn are how many of the official R4 examples are compared, and how large
// one may be.
const (
	drawn       = 500
	largestSize = 20_000
)

// verdict is what HAPI FHIR's validator finds wrong in a file.
type verdict struct {
	File   string
	Errors []struct{ At, ID, Text string }
}

// TestDifferences compares the errors that HAPI FHIR's validator and ours find
// in official examples, as they are and each with one fault put in: whether
// there is an error, and where. What differs stands, by rule and message and
// with who is right, in testdata/differences.txt. The command of the other
// validator is HAPI_VERDICTS; DIFFERENCES_SEED draws other examples and faults,
// and then the list only tells which kinds are known.
func TestDifferences(t *testing.T) {
	seed := os.Getenv("DIFFERENCES_SEED")
	folder := t.TempDir()
	files := draw(t, seed)
	kinds := map[string]string{}
	for _, file := range files {
		kinds[file] = "as it is"
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		worse, kind := mutant(data, number(seed+filepath.Base(file)))
		name := filepath.Join(folder, filepath.Base(file))
		if err := os.WriteFile(name, worse, 0o600); err != nil {
			t.Fatal(err)
		}
		kinds[name] = kind
		files = append(files, name)
	}
	ours := validate.New(validate.Options{})
	counts, different := map[string]int{}, map[string]int{}
	for _, v := range verdicts(t, files) {
		data, err := os.ReadFile(v.File)
		if err != nil {
			t.Fatal(err)
		}
		form := "changed"
		if kinds[v.File] == "as it is" {
			form = "plain"
		}
		findings := slices.DeleteFunc(ours.Bytes(data, "x.json"), func(f issue.Finding) bool { return f.Severity != issue.Error })
		how, what := differ(v, findings)
		counts[form+": "+how]++
		for _, w := range what {
			different[form+" "+w]++
		}
		if len(what) == 0 && (form == "plain" || how != accepted) {
			continue
		}
		t.Logf("%s, %s: %s %v%s", filepath.Base(v.File), kinds[v.File], how, what, shown(v, findings))
	}
	t.Logf("table: %v", counts)
	if seed != "" {
		return
	}
	counted := map[string]bool{}
	for what, n := range different {
		counted[fmt.Sprintf("%s %d", what, n)] = true
	}
	compareWithList(t, "testdata/differences.txt", counted)
}

// draw takes examples of every type in turn, until there are enough.
func draw(t *testing.T, seed string) (files []string) {
	t.Helper()
	all, err := filepath.Glob("../profiles/fsh/node_modules/hl7.fhir.r4.examples/*-*.json")
	if err != nil {
		t.Fatal(err)
	}
	turn := map[string]int{}
	slices.SortFunc(all, func(a, b string) int {
		return cmp.Compare(number(seed+filepath.Base(a)), number(seed+filepath.Base(b)))
	})
	round := map[string]int{}
	for _, file := range all {
		if info, err := os.Stat(file); err != nil || info.Size() > largestSize {
			continue
		}
		kind, _, _ := strings.Cut(filepath.Base(file), "-")
		round[file] = turn[kind]
		turn[kind]++
		files = append(files, file)
	}
	if len(files) < drawn {
		t.Fatalf("%d examples: run bash .ci/differences", len(files))
	}
	slices.SortStableFunc(files, func(a, b string) int { return cmp.Compare(round[a], round[b]) })
	return files[:drawn]
}

func number(text string) uint64 {
	h := fnv.New64a()
	h.Write([]byte(text))
	return h.Sum64()
}

// beyond are faults against a session's record or its arithmetic, not against R4.
var beyond = regexp.MustCompile(`^(changed computed|computed value|value times|negative value|other words|unit of another|another patient|another form|condition of|other case of)`)

// mutant puts one fault into a document: half of the time one that is wrong
// wherever it stands, else one by what is said.
func mutant(data []byte, seed uint64) (worse []byte, kind string) {
	random := rand.New(rand.NewPCG(seed, 1))
	root := readTree(string(data))
	var form, meaning []fault
	for _, s := range spots(root, "", nil) {
		if v := s.value(); v.kind == 0 && v.raw == `""` || v.kind == '[' && len(v.kids) == 0 || strings.HasSuffix(s.path, ".div") {
			continue
		}
		form = append(form, structural(s)...)
		for _, f := range semantic(s) {
			if !beyond.MatchString(f.kind) {
				meaning = append(meaning, f)
			}
		}
	}
	from := form
	if len(meaning) > 0 && random.IntN(2) == 0 {
		from = meaning
	}
	f := from[random.IntN(len(from))]
	f.put()
	var out bytes.Buffer
	root.write(&out)
	return out.Bytes(), f.kind
}

// verdicts asks HAPI FHIR's validator about all files.
func verdicts(t *testing.T, files []string) (all []verdict) {
	t.Helper()
	command := strings.Fields(os.Getenv("HAPI_VERDICTS"))
	if len(command) == 0 {
		t.Fatal("HAPI_VERDICTS is not set: run bash .ci/differences")
	}
	asked := exec.Command(command[0], command[1:]...)
	asked.Stdin = strings.NewReader(strings.Join(files, "\n"))
	asked.Stderr = os.Stderr
	said, err := asked.Output()
	if err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(bytes.NewReader(said))
	lines.Buffer(nil, len(said)+1)
	for lines.Scan() {
		var v verdict
		if err := json.Unmarshal(lines.Bytes(), &v); err != nil {
			t.Fatalf("%v: %s", err, lines.Text())
		}
		all = append(all, v)
	}
	if len(all) != len(files) {
		t.Fatalf("%d verdicts of %d files", len(all), len(files))
	}
	return all
}

const accepted = "both accept"

// differ compares the errors found in a document: how they compare, and what is
// found by one alone, or the first two at places that have nothing in common.
func differ(v verdict, ours []issue.Finding) (how string, what []string) {
	alone := map[string]bool{}
	for _, f := range ours {
		alone["ours "+f.Rule] = true
	}
	for _, e := range v.Errors {
		alone["HAPI "+e.ID] = true
	}
	switch {
	case len(ours) == 0 && len(v.Errors) == 0:
		return accepted, nil
	case len(ours) == 0:
		how = "HAPI alone"
	case len(v.Errors) == 0:
		how = "ours alone"
	default:
		for _, f := range ours {
			for _, e := range v.Errors {
				if near(f.Expression, place(e.At)) {
					return "both refuse, at one place", nil
				}
			}
		}
		return "both refuse, elsewhere", []string{"elsewhere " + ours[0].Rule + " " + v.Errors[0].ID}
	}
	for a := range alone {
		what = append(what, a)
	}
	slices.Sort(what)
	return how, what
}

// unlike is what stands in a place of HAPI's and not in one of ours.
var unlike = regexp.MustCompile(`/\*.*?\*/| \(.*|\.ofType\(\w*\)|\[x\]`)

// place is a place of HAPI's as we write it; "" where it names none.
func place(at string) string { return unlike.ReplaceAllString(at, "") }

// near reports whether two places are the same, the one within the other or
// members of one element.
func near(a, b string) bool {
	return a == "" || b == "" || strings.HasPrefix(a+".", b+".") || strings.HasPrefix(b+".", a+".") || above(a) == above(b)
}

func above(at string) string { return at[:max(strings.LastIndexByte(at, '.'), 0)] }

func shown(v verdict, ours []issue.Finding) string {
	var out strings.Builder
	const most = 3
	for _, f := range ours[:min(most, len(ours))] {
		fmt.Fprintf(&out, "\n  ours %s %s: %s [%s]", f.Rule, f.Expression, f.Details, f.Value)
	}
	for _, e := range v.Errors[:min(most, len(v.Errors))] {
		fmt.Fprintf(&out, "\n  HAPI %s %s: %.200s", e.ID, e.At, e.Text)
	}
	return out.String()
}
