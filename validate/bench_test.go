package validate_test

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v5"

	"runsheet.example/validate"
	"runsheet.example/validate/issue"
)

// BenchmarkCorpus goes through sessions of 200 people, each document from its
// bytes to the verdict: ours, as validate and as export asks for it, beside what
// encoding/json takes and beside the JSON Schema published with R4. Run it with
// GOMAXPROCS=1 to see one core.
func BenchmarkCorpus(b *testing.B) {
	all := corpus(b, 200)
	ours := func(opts validate.Options) func(data []byte) bool {
		validator := validate.New(opts)
		return func(data []byte) bool { return !issue.HasErrors(validator.Bytes(data, "bundle.json")) }
	}
	schema := publishedSchema(b)
	for _, engine := range []struct {
		name    string
		isValid func(data []byte) bool
	}{
		{"runsheet", ours(validate.Options{})},
		{"with-schema", ours(validate.Options{Schema: true})},
		{"json-valid", json.Valid},
		{"unmarshal", func(data []byte) bool { var v any; return json.Unmarshal(data, &v) == nil }},
		{"jsonschema-dispatched", func(data []byte) bool { return conforms(schema, data) }},
	} {
		b.Run(engine.name, func(b *testing.B) { measure(b, all, engine.isValid) })
	}
}

// measure checks all documents, once before it starts so that every engine has
// grown its memory. Other programs on the machine lengthen ns/op, but hardly
// the processor's time of a document.
func measure(b *testing.B, all [][]byte, isValid func(data []byte) bool) {
	size := 0
	round := func() {
		for _, data := range all {
			if !isValid(data) {
				b.Fatal("the document is refused")
			}
		}
	}
	for _, data := range all {
		size += len(data)
	}
	round()
	b.SetBytes(int64(size))
	b.ReportAllocs()
	before := cpuTime()
	for b.Loop() {
		round()
	}
	b.ReportMetric(float64(cpuTime()-before)/float64(b.N*len(all)), "cpu-ns/document")
}

func conforms(schema *jsonschema.Schema, data []byte) bool {
	decoder := json.NewDecoder(bytes.NewReader(data))
	decoder.UseNumber()
	var value any
	return decoder.Decode(&value) == nil && schema.Validate(value) == nil
}

// publishedSchema compiles the whole schema published with R4, dispatched by
// resourceType in place of the choice of all 146 types that it publishes.
func publishedSchema(tb testing.TB) *jsonschema.Schema {
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
	compiler.RegisterExtension("byType", nil, byTypeKeyword(byType))
	if err := compiler.AddResource(root+"ResourceList", strings.NewReader(`{"type":"object","byType":true}`)); err != nil {
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
