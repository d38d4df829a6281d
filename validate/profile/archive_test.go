package profile_test

import (
	"archive/tar"
	"bytes"
	"compress/gzip"
	"fmt"
	"io"
	"strings"
	"testing"

	"runsheet.example/profiles"
	"runsheet.example/validate/profile"
)

// Our own package, packed under a publisher's canonical base, is read as a
// package of that publisher: its value sets and code systems come along.
func TestReadOurPackageUnderAnotherBase(t *testing.T) {
	const base = "https://fhir.clinic.example/dialysis"
	var archive bytes.Buffer
	if err := profiles.Pack(&archive, base); err != nil {
		t.Fatal(err)
	}
	p, err := profile.ReadPackage(&archive)
	if err != nil || p.Name != "runsheet.home.haemodialysis" || p.Version == "" {
		t.Fatalf("%+v: %v", p, err)
	}
	lib := profile.NewLibrary(p)
	rejected := artifacts(t, profiles.Invalid)["event-unknown-code"]
	theirs := bytes.ReplaceAll(rejected, []byte(profiles.DefaultCanonical), []byte(base))
	found := checked(theirs, profile.New(lib, profile.Options{}))
	if len(found) != 1 || found[0].Rule != "profile-binding" || !strings.HasPrefix(found[0].Expected.String(), base) {
		t.Errorf("%+v", found)
	}
}

// What stands in the archive beside definitions is passed over; without any
// definition it is no package.
func TestReadPackage(t *testing.T) {
	sd := definition("p", "Observation")
	for name, tc := range map[string]struct {
		files []string
		ok    bool
	}{
		"a definition":             {[]string{"package/a.json\x00" + sd}, true},
		"with a dot":               {[]string{"./package/a.json\x00" + sd}, true},
		"only package.json":        {[]string{"package/package.json\x00" + `{"name":"x","version":"1"}`}, true},
		"examples only":            {[]string{"package/example/a.json\x00" + sd}, false},
		"nothing":                  {nil, false},
		"broken JSON":              {[]string{"package/a.json\x00{"}, false},
		"broken package.json":      {[]string{"package/package.json\x00[]"}, false},
		"an index and a text":      {[]string{"package/.index.json\x00{", "package/read.me\x00{", "package/a.json\x00" + sd}, true},
		"a list among the files":   {[]string{"package/l.json\x00[1]", "package/a.json\x00" + sd}, true},
		"a file outside":           {[]string{"package/../a.json\x00" + sd}, false},
		"a resource without url":   {[]string{"package/a.json\x00" + `{"resourceType":"ValueSet"}`}, false},
		"a resource of no use":     {[]string{"package/a.json\x00" + `{"resourceType":"SearchParameter","url":"u"}`}, false},
		"a definition given twice": {[]string{"package/a.json\x00" + sd, "package/b.json\x00" + sd}, true},
	} {
		_, err := profile.ReadPackage(bytes.NewReader(packed(t, tc.files...)))
		if (err == nil) != tc.ok {
			t.Errorf("%s: %v", name, err)
		}
	}
	for _, text := range []string{"", "no archive", "{}"} {
		if _, err := profile.ReadPackage(strings.NewReader(text)); err == nil {
			t.Errorf("%q is read as a package", text)
		}
	}
}

// zeros is a reader without end.
type zeros struct{}

func (zeros) Read(b []byte) (int, error) { clear(b); return len(b), nil }

// A small file that unpacks to more than any package ends in an error, not in
// all memory.
func TestReadPackageIsBounded(t *testing.T) {
	r, w := io.Pipe()
	go func() {
		z, _ := gzip.NewWriterLevel(w, gzip.BestSpeed)
		header := packedHeader(t, "package/a.txt", 1<<33)
		_, err := z.Write(header)
		for err == nil {
			_, err = io.CopyN(z, zeros{}, 1<<20)
		}
	}()
	_, err := profile.ReadPackage(r)
	r.CloseWithError(io.ErrClosedPipe)
	if err == nil || !strings.Contains(err.Error(), "larger than") {
		t.Errorf("got %v", err)
	}
}

