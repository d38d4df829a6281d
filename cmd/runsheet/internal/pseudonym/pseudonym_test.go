package pseudonym

import (
	"bytes"
	"errors"
	"maps"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"runsheet.example/validate/doc"
)

var testKey = bytes.Repeat([]byte{7}, KeySize)

const patient = `"subject":{"reference":"Patient?identifier=urn:oid:1.2|P-77341","type":"Patient","identifier":{"system":"urn:oid:1.2","value":"P-77341"}}`

const bundle = `{"resourceType":"Bundle","type":"transaction","entry":[{"fullUrl":"urn:uuid:0ecf8cd2-3ac4-4ba1-b2fa-e74070366edf","resource":` +
	`{"resourceType":"Observation","status":"final","code":{"coding":[{"system":"http://loinc.org","code":"29463-7","display":"Body weight"}]},` + patient +
	`,"effectiveDateTime":"2025-10-26T01:30:00+01:00","valueQuantity":{"value":70.10,"unit":"kg","system":"http://unitsofmeasure.org","code":"kg"}EXTRA},` +
	`"request":{"method":"POST","url":"Observation","ifNoneExist":"identifier=urn:ietf:rfc:3986|urn:uuid:0ecf8cd2-3ac4-4ba1-b2fa-e74070366edf"}}]}`

