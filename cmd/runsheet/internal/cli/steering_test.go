package cli

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"runsheet.example/validate/manifest"
)

// steering is what acts on a terminal or on the direction of writing: ESC, BEL,
// NEL and CSI (C1), DEL, and characters of Bidi_Control.
const steering = "\x1b[2J\x07\u0085\u009b31m\x7f\u202e\u2066\u200f"

// turning is the part of it that a log may hold.
const turning = "\u202egnp\u2066\u200f"

// holdPlain fails when a text has a character that steers.
func holdPlain(t *testing.T, what, text string) {
	t.Helper()
	for at, r := range text {
		isEnd := r == '\n' || r == '\t' || r == '\r' && strings.HasPrefix(text[at:], "\r\n")
		if !isEnd && (unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r)) {
			t.Errorf("%s: %U in %q", what, r, text[max(at-60, 0):min(at+60, len(text))])
			return
		}
	}
}

// anyExit runs a command line, whatever its exit code, and holds its output plain.
func anyExit(t *testing.T, args ...string) (code int, all string) {
	t.Helper()
	return anyExitIn(t.Context(), t, args...)
}

func anyExitIn(ctx context.Context, t *testing.T, args ...string) (code int, all string) {
	t.Helper()
	var out, errs bytes.Buffer
	code = run(ctx, args, streams{strings.NewReader(""), &out, &errs})
	holdPlain(t, strings.Join(args, " ")+": output", out.String())
	holdPlain(t, strings.Join(args, " ")+": errors", errs.String())
	return code, out.String() + errs.String()
}

