package manifest

import (
	"bytes"
	"encoding/json"
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"runsheet.example/validate/issue"
)

func example() Manifest {
	files := []File{
		{File: "session-b.json", SHA256: strings.Repeat("b", 64), Session: "S2", Status: "done", Resources: []Resource{{Type: "Observation", ID: "1", Role: "pulse", Cells: []issue.Cell{{File: "readings.csv", Row: 4, Column: 2, Heading: "pulse"}}}}},
		{File: "session-a.json", SHA256: strings.Repeat("a", 64), Session: "S1"},
	}
	return Manifest{
		Format: Format, Tool: Tool{"runsheet", "test"}, Options: Options{Format: OptionsFormat, Series: "all"}, Log: Log{ID: "l", Sources: []Source{{"sessions.csv", "c", 3}}},
		Files: files, LeftOut: []LeftOut{{"S3", "2025-11-03", issue.Cell{File: "sessions.csv", Row: 4}, []string{"log-number"}}},
		Expected: []Expected{{"2025-01-01", "3.5"}}, Root: Root(files),
	}
}

// TestScanReadsWhatIsWritten holds that the parts, put together again, are the
// manifest, and that each place leads to its part.
func TestScanReadsWhatIsWritten(t *testing.T) {
	want := example()
	text, err := json.MarshalIndent(want, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	var got Manifest
	into := map[string]any{"format": &got.Format, "tool": &got.Tool, "rules": &got.Rules, "options": &got.Options, "log": &got.Log, "root": &got.Root}
	err = Scan(bytes.NewReader(text), func(p Part) error {
		if !bytes.HasPrefix(text[p.At:], p.Value) {
			t.Errorf("%s stands at %d", p.Value, p.At)
		}
		switch {
		case p.Value == nil:
			return nil
		case p.Member == "bundles":
			got.Files = append(got.Files, File{})
			return json.Unmarshal(p.Value, &got.Files[len(got.Files)-1])
		case p.Member == "leftOut":
			got.LeftOut = append(got.LeftOut, LeftOut{})
			return json.Unmarshal(p.Value, &got.LeftOut[len(got.LeftOut)-1])
		case p.Member == "expected":
			got.Expected = append(got.Expected, Expected{})
			return json.Unmarshal(p.Value, &got.Expected[len(got.Expected)-1])
		default:
			return json.Unmarshal(p.Value, into[p.Member])
		}
	})
	if diff := cmp.Diff(want, got); diff != "" || err != nil {
		t.Errorf("%v\n%s", err, diff)
	}
}

// The digest is `printf '%s  %s\n' aa… session-a.json bb… session-b.json | sha256sum`.
func TestRoot(t *testing.T) {
	const want = "2501a10edc43f396290a7494de22f84e8d0b3d2ba1cd034e5bc52db003b25c47"
	if got := example().Root; got != want {
		t.Errorf("the root is %s, want %s", got, want)
	}
}

func TestScanRefuses(t *testing.T) {
	for text, want := range map[string]string{
		``: "not JSON", `[]`: "no {", `{"bundles":5}`: "no [", `{"bundles":[1,}`: "not JSON", `{"root":"a","root":"b"}`: "twice",
		`{"format":1} {`: "text after", `{"format":1`: "not JSON", `{"leftOut":[}`: "not JSON",
	} {
		var syntax *SyntaxError
		if err := Scan(strings.NewReader(text), func(Part) error { return nil }); !errors.As(err, &syntax) || !strings.Contains(syntax.Reason, want) || syntax.Offset > int64(len(text)) {
			t.Errorf("%s: %v, want %s", text, err, want)
		}
	}
	stop := errors.New("stop")
	if err := Scan(strings.NewReader(`{"bundles":[1]}`), func(p Part) error {
		if p.Element {
			return stop
		}
		return nil
	}); !errors.Is(err, stop) {
		t.Errorf("an error of the caller became %v", err)
	}
}

// FuzzScan holds that whatever is scanned is one JSON object, and that places
// stand in order within the text.
func FuzzScan(f *testing.F) {
	f.Add([]byte(`{"format":1,"bundles":[{"file":"a.json"} , 3],"root":"x"}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		last := int64(0)
		err := Scan(bytes.NewReader(text), func(p Part) error {
			if p.At < last || p.At+int64(len(p.Value)) > int64(len(text)) {
				t.Errorf("%s is at %d behind %d", p.Member, p.At, last)
			}
			last = p.At + int64(len(p.Value))
			return nil
		})
		if err == nil && !json.Valid(text) {
			t.Errorf("%q is no JSON", text)
		}
	})
}
