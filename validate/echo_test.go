package validate_test

import (
	"bytes"
	"encoding/json"
	"math/rand"
	"os"
	"slices"
	"strings"
	"testing"

	"runsheet.example/validate"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
)

// withoutEchoes is what is found in the document when every value is read and
// checked where it stands: after a byte order mark, a fault, nothing is taken
// over from the same value before.
func withoutEchoes(v *validate.Validator, data []byte) []issue.Finding {
	findings := v.Bytes(append([]byte("\xef\xbb\xbf"), data...), "x.json")
	findings = slices.DeleteFunc(findings, func(f issue.Finding) bool { return f.Rule == "json-bom" })
	for i := range findings {
		if findings[i].Line == 1 {
			findings[i].Column -= len("\xef\xbb\xbf")
		}
	}
	return findings
}

func sameFindings(t *testing.T, v *validate.Validator, data []byte) {
	t.Helper()
	with, without := v.Bytes(data, "x.json"), withoutEchoes(v, data)
	const cut = 500 // the list of faults of the bytes ends, and the mark is one
	isUTF16 := func(f issue.Finding) bool { return strings.Contains(f.Details, "UTF-16") }
	if len(with) >= cut || slices.ContainsFunc(with, isUTF16) {
		return // what is UTF-16 is none after a mark of UTF-8
	}
	if len(with) != len(without) {
		t.Fatalf("%d findings, without echoes %d, in %.3000s", len(with), len(without), data)
	}
	for i, f := range with {
		g := without[i]
		if f.Rule != g.Rule || f.Line != g.Line || f.Column != g.Column || f.Severity != g.Severity ||
			f.Expression != g.Expression || f.Details != g.Details || f.Value != g.Value || f.Expected != g.Expected {
			t.Fatalf("%+v\nwithout echoes %+v\nin %.3000s", f, g, data)
		}
	}
}

// TestEchoesChangeNothing compares what is found with what is found without
// taking anything over: in valid and invalid documents, alone and twice
// in a Bundle, in broken sessions, and where the same value is right in one
// place and wrong in another.
func TestEchoesChangeNothing(t *testing.T) {
	v := validate.New(validate.Options{})
	data, err := os.ReadFile("../testdata/validation_cases.json")
	if err != nil {
		t.Fatal(err)
	}
	var cases []struct{ Text string }
	if err := json.Unmarshal(data, &cases); err != nil {
		t.Fatal(err)
	}
	for _, c := range cases {
		if strings.HasPrefix(c.Text, "\xef\xbb\xbf") {
			continue // nothing is taken over in it
		}
		sameFindings(t, v, []byte(c.Text))
		sameFindings(t, v, []byte(`{"resourceType":"Bundle","type":"collection","entry":[{"resource":`+c.Text+`},{"resource":`+c.Text+`}]}`))
	}
	for _, text := range []string{
		// An array with null needs its twin, which the second has not.
		`{"resourceType":"Bundle","type":"collection","entry":[
			{"resource":{"resourceType":"Patient","name":[{"given":["a",null],"_given":[null,{"id":"x"}]}]}},
			{"resource":{"resourceType":"Patient","name":[{"given":["a",null]}]}}]}`,
		// The same member in another type, and as another element.
		`{"resourceType":"Bundle","type":"collection","entry":[
			{"resource":{"resourceType":"Observation","status":"final","code":{"text":"x"},"subject":{"reference":"Patient/1"}}},
			{"resource":{"resourceType":"Basic","code":{"text":"x"},"subject":{"reference":"Patient/1"},"status":{"text":"x"}}},
			{"resource":{"resourceType":"Device","status":{"text":"x"},"patient":{"reference":"Device/1"},"owner":{"reference":"Device/1"}}}]}`,
		// A relative URL is right in an extension of an extension only.
		`{"resourceType":"Basic","code":{"text":"x","extension":[{"url":"http://e.org/a","extension":[{"url":"b","valueCode":"c"}]}]},
			"extension":[{"url":"b","valueCode":"c"}],"subject":{"extension":[{"url":"b","valueCode":"c"}]}}`,
		// A reference into what one resource contains and the other does not.
		`{"resourceType":"Bundle","type":"collection","entry":[
			{"resource":{"resourceType":"Basic","contained":[{"resourceType":"Patient","id":"p"}],"code":{"text":"x"},"subject":{"reference":"#p"}}},
			{"resource":{"resourceType":"Basic","code":{"text":"x"},"subject":{"reference":"#p"}}}]}`,
		// The same member with a binding and without.
		`{"resourceType":"Bundle","type":"collection","entry":[
			{"resource":{"resourceType":"AllergyIntolerance","code":{"coding":[{"code":"x"}]},"clinicalStatus":{"coding":[{"code":"x"}]}}},
			{"resource":{"resourceType":"Condition","code":{"coding":[{"code":"x"}]},"clinicalStatus":{"coding":[{"code":"x"}]}}}]}`,
		strings.Repeat(`{"extension":[`, 60) + strings.Repeat(`]}`, 60),
	} {
		sameFindings(t, v, []byte(text))
	}
}