// steeringLog is the demo month with more behind each cell: of the first row of
// each sheet with all, else of those with words alone.
func steeringLog(t *testing.T, more string, all bool) string {
	t.Helper()
	folder := filepath.Join(t.TempDir(), "month")
	if err := os.CopyFS(folder, os.DirFS(monthLog)); err != nil {
		t.Fatal(err)
	}
	words := map[string]bool{"notes": true, "note": true, "reason": true, "what": true, "laboratory": true, "needle_arterial": true, "lot": true, "action": true}
	files, _ := filepath.Glob(filepath.Join(folder, "*.csv"))
	for _, path := range files {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		for at := range rows {
			for i, name := range rows[0] {
				if at == 1 && all || at > 0 && !all && words[name] && rows[at][i] != "" && name != "lot" {
					rows[at][i] += more
				}
			}
		}
		if all {
			rows[0] = append(rows[0], "mine"+more)
			for at := range rows[1:] {
				rows[at+1] = append(rows[at+1], more)
			}
		}
		var out bytes.Buffer
		w := csv.NewWriter(&out)
		if err := w.WriteAll(rows); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, out.Bytes(), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	about := filepath.Join(folder, "log.toml")
	text, err := os.ReadFile(about)
	if err != nil {
		t.Fatal(err)
	}
	escaped := strings.Trim(strconv.QuoteToASCII(more), `"`)
	escaped = regexp.MustCompile(`\\x(..)`).ReplaceAllString(strings.ReplaceAll(escaped, `\a`, `\u0007`), `\u00$1`)
	names := `(?m)^((?:name|dialyser|anticoagulant) = ".*)"`
	if all {
		names = `(?m)^([a-z_]+ = ".*)"`
	}
	text = regexp.MustCompile(names).ReplaceAll(text, []byte("${1}"+escaped+`"`))
	if err := os.WriteFile(about, text, 0o600); err != nil {
		t.Fatal(err)
	}
	return folder
}

// TestTextsOfALogSteerNothing holds that what a log holds reaches no terminal
// and no table as a control character.
func TestTextsOfALogSteerNothing(t *testing.T) {
	if _, said := anyExit(t, "check", steeringLog(t, steering, true)); !strings.Contains(said, "control character") {
		t.Errorf("the log is taken for a right one:\n%s", said)
	}
	formats := []string{"text", "json", "csv", "outcome", "junit"}
	for i, log := range []string{steeringLog(t, steering, true), steeringLog(t, turning, false)} {
		for _, format := range formats[:len(formats)-3*i] {
			anyExit(t, "check", log, "--format", format, "--all")
		}
		anyExit(t, "check", log, "--lang", "de")
		anyExit(t, "check", log, "--lot", "L123")
		anyExit(t, "check", filepath.Join(log, "sessions.csv"), "--suggest-map")
		out := filepath.Join(t.TempDir(), "out")
		anyExit(t, "export", log, "-o", out)
		for _, format := range []string{"text", "csv", "json"} {
			anyExit(t, "adequacy", log, "--format", format, "--explain", "--all")
		}
		if _, err := os.Stat(out); err == nil {
			anyExit(t, "validate", out, "--all")
			anyExit(t, "adequacy", out)
		}
	}
}

// TestTextsOfARecordSteerNothing holds the same of a record that is checked, in
// each of its strings and names of members.
func TestTextsOfARecordSteerNothing(t *testing.T) {
	out := filepath.Join(t.TempDir(), "out")
	command(t, exitDone, "export", monthLog, "-o", out, "--from", "2025-11-03", "--to", "2025-11-06")
	files, _ := filepath.Glob(filepath.Join(out, "*.json"))
	quoted := strings.Trim(strconv.QuoteToASCII(steering), `"`)
	escaped := regexp.MustCompile(`\\x(..)`).ReplaceAllString(strings.ReplaceAll(quoted, `\a`, `\u0007`), `\u00$1`)
	any := regexp.MustCompile(`"([^"\\]+)"`)
	for _, part := range []string{":", ""} { // values only, then names too
		for _, path := range files[:min(3, len(files))] {
			text, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			n := 0
			text = any.ReplaceAllFunc(text, func(m []byte) []byte {
				if n++; n%7 != 0 && part == ":" || n < 3 {
					return m
				}
				return []byte(strings.TrimSuffix(string(m), `"`) + escaped + `"`)
			})
			if err := os.WriteFile(path, text, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		for _, format := range []string{"text", "json", "csv", "outcome", "junit"} {
			if code, said := anyExit(t, "validate", out, "--format", format, "--all"); code != exitFindings || !utf8.ValidString(said) {
				t.Errorf("%s: exit code %d", format, code)
			}
		}
		anyExit(t, "adequacy", out, "--format", "csv")
	}
}

// hostile is a server with text that steers wherever it can be: kind says what
// it answers to a write, of which it tells before it answers.
func hostile(t *testing.T, kind string, write func()) *httptest.Server {
	t.Helper()
	text, _ := json.Marshal(steering)
	quoted := string(text)
	outcome := `{"resourceType":"OperationOutcome","issue":[{"severity":"error","code":"in` + quoted[1:len(quoted)-1] + `","expression":["Pat` + quoted[1:len(quoted)-1] + `"],"diagnostics":` + quoted + `,"details":{"text":` + quoted + `}}]}`
	id := quoted[1 : len(quoted)-1]
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Type", "application/fhir+json")
		w.Header().Set("ETag", "W/\"\u202e\u009b\"")
		w.Header().Set("Warning", "\u202e\u009b")
		var body struct{ Entry []hostileEntry }
		_ = json.NewDecoder(r.Body).Decode(&body)
		switch {
		case strings.HasSuffix(r.URL.Path, "/metadata"):
			fmt.Fprintf(w, `{"resourceType":"CapabilityStatement","fhirVersion":"%s","software":{"name":%s},"rest":[{"mode":"server","interaction":[{"code":"transaction"},{"code":"batch"}],"resource":[%s]}]}`,
				map[bool]string{true: "4.0.1", false: "5.0" + id}[kind != "version"], quoted, capabilities())
		case r.Method == http.MethodGet && kind == "search":
			kindOf := strings.TrimPrefix(r.URL.Path, "/")
			identity, _ := strings.CutPrefix(r.URL.Query().Get("identifier"), "urn:ietf:rfc:3986|")
			fmt.Fprintf(w, `{"resourceType":"Bundle","type":"searchset","entry":[{"resource":{"resourceType":%q,"id":"1%s","meta":{"versionId":"1%s"},"identifier":[{"system":"urn:ietf:rfc:3986","value":%q}]}}]}`, kindOf, id, id, identity)
		case strings.HasSuffix(r.URL.Path, "_search"):
			patientID := "p1"
			if kind == "patient" {
				patientID += id
			}
			fmt.Fprintf(w, `{"resourceType":"Bundle","type":"searchset","entry":[{"resource":{"resourceType":"Patient","id":"%s","identifier":[{"system":"urn:oid:2.25.331383638406541845489215601853980652438","value":"HHD-00042"}]}}]}`, patientID)
		case strings.HasPrefix(r.URL.Path, "/Patient/"):
			fmt.Fprint(w, `{"resourceType":"Patient","id":"p1","identifier":[{"system":"urn:oid:2.25.331383638406541845489215601853980652438","value":"HHD-00042"}]}`)
		case r.Method == http.MethodGet:
			fmt.Fprint(w, `{"resourceType":"Bundle","type":"searchset"}`)
		case len(body.Entry) > 0 && body.Entry[0].Request.Method == http.MethodGet:
			var all []string
			for range body.Entry {
				all = append(all, `{"resource":{"resourceType":"Bundle","type":"searchset"},"response":{"status":"200"}}`)
			}
			fmt.Fprintf(w, `{"resourceType":"Bundle","type":"batch-response","entry":[%s]}`, strings.Join(all, ","))
		default:
			write()
			hostileAnswer(w, kind, id, outcome, body.Entry)
		}
	}))
	t.Cleanup(server.Close)
	return server
}

