//go:build interop

package interop

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

const bundle = `{"resourceType":"Bundle","entry":[
{"fullUrl":"urn:uuid:1","resource":{"resourceType":"Device","identifier":[{"value":"d"}]}},
{"fullUrl":"urn:uuid:2","resource":{"resourceType":"Observation","meta":{"source":"urn:uuid:log"},"identifier":[{"value":"o"}],
 "status":"final","subject":{"reference":"Patient?identifier=a|b"},"device":{"reference":"urn:uuid:1"},"valueQuantity":{"value":71.60},"note":[{"text":"one"}]}},
{"fullUrl":"urn:uuid:3","resource":{"resourceType":"Provenance","recorded":"2025-10-20T21:50:00+01:00","target":[{"reference":"urn:uuid:2"}]}}]}`

// as is what a server holds of the bundle: ids and versions of its own.
var as = map[string]string{
	"Patient":     `{"resourceType":"Patient","id":"1","meta":{"versionId":"1"},"identifier":[{"system":"a","value":"b"}]}`,
	"Device":      `{"resourceType":"Device","id":"2","meta":{"versionId":"1","source":"#x"},"identifier":[{"value":"d"}]}`,
	"Observation": `{"resourceType":"Observation","id":"3","meta":{"versionId":"1","source":"urn:uuid:log#y"},"identifier":[{"value":"o"}],"status":"final","subject":{"reference":"Patient/1"},"device":{"reference":"Device/2"},"valueQuantity":{"value":71.60},"note":[{"text":"one"}]}`,
	"Provenance":  `{"resourceType":"Provenance","id":"4","meta":{"versionId":"1"},"recorded":"2025-10-20T21:50:00+01:00","target":[{"reference":"Observation/3"}]}`,
}

const correction = `{"resourceType":"Provenance","id":"5","meta":{"versionId":"1"},"recorded":"2025-12-01T09:00:00Z","activity":{"coding":[{"code":"UPDATE"}]},"target":[{"reference":"Observation/3"}]}`

// Every change at the server is seen, and only those that are one.
func TestCompare(t *testing.T) {
	change := func(kind, from, to string) func(map[string]string) {
		return func(m map[string]string) {
			if !strings.Contains(m[kind], from) {
				t.Fatalf("no %q in %s", from, m[kind])
			}
			m[kind] = strings.Replace(m[kind], from, to, 1)
		}
	}
	also := func(kind, more string) func(map[string]string) {
		return func(m map[string]string) { m[kind] += "," + more }
	}
	for _, c := range []struct {
		name string
		do   []func(map[string]string)
		want string // a part of the only difference; empty for none
	}{
		{name: "as it was sent"},
		{"another number as written", []func(map[string]string){change("Observation", "71.60", "71.6")}, "valueQuantity.value is 71.6"},
		{"another device", []func(map[string]string){change("Observation", "Device/2", "Device/9")}, "device.reference is Device/9 leads nowhere"},
		{"another patient", []func(map[string]string){
			change("Observation", "Patient/1", "Patient/9"),
			also("Patient", `{"resourceType":"Patient","id":"9","meta":{"versionId":"1"},"identifier":[{"system":"a","value":"c"}]}`),
		}, "subject.reference is Patient c in place of Patient b"},
		{"missing", []func(map[string]string){change("Device", as["Device"], "")}, "Device d is missing"},
		{"twice", []func(map[string]string){also("Device", strings.Replace(as["Device"], `"2"`, `"7"`, 1))}, "stands there twice"},
		{"a member more", []func(map[string]string){change("Observation", `"status"`, `"issued":"2025","status"`)}, ".issued stands at the server alone"},
		{"of somebody else", []func(map[string]string){also("Device", `{"resourceType":"Device","id":"8","meta":{"versionId":"1"},"identifier":[{"value":"e"}]}`)}, "Device e is not of the log"},
		{"changed without a word", []func(map[string]string){change("Observation", `"versionId":"1"`, `"versionId":"2"`)}, "no Provenance says so"},
		{"corrected", []func(map[string]string){
			change("Observation", `"versionId":"1"`, `"versionId":"2"`), change("Observation", "final", "corrected"),
			change("Observation", `{"text":"one"}`, `{"text":"one"},{"text":"why"}`), also("Provenance", correction),
		}, ""},
		{"corrected to another value", []func(map[string]string){
			change("Observation", `"versionId":"1"`, `"versionId":"2"`), change("Observation", "71.60", "71.7"), also("Provenance", correction),
		}, "valueQuantity.value is 71.7"},
	} {
		t.Run(c.name, func(t *testing.T) {
			holds := map[string]string{}
			for kind, text := range as {
				holds[kind] = text
			}
			for _, do := range c.do {
				do(holds)
			}
			sent := fromFolder(t)
			there, differences := standing(t, serving(t, holds))
			differences = append(differences, expectation{now: sent, before: sent}.compare(there)...)
			if c.want == "" && len(differences) == 0 {
				return
			}
			found := fmt.Sprint(differences)
			if c.want == "" || !strings.Contains(found, c.want) {
				t.Errorf("%s, want %q", found, c.want)
			}
		})
	}
}

