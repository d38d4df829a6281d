package calc

import (
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "rewrite testdata/methods.golden")

// TestMethodsArePermanent holds every method at one point against a file: an
// id that vanishes, or a value that changes while its version does not, is a
// break for records already written. After a deliberate change raise the
// version and run the test with -update.
func TestMethodsArePermanent(t *testing.T) {
	var out strings.Builder
	for _, m := range Methods() {
		in := Inputs{}
		for i, spec := range m.Inputs {
			bounds := typical[spec.Key]
			in[spec.Key] = bounds[0] + (0.3+0.07*float64(i))*(bounds[1]-bounds[0])
			if spec.Key == "sex" || spec.Key == "diabetes" {
				in[spec.Key] = 1
			}
		}
		if _, aged := in["age"]; aged && strings.HasPrefix(m.ID, "morgenstern") {
			in["age"] = map[string]float64{"morgenstern-infant": 0.1, "morgenstern-boy": 8, "morgenstern-girl": 8}[m.ID]
			if in["age"] == 0 {
				in["age"] = 15
			}
		}
		switch {
		case strings.HasSuffix(m.ID, "-small"):
			in["height"] = 100
		case strings.HasSuffix(m.ID, "-tall"):
			in["height"] = 150
		}
		r := m.Compute(in)
		if !r.OK() {
			t.Errorf("%s: %s", m.ID, r.WhyNot)
		}
		fmt.Fprintf(&out, "%s\t%s\t%s\t%.9g\n", m.Code(), m.Key, m.Unit, r.Value)
	}
	const file = "testdata/methods.golden"
	if *update {
		if err := os.WriteFile(file, []byte(out.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	gotLines, wantLines := strings.Split(out.String(), "\n"), strings.Split(string(want), "\n")
	for i := range max(len(gotLines), len(wantLines)) {
		var got, want string
		if i < len(gotLines) {
			got = gotLines[i]
		}
		if i < len(wantLines) {
			want = wantLines[i]
		}
		if got != want {
			t.Errorf("line %d:\ngot  %q\nwant %q", i+1, got, want)
		}
	}
}