func hostileAnswer(w http.ResponseWriter, kind, id, outcome string, entries []hostileEntry) {
	switch kind {
	case "refusal":
		w.WriteHeader(http.StatusUnprocessableEntity)
		fmt.Fprint(w, outcome)
	case "redirect":
		w.Header().Set("Location", "https://a.example/\u202e\u009b")
		w.WriteHeader(http.StatusFound)
	case "nonsense":
		fmt.Fprint(w, steering)
	default: // ids
		var all []string
		for i, e := range entries {
			all = append(all, fmt.Sprintf(`{"response":{"status":"201 %s","location":"%s/%d%s/_history/1%s","etag":"W/\"1%s\""}}`, id, e.Resource.ResourceType, i, id, id, id))
		}
		fmt.Fprintf(w, `{"resourceType":"Bundle","type":"transaction-response","entry":[%s]}`, strings.Join(all, ","))
	}
}

type hostileEntry struct {
	Resource struct{ ResourceType string }
	Request  struct{ Method string }
}

func capabilities() string {
	var all []string
	for _, name := range []string{"Patient", "Device", "Procedure", "Observation", "MedicationAdministration", "Provenance"} {
		all = append(all, fmt.Sprintf(`{"type":%q,"interaction":[{"code":"create"},{"code":"update"},{"code":"search-type"}],"conditionalCreate":true,"searchParam":[{"name":"identifier"},{"name":"target"}]}`, name))
	}
	return strings.Join(all, ",")
}

// TestTextsOfAServerSteerNothing holds the same of a server's answers, which
// also must not reach the receipt.
func TestTextsOfAServerSteerNothing(t *testing.T) {
	exported := filepath.Join(t.TempDir(), "out")
	command(t, exitDone, "export", steeringLog(t, turning, false), "-o", exported, "--from", "2025-11-03", "--to", "2025-11-04")
	for _, kind := range []string{"version", "patient", "search", "refusal", "redirect", "nonsense", "location"} {
		t.Run(kind, func(t *testing.T) {
			out := filepath.Join(t.TempDir(), "out")
			if err := os.CopyFS(out, os.DirFS(exported)); err != nil {
				t.Fatal(err)
			}
			writes, stop := 0, func() {}
			server := hostile(t, kind, func() {
				if writes++; writes == 2 {
					stop() // the program would wait longer each time
				}
			})
			for _, more := range [][]string{{}, {"--yes"}, {"--verify"}} {
				ctx, cancel := context.WithCancel(t.Context())
				writes, stop = 0, cancel
				code, said := anyExitIn(ctx, t, append([]string{"send", out, "--to", server.URL}, more...)...)
				cancel()
				if code == exitDone {
					t.Errorf("%v: exit code %d:\n%s", more, code, said)
				}
			}
			receipt, err := os.ReadFile(out + manifest.ReceiptEnding)
			if err != nil {
				return // nothing was kept
			}
			holdPlain(t, "receipt", string(receipt))
			if strings.Contains(string(receipt), `u001b`) || strings.Contains(string(receipt), `[2J`) {
				t.Errorf("a text of the server is in the receipt: %.600s", receipt)
			}
		})
	}
}
