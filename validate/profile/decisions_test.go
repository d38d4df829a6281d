//go:build examples

package profile_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// decision is a line of testdata/verdicts.txt: how often something is said
// that begins with some text, by whom, about the examples of a guide.
type decision struct {
	who, guide, text string
	count            int
}

// decisions reads lines of who, guide, count, text and, after a #, why it is
// right, or no fault of ours. Who is ours, other, worse: the other engine
// about an example made worse, or made: ours with snapshots made here, where
// the findings are not those with the ones shipped.
func decisions(t *testing.T, who ...string) []*decision {
	t.Helper()
	text, err := os.ReadFile("testdata/verdicts.txt")
	if err != nil {
		t.Fatal(err)
	}
	var out []*decision
	for line := range strings.Lines(string(text)) {
		what, reason, _ := strings.Cut(strings.TrimSpace(line), " # ")
		fields := strings.Fields(what)
		if len(fields) == 0 || fields[0] == "#" {
			continue
		}
		count := 0
		if len(fields) > 3 {
			count, err = strconv.Atoi(fields[2])
		}
		if count == 0 || err != nil || reason == "" {
			t.Fatalf("%q: who, guide, count, text and reason are expected", line)
		}
		if slices.Contains(who, fields[0]) {
			out = append(out, &decision{fields[0], fields[1], strings.Join(fields[3:], " "), count})
		}
	}
	return out
}

// allMet tells of decisions about what is said no more.
func allMet(t *testing.T, decided []*decision) {
	t.Helper()
	for _, d := range decided {
		if d.count != 0 {
			t.Errorf("listed, but found %d times fewer: %s %s %s", d.count, d.who, d.guide, d.text)
		}
	}
}

// worse makes a resource worse in ways that take one member out of it.
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
	// Of a large one some of each kind are enough.
	const most = 60
	if every := (len(out) + most - 1) / most; every > 1 {
		kept := out[:0]
		for i := range out {
			if i%every == 0 {
				kept = append(kept, out[i])
			}
		}
		out = kept
	}
	return out
}