// packedHeader is the header of a file in an archive.
func packedHeader(t *testing.T, name string, size int64) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := tar.NewWriter(&out).WriteHeader(&tar.Header{Name: name, Mode: 0o644, Size: size}); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// Names in an archive lead nowhere: nothing is written, and what is not in the
// folder "package" is not looked at.
func TestReadPackageKeepsToItsFolder(t *testing.T) {
	sd := definition("p", "Observation", el("Observation.method", "", 1, "1", ""))
	other := strings.Replace(definition("q", "Observation"), "derivation", "_derivation", 1)
	text := packed(t, "package/a.json\x00"+sd, "../package/b.json\x00"+other, "package/../../c.json\x00"+other,
		"/package/d.json\x00"+other, "package/x/../../package/e.json\x00{", `package\f.json`+"\x00{")
	if _, err := profile.ReadPackage(bytes.NewReader(text)); err == nil {
		t.Error("broken JSON in the folder is passed over")
	}
	text = packed(t, "package/a.json\x00"+sd, "../package/b.json\x00"+other, "package/../../c.json\x00"+other, "/package/d.json\x00"+other)
	p, err := profile.ReadPackage(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	lib := profile.NewLibrary(p)
	if err := lib.Check(guide + "p"); err != nil {
		t.Error(err)
	}
	if err := lib.Check(guide + "q"); err == nil {
		t.Error("what stands elsewhere is read")
	}
}

// Packages made to break or hold up the program end in an error that says
// what is wrong with them, or in profiles that cannot be used.
func TestHostilePackages(t *testing.T) {
	sd := definition("p", "Observation")
	deep := func(open, end string) string {
		return `{"resourceType":"ValueSet","url":"u","x":` + strings.Repeat(open, 100_000) + strings.Repeat(end, 100_000) + `}`
	}
	for name, tc := range map[string]struct {
		text []byte
		want string
	}{
		"cut short":              {packed(t, "package/a.json\x00"+sd)[:200], "unexpected EOF"},
		"no tar inside":          {gzipped(t, strings.Repeat("x", 2000)), "the archive"},
		"nothing inside":         {gzipped(t, ""), "no definition"},
		"a file without its end": {gzipped(t, string(packedHeader(t, "package/a.json", 1000))), "unexpected EOF"},
		"a file too large":       {gzipped(t, string(packedHeader(t, "package/a.json", 1<<40))), "larger than"},
		"too deep an object":     {packed(t, "package/a.json\x00"+deep(`{"x":`, "}")), "package/a.json"},
		"too deep a list":        {packed(t, "package/a.json\x00"+deep("[", "]")), "exceeded max depth"},
		"too many files":         {packed(t, manyFiles(50_001)...), "more than 50000 files"},
		"a name that is a list":  {packed(t, "package/package.json\x00"+`{"name":["x"]}`), "package/package.json"},
	} {
		if _, err := profile.ReadPackage(bytes.NewReader(tc.text)); err == nil || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("%s: %v", name, err)
		}
	}
	elements := strings.Repeat(el("Observation.note", "", 0, "1", "")+",", 100_000) + el("Observation.note", "", 0, "1", "")
	for name, tc := range map[string]struct{ definition, want string }{
		"many elements":     {definition("p", "Observation", elements), "more than 20000 elements"},
		"two roots":         {definition("p", "Observation", `{"path":"Observation"}`), "two roots"},
		"no order":          {definition("p", "Observation", el("Observation.a.b.c", "", 0, "1", "")), "stands before"},
		"a path of dots":    {definition("p", "Observation", el(strings.Repeat(".", 1000), "", 0, "1", "")), "no name at its end"},
		"an endless path":   {definition("p", "Observation", el("Observation."+strings.Repeat("a", 1<<20), "", 0, "1", "")), "more than 2000 characters"},
		"elements no list":  {strings.Replace(sd, `"element":[`, `"element":{"x":[`, 1) + "}", "cannot unmarshal"},
		"a number as path":  {definition("p", "Observation", `{"path":7}`), "cannot unmarshal"},
		"two fixed values":  {definition("p", "Observation", el("Observation.code", "", 0, "1", `"fixedCode":"a","fixedString":"b",`)), "a second one"},
		"a huge expression": {definition("p", "Observation", el("Observation.code", "", 0, "1", `"constraint":[{"key":"k","severity":"error","human":"h","expression":"`+strings.Repeat("(", 100_000)+`"}],`)), ""},
		"a huge form":       {definition("p", "Observation", el("Observation.code", "", 0, "1", `"extension":[{"url":"`+inR4+`regex","valueString":"((a{1000}){1000}){1000}"}],`)), ""},
	} {
		p, err := profile.ReadPackage(bytes.NewReader(packed(t, tc.definition)))
		if err == nil {
			err = profile.NewLibrary(p).Check(guide + "p")
		}
		if (err == nil) != (tc.want == "") || err != nil && !strings.Contains(err.Error(), tc.want) {
			t.Errorf("%s: %v, want %q", name, err, tc.want)
		}
	}
}

func gzipped(t *testing.T, text string) []byte {
	t.Helper()
	var out bytes.Buffer
	w := gzip.NewWriter(&out)
	if _, err := io.WriteString(w, text); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func manyFiles(n int) []string {
	out := make([]string, n)
	for i := range out {
		out[i] = fmt.Sprintf("other/%d.json\x00{", i)
	}
	return out
}
