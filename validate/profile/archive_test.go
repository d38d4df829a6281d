package profile_test

import (
	"archive/tar"
	"bytes"
	"compress/gzip"
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
	if len(found) != 1 || found[0].Rule != "profile-binding" || !strings.HasPrefix(found[0].Expected, base) {
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
