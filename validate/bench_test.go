package validate_test

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v5"

	"runsheet.example/validate"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/structure"
)

var uuid = regexp.MustCompile(`urn:uuid:[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}`)

// bundle40 is a session of 40 resources as it is sent.
func bundle40(tb testing.TB) []byte {
	tb.Helper()
	data, err := os.ReadFile(filepath.Join("testdata", "bundle40.json"))
	if err != nil {
		tb.Fatal(err)
	}
	return bytes.TrimSpace(data)
}

// sessions are the session of bundle40 on many days, each with UUIDs of its own.
func sessions(tb testing.TB) [][]byte {
	tb.Helper()
	var all [][]byte
	for i := range 25 {
		// The last digits of a UUID are replaced, the same everywhere.
		session := uuid.ReplaceAllFunc(bundle40(tb), func(u []byte) []byte {
			return fmt.Appendf(nil, "%s%02d", u[:len(u)-2], i)
		})
		day := time.Date(2025, 10, 31+i, 0, 0, 0, 0, time.UTC).Format(time.DateOnly)
		all = append(all, bytes.ReplaceAll(session, []byte("2025-10-31"), []byte(day)))
	}
	return all
}

// bundle1000 is a transaction of 1,000 entries: the same session on 25 days,
// each with UUIDs of its own.
func bundle1000(tb testing.TB) []byte {
	tb.Helper()
	var entries [][]byte
	for _, session := range sessions(tb) {
		var bundle struct{ Entry []json.RawMessage }
		if err := json.Unmarshal(session, &bundle); err != nil {
			tb.Fatal(err)
		}
		for _, entry := range bundle.Entry {
			entries = append(entries, entry)
		}
	}
	return fmt.Appendf(nil, `{"resourceType":"Bundle","type":"transaction","entry":[%s]}`, bytes.Join(entries, []byte(",")))
}

// BenchmarkBundle40 sets the whole validator beside the JSON Schema published
// with R4 alone, from the bytes to the verdict. Run it with GOMAXPROCS=1 to
// see one core.
func BenchmarkBundle40(b *testing.B) {
	data := bundle40(b)
	validator := validate.New(validate.Options{})
	b.Run("runsheet", func(b *testing.B) {
		measure(b, data, func() bool { return len(validator.Bytes(data, "bundle.json")) == 0 })
	})
	b.Run("runsheet-another-each-time", func(b *testing.B) {
		all, next := sessions(b), 0
		measure(b, data, func() bool {
			next = (next + 1) % len(all)
			return len(validator.Bytes(all[next], "bundle.json")) == 0
		})
	})
	b.Run("runsheet-structure-alone", func(b *testing.B) {
		var d doc.Doc
		var checker structure.Checker
		measure(b, data, func() bool {
			valid := len(d.Parse(data, "bundle.json")) == 0
			checker.Check(&d, func(f issue.Finding) { valid = valid && f.Severity != issue.Error })
			return valid
		})
	})
	b.Run("jsonschema-dispatched", func(b *testing.B) {
		schema := publishedSchema(b, true)
		measure(b, data, func() bool { return conforms(schema, data) })
	})
	b.Run("jsonschema-stock", func(b *testing.B) {
		schema := publishedSchema(b, false)
		measure(b, data, func() bool { return conforms(schema, data) })
	})
}

// BenchmarkBundle1000 is 25 times as much as BenchmarkBundle40.
func BenchmarkBundle1000(b *testing.B) {
	data := bundle1000(b)
	validator := validate.New(validate.Options{})
	want := len(validator.Bytes(data, "bundle.json"))
	measure(b, data, func() bool { return len(validator.Bytes(data, "bundle.json")) == want })
}

// BenchmarkSession validates the session of the tests, without white space as
// it is sent.
func BenchmarkSession(b *testing.B) {
	var compact bytes.Buffer
	if err := json.Compact(&compact, []byte(session(b))); err != nil {
		b.Fatal(err)
	}
	data := compact.Bytes()
	validator := validate.New(validate.Options{})
	measure(b, data, func() bool { return len(validator.Bytes(data, "session.json")) == 0 })
}

func measure(b *testing.B, data []byte, isValid func() bool) {
	if !isValid() { // also lets every engine grow its memory
		b.Fatal("the document is refused")
	}
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	before := cpuTime()
	for b.Loop() {
		if !isValid() {
			b.Fatal("the document is refused")
		}
	}
	// Other programs on the machine lengthen ns/op, but hardly this.
	b.ReportMetric(float64(cpuTime()-before)/float64(b.N), "cpu-ns/op")
}

func conforms(schema *jsonschema.Schema, data []byte) bool {
	decoder := json.NewDecoder(bytes.NewReader(data))
	decoder.UseNumber()
	var value any
	return decoder.Decode(&value) == nil && schema.Validate(value) == nil
}

// publishedSchema compiles the whole schema published with R4: dispatched by
// resourceType, or with the choice of all 146 types it has as published.
func publishedSchema(tb testing.TB, dispatched bool) *jsonschema.Schema {
	tb.Helper()
	file, err := os.Open(filepath.Join("schema", "r4.schema.gz"))
	if err != nil {
		tb.Fatal(err)
	}
	defer file.Close()
	unzipped, err := gzip.NewReader(file)
	if err != nil {
		tb.Fatal(err)
	}
	text, err := io.ReadAll(unzipped)
	if err != nil {
		tb.Fatal(err)
	}
	const root = "http://hl7.org/fhir/json-schema/"
	compiler := jsonschema.NewCompiler()
	compiler.Draft = jsonschema.Draft6
	byType := map[string]*jsonschema.Schema{}
	var choice []string
	for line := range strings.Lines(string(text)) {
		name, definition, _ := strings.Cut(line, "\t")
		if strings.Contains(definition, `"resourceType":{"const":"`+name+`"`) {
			choice = append(choice, name)
		}
		if name == "ResourceList" {
			continue
		}
		if err := compiler.AddResource(root+name, strings.NewReader(definition)); err != nil {
			tb.Fatal(err)
		}
	}
	list := `{"type":"object","byType":true}`
	if dispatched {
		compiler.RegisterExtension("byType", nil, byTypeKeyword(byType))
	} else {
		slices.Sort(choice)
		list = `{"oneOf":[{"$ref":"` + strings.Join(choice, `"},{"$ref":"`) + `"}]}`
	}
	if err := compiler.AddResource(root+"ResourceList", strings.NewReader(list)); err != nil {
		tb.Fatal(err)
	}
	for _, name := range choice {
		if byType[name], err = compiler.Compile(root + name); err != nil {
			tb.Fatal(err)
		}
	}
	schema, err := compiler.Compile(root + "ResourceList")
	if err != nil {
		tb.Fatal(err)
	}
	return schema
}

// byTypeKeyword checks a resource against the schema of its type.
type byTypeKeyword map[string]*jsonschema.Schema

func (k byTypeKeyword) Compile(_ jsonschema.CompilerContext, m map[string]any) (jsonschema.ExtSchema, error) {
	if _, ok := m["byType"]; !ok {
		return nil, nil
	}
	return k, nil
}

func (k byTypeKeyword) Validate(ctx jsonschema.ValidationContext, v any) error {
	object, _ := v.(map[string]any)
	name, _ := object["resourceType"].(string)
	schema := k[name]
	if schema == nil {
		return ctx.Error("byType", "no such type")
	}
	return ctx.Validate(schema, "byType", v, "")
}