// TestEchoesInMutatedDocuments does the same with documents in which bytes,
// and whole stretches, were exchanged. The seed is fixed.
func TestEchoesInMutatedDocuments(t *testing.T) {
	v := validate.New(validate.Options{})
	random := rand.New(rand.NewSource(1))
	for _, whole := range []string{string(bundle40(t)), session(t)} {
		for range 150 {
			data := []byte(whole)
			for range 1 + random.Intn(4) {
				mutate(random, data)
			}
			sameFindings(t, v, data)
		}
	}
}

// mutate exchanges a letter or digit, or writes a stretch over another one.
func mutate(random *rand.Rand, data []byte) {
	at := random.Intn(len(data))
	if random.Intn(3) == 0 {
		n := min(random.Intn(200), len(data)-at)
		copy(data[at:at+n], data[random.Intn(len(data)-n):])
		return
	}
	for at < len(data)-1 && !('a' <= data[at] && data[at] <= 'z' || '0' <= data[at] && data[at] <= '9') {
		at++
	}
	data[at] = "abz0157"[random.Intn(7)]
}

// TestEchoesInRebuiltDocuments does the same with documents in which values
// were left out, doubled, or put in the place of others, which changes how one
// resource is built and not the next.
func TestEchoesInRebuiltDocuments(t *testing.T) {
	v := validate.New(validate.Options{})
	random := rand.New(rand.NewSource(2))
	for _, whole := range []string{string(bundle40(t)), session(t)} {
		for range 150 {
			data := []byte(whole)
			for range 1 + random.Intn(6) {
				data = rebuild(random, data)
			}
			sameFindings(t, v, data)
		}
	}
}

// FuzzEchoes does the same with whatever comes.
func FuzzEchoes(f *testing.F) {
	f.Add([]byte(session(f)))
	f.Add([]byte(`{"resourceType":"Bundle","type":"collection","entry":[
		{"resource":{"resourceType":"Basic","code":{"coding":[{"system":"http://e.org","code":"x"}]},"subject":{"reference":"Patient/1"}}},
		{"resource":{"resourceType":"Basic","code":{"coding":[{"system":"http://e.org","code":"yy"}]},"subject":{"reference":"Patient/2"},"created":"2026-01-01"}},
		{"resource":{"resourceType":"Basic","id":"a","code":{"coding":[{"system":"http://e.org","code":"x"}]},"subject":{"reference":"Patient/1"}}}]}`))
	v := validate.New(validate.Options{})
	f.Fuzz(func(t *testing.T, data []byte) {
		if !bytes.HasPrefix(data, []byte("\xef\xbb\xbf")) {
			sameFindings(t, v, data)
		}
	})
}

// rebuild leaves out a member or an item, doubles it, or writes another value of
// the document in its place.
func rebuild(random *rand.Rand, data []byte) []byte {
	var d doc.Doc
	d.Parse(data, "x.json")
	n, other := doc.Node(random.Intn(d.Len())), doc.Node(random.Intn(d.Len()))
	start, end := d.Offset(n), d.End(n)
	replaced := d.Raw(other)
	if length := len(d.Key(n)); random.Intn(2) == 0 && d.Next(n) != doc.None {
		if length > 0 {
			start -= length + len(`"":`)
		}
		end = d.Offset(d.Next(n))
		if length = len(d.Key(d.Next(n))); length > 0 {
			end -= length + len(`"":`)
		}
		replaced = bytes.Repeat(data[start:end], random.Intn(2)*2)
	}
	return slices.Concat(data[:start], replaced, data[end:])
}
