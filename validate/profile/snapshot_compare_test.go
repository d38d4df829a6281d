package profile

import (
	"encoding/json"
	"fmt"
	"io/fs"
	"maps"
	"slices"
	"strings"
	"testing"

	"runsheet.example/profiles"
)

// core are the invariants of R4, which hold wherever they are stated.
var core = knownInvariants()

// bare are canonical URLs in order, those of R4 without its version: some
// programs add that.
func bare(urls []string) []string {
	var out []string
	for _, url := range urls {
		out = append(out, strings.TrimSuffix(url, "|4.0.1"))
	}
	slices.Sort(out)
	return out
}

// inOrder writes a value with the members of objects by name.
func inOrder(w *wanted) string {
	var parts []string
	for i := range w.members {
		parts = append(parts, w.members[i].name+" "+inOrder(&w.members[i].value))
	}
	slices.Sort(parts)
	for i := range w.items {
		parts = append(parts, inOrder(&w.items[i]))
	}
	return w.text + "(" + strings.Join(parts, ", ") + ")"
}

// said lists what an element of a snapshot says that can be checked.
func said(e *elementDefinition) map[string]string {
	_, reference, _ := strings.Cut(e.ContentReference, "#") // some write the definition before it
	out := map[string]string{"min": fmt.Sprint(e.minimum()), "max": e.Max, "reference": reference}
	for name, w := range map[string]*wanted{"fixed": e.fixed, "pattern": e.pattern} {
		if w != nil {
			out[name] = inOrder(w)
		}
	}
	for name, b := range map[string]*boundary{"least": e.minValue, "most": e.maxValue} {
		if b != nil {
			out[name] = b.value.String()
		}
	}
	if e.MaxLength != nil {
		out["length"] = fmt.Sprint(*e.MaxLength)
	}
	if e.MustSupport != nil && *e.MustSupport {
		out["must"] = "true"
	}
	if e.IsModifier != nil && *e.IsModifier {
		out["modifier"] = "true"
	}
	if e.Base != nil {
		out["base"] = fmt.Sprint(e.Base.Min, e.Base.Max)
	}
	for _, t := range e.Type {
		out["type"] += fmt.Sprint(t.Code, bare(t.Profile), bare(t.TargetProfile), t.Aggregation, t.Versioning, ";")
	}
	if b := e.Binding; b != nil && b.Strength != "example" && b.Strength != "preferred" {
		out["binding"] = b.Strength + " " + bare([]string{b.ValueSet})[0]
	}
	if s := e.Slicing; s != nil {
		out["slicing"] = fmt.Sprint(s.Discriminator, s.Ordered != nil && *s.Ordered, s.Rules)
	}
	var keys []string
	for _, c := range e.Constraint {
		if !core[c.Key] && !slices.Contains(keys, c.Key) {
			keys = append(keys, c.Key)
		}
	}
	slices.Sort(keys)
	out["constraint"] = strings.Join(keys, " ")
	return out
}

// inSlices is how many occurrences the slices of an element ask for: some
// programs write that at the element itself.
func inSlices(made []elementDefinition, e *elementDefinition) int {
	sum := 0
	for i := range made {
		if rest, ok := strings.CutPrefix(made[i].ID, e.ID+":"); ok && rest == made[i].SliceName && !strings.Contains(rest, "/") {
			sum += made[i].minimum()
		}
	}
	return sum
}

// departures lists in what a snapshot made here differs from the one that a
// definition came with: "id what ours theirs".
func departures(made, shipped []elementDefinition) []string {
	byID := func(all []elementDefinition) map[string]*elementDefinition {
		out := map[string]*elementDefinition{}
		for i := range all {
			out[all[i].ID] = &all[i]
		}
		return out
	}
	ours, theirs := byID(made), byID(shipped)
	var out []string
	for _, id := range slices.Sorted(maps.Keys(theirs)) {
		o := ours[id]
		if o == nil {
			out = append(out, id+"\tonly theirs")
			continue
		}
		a, b := said(o), said(theirs[id])
		names := slices.Collect(maps.Keys(a))
		for name := range b {
			if _, both := a[name]; !both {
				names = append(names, name)
			}
		}
		for _, name := range slices.Sorted(slices.Values(names)) {
			if a[name] != b[name] && !(name == "min" && b[name] == fmt.Sprint(inSlices(made, o))) {
				out = append(out, fmt.Sprintf("%s\t%s\t%s\t%s", id, name, a[name], b[name]))
			}
		}
	}
	for _, id := range slices.Sorted(maps.Keys(ours)) {
		if theirs[id] == nil {
			out = append(out, id+"\tonly ours")
		}
	}
	return out
}

// remade makes the snapshot of a definition from its differential, whatever it
// came with.
func remade(l *Library, text []byte) (made, shipped []elementDefinition, err error) {
	var sd structureDefinition
	if err := json.Unmarshal(text, &sd); err != nil {
		return nil, nil, err
	}
	made, err = l.snapshot(&sd)
	return made, sd.Snapshot.Element, err
}

// The snapshots of our own profiles, made here from their differentials, say
// what those say that came from another program.
func TestOwnSnapshots(t *testing.T) {
	l := NewLibrary()
	names, err := fs.Glob(profiles.Package(), "StructureDefinition-*.json")
	if err != nil || len(names) < 10 {
		t.Fatal(names, err)
	}
	for _, name := range names {
		text, err := fs.ReadFile(profiles.Package(), name)
		if err != nil {
			t.Fatal(err)
		}
		made, shipped, err := remade(l, text)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		for _, d := range departures(made, shipped) {
			t.Errorf("%s: %s", name, d)
		}
	}
}
