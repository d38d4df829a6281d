package doc_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"runsheet.example/validate/doc"
)

// sample is a compact Bundle of 40 Observations, about 30 KB.
func sample() []byte {
	const obs = `{"fullUrl":"urn:uuid:98ebcb82-034f-4a54-aedd-74d0cfc15a04","resource":{"resourceType":"Observation","text":{"status":"generated","div":"<div xmlns=\"http://www.w3.org/1999/xhtml\">pulse 71 per minute</div>"},"status":"final","category":[{"coding":[{"system":"http://terminology.hl7.org/CodeSystem/observation-category","code":"vital-signs"}]}],"code":{"coding":[{"system":"http://loinc.org","code":"8867-4"}]},"subject":{"reference":"urn:uuid:b10b8b3e-0b3f-4f3e-9a54-1f1f5c1a7d55"},"effectiveDateTime":"2026-01-01T07:00:00+01:00","valueQuantity":{"value":71,"unit":"per minute","system":"http://unitsofmeasure.org","code":"/min"}},"request":{"method":"POST","url":"Observation"}}`
	return []byte(`{"resourceType":"Bundle","type":"transaction","entry":[` + strings.Repeat(obs+",", 39) + obs + `]}`)
}

func BenchmarkParse(b *testing.B) {
	compact := sample()
	var indented bytes.Buffer
	if err := json.Indent(&indented, compact, "", "  "); err != nil {
		b.Fatal(err)
	}
	for _, c := range []struct {
		name string
		text []byte
	}{{"compact", compact}, {"indented", indented.Bytes()}} {
		b.Run(fmt.Sprintf("%s-%dKB", c.name, len(c.text)/1024), func(b *testing.B) {
			var d doc.Doc
			b.SetBytes(int64(len(c.text)))
			b.ReportAllocs()
			for b.Loop() {
				if f := d.Parse(c.text, ""); len(f) > 0 {
					b.Fatal(f[0])
				}
			}
		})
	}
}

// BenchmarkHostile shows that the time per byte of hostile input stays that
// of plain input.
func BenchmarkHostile(b *testing.B) {
	var keys strings.Builder
	for i := range 200_000 {
		fmt.Fprintf(&keys, `"k%d":0,`, i%150_000)
	}
	for name, text := range map[string]string{
		"many-members":  "{" + keys.String() + `"k":0}`,
		"open-brackets": strings.Repeat("[", 2_000_000),
		"deep-arrays":   strings.Repeat("[", 250) + strings.Repeat("[],", 600_000) + "[]" + strings.Repeat("]", 250),
		"unlike-items":  "[" + strings.Repeat(`{"a":{"b":1},"c":[2]},{"c":[2],"a":{"b":1,"d":3}},`, 40_000) + "{}]",
		"many-arrays":   "[" + strings.Repeat("[],", 600_000) + "[]]",
		"escapes":       `"` + strings.Repeat(`\n`, 1_000_000) + `"`,
		"bad-utf8":      `"` + strings.Repeat("\xff", 2_000_000) + `"`,
		"digits":        strings.Repeat("9", 2_000_000),
	} {
		b.Run(name, func(b *testing.B) {
			var d doc.Doc
			b.SetBytes(int64(len(text)))
			for b.Loop() {
				d.Parse([]byte(text), "")
			}
		})
	}
}