// copyOf copies one file with a key, and returns its text.
func copyOf(t *testing.T, key []byte, text string) (string, *Report, error) {
	t.Helper()
	from, to := t.TempDir(), filepath.Join(t.TempDir(), "out")
	if err := os.WriteFile(filepath.Join(from, "Jane-Doe.json"), []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	report, err := Copy(t.Context(), from, to, Options{Key: key})
	if err != nil {
		if left, _ := filepath.Glob(filepath.Join(filepath.Dir(to), "*")); len(left) > 0 {
			t.Errorf("left behind: %v", left)
		}
		return "", report, err
	}
	files, _ := filepath.Glob(filepath.Join(to, "*"))
	if len(files) != 1 || strings.Contains(files[0], "Jane") {
		t.Fatalf("files: %v", files)
	}
	out, err := os.ReadFile(files[0])
	return string(out), report, err
}

// What a record of another program may hold of a person is not copied, wherever
// it stands.
func TestForeignElements(t *testing.T) {
	for place, extra := range map[string]string{
		"Observation.note":                         `,"note":[{"text":"Jane Doe"}]`,
		"Observation.text":                         `,"text":{"status":"generated","div":"<div xmlns=\"http://www.w3.org/1999/xhtml\">Jane Doe</div>"}`,
		"Observation.contained":                    `,"contained":[{"resourceType":"Patient","id":"p","name":[{"family":"Doe"}]}]`,
		"Observation.extension":                    `,"extension":[{"url":"http://doe.example/name","valueString":"Jane Doe"}]`,
		"Observation._status":                      `,"_status":{"extension":[{"url":"http://doe.example","valueString":"Jane Doe"}]}`,
		"Observation.Jane Doe":                     `,"Jane Doe":1`,
		"Observation.id":                           `,"id":"Jane-Doe"`,
		"Observation.performer":                    `,"performer":[{"display":"Jane Doe"}]`,
		"Observation.device":                       `,"device":{"reference":"#Doe"}`,
		"Observation.device.reference":             `,"device":{"reference":"https://doe.example/fhir/Device/Jane-Doe"}`,
		"Observation.focus":                        `,"focus":[{"reference":"Patient/Doe"}]`,
		"Observation.meta":                         `,"meta":{"source":"https://doe.example/#1","profile":["https://doe.example/p"],"tag":[{"code":"Doe"}],"versionId":"Doe"}`,
		"Observation.identifier":                   `,"identifier":[{"system":"https://doe.example","value":"Jane Doe","assigner":{"display":"Doe"},"type":{"text":"Doe"}}]`,
		"Observation.interpretation.text":          `,"interpretation":[{"text":"Jane Doe"}]`,
		"Observation.method.coding":                `,"method":{"coding":[{"system":"https://doe.example","code":"Doe"}]}`,
		"Observation.method.coding.display":        `,"method":{"coding":[{"system":"http://loinc.org","code":"29463-7","display":"Weight of Jane Doe"}]}`,
		"Observation.component.valueString":        `,"component":[{"code":{"text":"Doe"},"valueString":"Jane Doe"}]`,
		"Observation.component.valueQuantity":      `,"component":[{"code":{"text":"Doe"},"valueQuantity":{"value":1,"unit":"{Doe}","code":"{Doe}"}}]`,
		"Observation.component.valueAttachment":    `,"component":[{"code":{"text":"Doe"},"valueAttachment":{"data":"SmFuZSBEb2U="}}]`,
		"Observation.issued (a year)":              `,"issued":"1936"`,
		"Observation.derivedFrom":                  `,"derivedFrom":[{"reference":"Observation?name=Doe"}]`,
		"Observation.component.valueDateTime":      `,"component":[{"code":{"text":"Doe"},"valueDateTime":"2025-10-26"}]`,
		"Observation.component.code.coding.system": `,"component":[{"code":{"coding":[{"system":"http://loinc.org","code":"Doe"}]},"valueInteger":3}]`,
	} {
		out, _, err := copyOf(t, testKey, strings.Replace(bundle, "EXTRA", extra, 1))
		if err != nil {
			t.Errorf("%s: %v", place, err)
			continue
		}
		for _, secret := range []string{"Doe", "doe", "SmFuZSBEb2U=", "1936", "P-77341", "1.2", "0ecf8cd2", "2025-10-26"} {
			if strings.Contains(out, secret) {
				t.Errorf("%s: %s is in %s", place, secret, out)
			}
		}
		if !strings.Contains(out, `"value":70.10,"unit":"kg"`) || !strings.Contains(out, `T01:30:00+01:00"`) {
			t.Errorf("%s: the value or the time is lost: %s", place, out)
		}
	}
}

func TestOtherResourcesAreDropped(t *testing.T) {
	entry := `,{"fullUrl":"urn:uuid:1ecf8cd2-3ac4-4ba1-b2fa-e74070366edf","resource":{"resourceType":"DocumentReference","content":[{"attachment":{"data":"SmFuZSBEb2U="}}]}},` +
		`{"resource":{"resourceType":"Bundle","entry":[{"resource":{"resourceType":"Patient","birthDate":"1936-01-02"}}]}},{"request":{"method":"DELETE","url":"Patient/Doe"}}]}`
	text := strings.Replace(strings.TrimSuffix(bundle, "]}"), "EXTRA", `,"derivedFrom":[{"reference":"urn:uuid:1ecf8cd2-3ac4-4ba1-b2fa-e74070366edf"}]`, 1) + entry
	out, report, err := copyOf(t, testKey, text)
	if err != nil {
		t.Fatal(err)
	}
	if strings.Count(out, "fullUrl") != 1 || strings.Contains(out, "derivedFrom") || strings.Contains(out, "DELETE") {
		t.Error(out)
	}
	if report.Resources != 1 || report.dropped["Bundle.entry(DocumentReference)"] != 1 || report.dropped["Observation.derivedFrom"] != 1 {
		t.Errorf("%+v", report)
	}
}

// A copy that keeps anything is refused, whatever keeps it.
func TestLeaksAreFound(t *testing.T) {
	ours := maps.Clone(leaves)
	rows := elements()
	defer func() { leaves = ours }()
	keep := func(_ *copier, text string) (string, bool) { return text, true }
	serial := `,"note":[{"text":"Jane Doe"}],"device":{"reference":"urn:uuid:5ecf8cd2-3ac4-4ba1-b2fa-e74070366edf"}`
	for _, as := range []string{date, id, target} {
		leaves = maps.Clone(ours)
		leaves[as] = keep
		var leak *LeakError
		if _, _, err := copyOf(t, testKey, strings.Replace(bundle, "EXTRA", serial, 1)); !errors.As(err, &leak) {
			t.Errorf("%s: %v", as, err)
		}
	}
	leaves = maps.Clone(ours)
	leaves["kept"] = keep
	for element, text := range map[string]string{
		"lotNumber": `"P-77341"`, "serialNumber": `"SN 12"`, "url": `"https://doe.example"`, "manufactureDate": `"2025-10-26"`, "distinctIdentifier": `"4471"`,
		"manufacturer": `"ni:///sha-256;OBncGctQ-kJSrLpQFQK7cnCi0u-YMcNnRtFPSu0TgsA"`, "modelNumber": `"8fa0732a9a0348308a1f4bcdaae3b7ac373099363f8b38e19f285905ead88f35"`,
		"partNumber": `"26 October 2025"`, "note": `"Europe/London"`, "definition": `"sessions.csv"`,
	} {
		rows["Observation."+element] = "kept"
		_, _, err := copyOf(t, testKey, strings.Replace(bundle, "EXTRA", `,"`+element+`":`+text, 1))
		delete(rows, "Observation."+element)
		var leak *LeakError
		if !errors.As(err, &leak) {
			t.Errorf("%s %s: %v", element, text, err)
		}
	}
}

// A date of one element may be that of another after the shift, as it happens in
// a year of records; no element may keep its own.
func TestDatesAreComparedByPlace(t *testing.T) {
	shifted, _ := shift("2025-10-26", secret(testKey).offset("urn:oid:1.2|P-77341"))
	out, _, err := copyOf(t, testKey, strings.Replace(bundle, "EXTRA", `,"issued":"`+shifted+`T08:00:00Z"`, 1))
	if err != nil || !strings.Contains(out, `"effectiveDateTime":"`+shifted) {
		t.Errorf("%v %s", err, out)
	}
}

func TestKeys(t *testing.T) {
	one, _, err := copyOf(t, testKey, strings.Replace(bundle, "EXTRA", "", 1))
	if err != nil {
		t.Fatal(err)
	}
	again, _, _ := copyOf(t, testKey, strings.Replace(bundle, "EXTRA", "", 1))
	other, _, _ := copyOf(t, bytes.Repeat([]byte{8}, KeySize), strings.Replace(bundle, "EXTRA", "", 1))
	if one != again || one == other {
		t.Errorf("the same key: %t, another one: %t", one == again, one == other)
	}
	path := filepath.Join(t.TempDir(), "key")
	made, err := NewKey(path)
	if err != nil {
		t.Fatal(err)
	}
	if read, err := ReadKey(path); err != nil || !bytes.Equal(read, made) {
		t.Errorf("%v", err)
	}
	if _, err := NewKey(path); !errors.Is(err, os.ErrExist) {
		t.Errorf("a key was overwritten: %v", err)
	}
	if info, err := os.Stat(path); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("%v %v", info.Mode(), err)
	}
	for _, size := range []int{0, KeySize - 1, KeySize + 1} {
		if err := os.WriteFile(path, make([]byte, size), 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := ReadKey(path); err == nil {
			t.Errorf("a key of %d bytes", size)
		}
	}
}

func TestPlaces(t *testing.T) {
	from := t.TempDir()
	if err := os.WriteFile(filepath.Join(from, "a.json"), []byte(strings.Replace(bundle, "EXTRA", "", 1)), 0o600); err != nil {
		t.Fatal(err)
	}
	link := filepath.Join(t.TempDir(), "link")
	if err := os.Symlink(from, link); err != nil {
		t.Fatal(err)
	}
	for _, to := range []string{from, filepath.Join(from, "copy"), filepath.Join(from, "a", "b"), filepath.Join(link, "copy"), filepath.Dir(link)} {
		if _, err := Copy(t.Context(), from, to, Options{Key: testKey}); err == nil {
			t.Errorf("%s was taken", to)
		}
	}
	secrets := t.TempDir()
	if err := os.WriteFile(filepath.Join(secrets, "b.json"), []byte(bundle), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(secrets, filepath.Join(from, "more")); err != nil {
		t.Fatal(err)
	}
	report, err := Copy(t.Context(), from, filepath.Join(t.TempDir(), "out"), Options{Key: testKey})
	if err != nil || report.Files != 1 || report.dropped["link, or no file"] != 1 {
		t.Errorf("%v %+v", err, report)
	}
	for _, text := range []string{`{"resourceType":`, `{"resourceType":"Bundle","resourceType":"Bundle"}`, `{"resourceType":"Bundle"}`,
		`{"resourceType":"Bundle","entry":[` + strings.Repeat(`{"resource":{"resourceType":"Observation","subject":{"identifier":{"value":"a"}}}},`, 1) + `{"resource":{"resourceType":"Device","patient":{"identifier":{"value":"b"}}}}]}`} {
		if _, _, err := copyOf(t, testKey, text); err == nil {
			t.Errorf("%s was copied", text)
		}
	}
}

// The shift of a patient is a multiple of 7 days and at least 26 weeks either
// way, two patients have two, and the time between two instants stays.
func TestShift(t *testing.T) {
	all, signs := map[int]bool{}, map[bool]bool{}
	rapid.Check(t, func(t *rapid.T) {
		days := secret(testKey).offset(rapid.String().Draw(t, "patient"))
		all[days], signs[days > 0] = true, true
		if days%7 != 0 || max(days, -days) < 7*leastWeeks || max(days, -days) > 7*mostWeeks {
			t.Fatalf("%d days", days)
		}
		zone := time.FixedZone("", 900*rapid.IntRange(-56, 56).Draw(t, "quarters of an hour"))
		a := time.Unix(rapid.Int64Range(0, 4e9).Draw(t, "a"), 0).In(zone)
		b := time.Unix(rapid.Int64Range(0, 4e9).Draw(t, "b"), 0).UTC()
		shifted := func(at time.Time) time.Time {
			text, ok := shift(at.Format(time.RFC3339), days)
			out, err := time.Parse(time.RFC3339, text)
			if !ok || err != nil || out.Weekday() != at.Weekday() || text[10:] != at.Format(time.RFC3339)[10:] {
				t.Fatalf("%v became %s", at, text)
			}
			return out
		}
		if shifted(a).Sub(shifted(b)) != a.Sub(b) {
			t.Fatalf("%v and %v", a, b)
		}
	})
	if len(all) < 50 || len(signs) != 2 {
		t.Errorf("%d offsets", len(all))
	}
	for text, days := range map[string]int{"2025": 7, "2025-10": 7, "2025-02-30": 7, "9999-12-31": 7, "0001-01-01": -7, "today": 7, "": 7, "2025-10-26T01:30": 7} {
		if out, ok := shift(text, days); ok {
			t.Errorf("%s became %s", text, out)
		}
	}
}

// FuzzCopy holds that a copy of anything is refused or holds nothing of what it
// should not.
func FuzzCopy(f *testing.F) {
	f.Add([]byte(strings.Replace(bundle, "EXTRA", `,"note":[{"text":"P-77341"}]`, 1)))
	f.Fuzz(func(t *testing.T, text []byte) {
		var d doc.Doc
		if faults := d.Parse(text, ""); len(faults) > 0 || bytes.Contains(text, []byte(`-P-77341`)) {
			return
		}
		c := copier{secret: testKey, days: 182, gone: set{}, report: &Report{patients: map[string]bool{}, dropped: map[string]int{}, withheld: map[string]int{}, notAgain: map[string]int{}}}
		if c.d = &d; !c.copied(d.Root()) || !c.document(&d) {
			return
		}
		if err := c.leaks(text); err != nil {
			t.Errorf("%v\n%s\n%s", err, text, c.out.Bytes())
		}
		if bytes.Contains(c.out.Bytes(), []byte("P-77341")) {
			t.Errorf("%s", c.out.Bytes())
		}
	})
}