// What left the log must be marked.
func TestCompareWithdrawn(t *testing.T) {
	before, now := fromFolder(t), fromFolder(t)
	delete(now, "Observation o")
	there, _ := standing(t, serving(t, as))
	e := expectation{now: now, before: before}
	if d := fmt.Sprint(e.compare(there)); !strings.Contains(d, "not marked as entered in error") {
		t.Error(d)
	}
	there["Observation o"].content["status"] = "entered-in-error"
	if d := e.compare(there); len(d) != 0 {
		t.Error(d)
	}
}

// A Provenance that was deleted and sent again tells of the log as it is now.
func TestCompareRestored(t *testing.T) {
	before, now := fromFolder(t), fromFolder(t)
	for key, r := range now {
		if r.kind == "Provenance" {
			r.content = map[string]any{"recorded": "2025-10-20T21:50:00+01:00", "reason": "another"}
			now[key] = r
		}
	}
	there, _ := standing(t, serving(t, as))
	restored := expectation{now: now, before: before, restored: true}
	for key, r := range now {
		if r.kind != "Provenance" {
			continue
		}
		if d := restored.compare(there); len(d) != 0 {
			t.Errorf("the one that was sent first: %v", d)
		}
		there[key] = resource{kind: r.kind, version: "1", content: r.content}
		if d := restored.compare(there); len(d) != 0 {
			t.Errorf("the one that was sent again: %v", d)
		}
		if d := (expectation{now: now, before: before}).compare(there); len(d) == 0 {
			t.Error("another one that was not restored is not told")
		}
	}
}

func fromFolder(t *testing.T) record {
	t.Helper()
	folder := t.TempDir()
	if err := os.WriteFile(filepath.Join(folder, "session-1.json"), []byte(bundle), 0o600); err != nil {
		t.Fatal(err)
	}
	return exported(t, folder)
}

// serving answers searches by type with one page for each resource.
func serving(t *testing.T, holds map[string]string) string {
	t.Helper()
	var s *httptest.Server
	s = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		kind := strings.TrimPrefix(r.URL.Path, "/")
		var resources []json.RawMessage
		if err := json.Unmarshal([]byte("["+strings.Trim(holds[kind], ",")+"]"), &resources); err != nil {
			t.Error(err)
		}
		page := 0
		_, _ = fmt.Sscan(r.URL.Query().Get("page"), &page)
		answer := map[string]any{"resourceType": "Bundle"}
		if page < len(resources) {
			answer["entry"] = []any{map[string]any{"resource": resources[page]}}
			answer["link"] = []any{map[string]any{"relation": "next", "url": fmt.Sprintf("%s/%s?page=%d", s.URL, kind, page+1)}}
		}
		_ = json.NewEncoder(w).Encode(answer)
	}))
	t.Cleanup(s.Close)
	return s.URL
}
