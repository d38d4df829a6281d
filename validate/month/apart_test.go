package month

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"runsheet.example/validate/issue"
)

// manifestText is a manifest with this and that wrong in it.
func manifestText(t *rapid.T) string {
	space := func() string { return rapid.SampledFrom([]string{"", " ", "\n", "\n  ", "\r\n\t"}).Draw(t, "space") }
	var entries []string
	for i := range rapid.IntRange(0, 6).Draw(t, "entries") {
		entry := fmt.Sprintf(`{"file":"%d.json",%s"sha256":%q,"session":"S%d","resources":[{"id":"id%d",%s"fullUrl":"urn:uuid:url%d","cells":[{"file":"a.csv","row":%d,"column":2,"heading":"pulse"}]}]}`,
			rapid.IntRange(0, 4).Draw(t, "name"), space(), strings.Repeat("a", rapid.SampledFrom([]int{64, 64, 64, 3}).Draw(t, "sum")), i, i, space(), i, i+1)
		entries = append(entries, space()+rapid.SampledFrom([]string{entry, entry, entry, entry, "7", `{"file":"../x","file":"y"}`, `{"file":"` + "\xff" + `"}`}).Draw(t, "entry"))
	}
	members := []string{
		`"bundles":` + space() + "[" + strings.Join(entries, ",") + space() + "]",
		rapid.SampledFrom([]string{`"format":1`, `"format":2`}).Draw(t, "format"),
		`"leftOut":[{"session":"S9","rules":["log-x"],"cell":{"file":"a.csv","row":3}}]`,
		`"expected":[{"from":"2025-01-01","sessionsPerWeek":5},{"from":"soon"}]`,
		`"root":"x"`,
	}
	members = rapid.Permutation(members).Draw(t, "members")
	return "{" + space() + strings.Join(members[:rapid.IntRange(2, 5).Draw(t, "count")], ","+space()) + space() + "}" +
		rapid.SampledFrom([]string{"", "\n", "}"}).Draw(t, "end")
}

// TestReadApart holds that a manifest says the same read entry by entry as read
// whole, with every finding at the same place.
func TestReadApart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := []byte(manifestText(t))
		whole, want := readManifest(text, "m.json", len(text))
		apart, got := readManifest(text, "m.json", 0)
		for _, list := range [][]issue.Finding{want, got} {
			for i := range list {
				list[i].Expression = "" // a manifest is no FHIR
			}
			issue.Sort(list)
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Fatalf("%s\n%s", text, diff)
		}
		for i := range 6 {
			for _, name := range []string{"id", "url"} {
				name := fmt.Sprint(name, i)
				if diff := cmp.Diff(whole.Cells(name), apart.Cells(name)); diff != "" {
					t.Fatalf("%s\n%s: %s", text, name, diff)
				}
			}
		}
		if diff := cmp.Diff(whole, apart, cmp.AllowUnexported(Manifest{}, listed{}), cmp.FilterPath(func(p cmp.Path) bool { return p.String() == "cells" }, cmp.Ignore())); diff != "" {
			t.Fatalf("%s\n%s", text, diff)
		}
		if whole.IsManifest() != apart.IsManifest() {
			t.Fatal("one is a manifest, the other is not")
		}
	})
}

// FuzzApart holds that taking bytes apart neither fails nor says otherwise than
// reading them whole, where they are JSON.
func FuzzApart(f *testing.F) {
	f.Add([]byte(`{"format":1,"bundles":[{"file":"a.json"}, 3],"root":"x"}`))
	f.Add([]byte(`{"bundles":[` + "\n" + `]} {`))
	f.Fuzz(func(t *testing.T, data []byte) {
		whole, _ := readManifest(data, "m.json", len(data))
		apart, _ := readManifest(data, "m.json", 0)
		if json.Valid(data) && (whole.IsManifest() != apart.IsManifest() || len(whole.files) != len(apart.files) || whole.Expected.LeftOut != apart.Expected.LeftOut) {
			t.Errorf("%d and %d files", len(whole.files), len(apart.files))
		}
	})
}
