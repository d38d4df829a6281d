package schema

import (
	"bytes"
	"compress/gzip"
	_ "embed" // for r4.schema.gz
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"sync"

	"github.com/santhosh-tekuri/jsonschema/v5"
)

//go:generate sh -c "cd gen && npm ci --ignore-scripts && node trim.mjs"

// packed holds the definitions, see gen/trim.mjs.
//
//go:embed r4.schema.gz
var packed []byte

// base is the address the definitions are known to the compiler by. Nothing
// is fetched from it.
const base = "http://hl7.org/fhir/json-schema/"

// dispatchKeyword marks the place of a resource of any type.
const dispatchKeyword = "byResourceType"

// definitions compiles single definitions of the published schema, each once.
// It may be used from several goroutines at once.
type definitions struct {
	text map[string][]byte // by name

	mu       sync.Mutex
	compiler *jsonschema.Compiler
	compiled map[string]*jsonschema.Schema
	short    map[*jsonschema.Schema]bool // see shorten
}

func newDefinitions() *definitions {
	ds := &definitions{text: unpack(), compiled: map[string]*jsonschema.Schema{}, short: map[*jsonschema.Schema]bool{}}
	ds.compiler = jsonschema.NewCompiler()
	ds.compiler.Draft = jsonschema.Draft6
	ds.compiler.LoadURL = ds.load
	ds.compiler.RegisterExtension(dispatchKeyword, nil, dispatch{ds})
	return ds
}

// unpack splits the embedded text into one JSON document a definition.
func unpack() map[string][]byte {
	unzip, err := gzip.NewReader(bytes.NewReader(packed))
	if err != nil {
		panic(fmt.Sprintf("schema: embedded definitions: %v", err))
	}
	text, err := io.ReadAll(unzip)
	if err != nil {
		panic(fmt.Sprintf("schema: embedded definitions: %v", err))
	}
	byName := make(map[string][]byte, bytes.Count(text, []byte("\n")))
	for line := range bytes.Lines(text) {
		name, definition, _ := bytes.Cut(line, []byte("\t"))
		byName[string(name)] = definition
	}
	return byName
}

func (ds *definitions) load(url string) (io.ReadCloser, error) {
	definition, ok := ds.text[strings.TrimPrefix(url, base)]
	if !ok {
		return nil, fmt.Errorf("no definition %s", url)
	}
	return io.NopCloser(bytes.NewReader(definition)), nil
}

func (ds *definitions) compile(name string) (*jsonschema.Schema, error) {
	ds.mu.Lock()
	defer ds.mu.Unlock()
	if schema := ds.compiled[name]; schema != nil {
		return schema, nil
	}
	schema, err := ds.compiler.Compile(base + name)
	if err != nil {
		return nil, err
	}
	ds.shorten(schema)
	ds.compiled[name] = schema
	return schema, nil
}

// shorten puts the schema that a reference points to in the reference's place,
// which saves a quarter of the engine's time (measured on the demo month). It
// changes no schema twice, so none that a validation may be reading.
func (ds *definitions) shorten(schema *jsonschema.Schema) {
	if ds.short[schema] {
		return
	}
	ds.short[schema] = true
	for name, member := range schema.Properties {
		member = target(member)
		schema.Properties[name] = member
		ds.shorten(member)
	}
	if items, ok := schema.Items.(*jsonschema.Schema); ok {
		items = target(items)
		schema.Items = items
		ds.shorten(items)
	}
}

func target(schema *jsonschema.Schema) *jsonschema.Schema {
	if schema.Ref != nil {
		return schema.Ref
	}
	return schema
}

// isResource reports whether name is a type of resource.
func (ds *definitions) isResource(name string) bool {
	return bytes.Contains(ds.text[name], []byte(`"resourceType":{"const":"`+name+`"`))
}

// members returns the members a definition has, by name.
func (ds *definitions) members(definition string) map[string]json.RawMessage {
	var schema struct{ Properties map[string]json.RawMessage }
	if err := json.Unmarshal(ds.text[definition], &schema); err != nil {
		panic(fmt.Sprintf("schema: embedded definition %s: %v", definition, err))
	}
	return schema.Properties
}

// dispatch is the keyword byResourceType: the value is checked against the
// definition its resourceType names.
type dispatch struct{ definitions *definitions }

func (x dispatch) Compile(_ jsonschema.CompilerContext, m map[string]any) (jsonschema.ExtSchema, error) {
	if _, ok := m[dispatchKeyword]; !ok {
		return nil, nil
	}
	return x, nil
}

func (x dispatch) Validate(ctx jsonschema.ValidationContext, v any) error {
	object, ok := v.(map[string]any)
	if !ok {
		return nil // the schema's type says so
	}
	name, _ := object["resourceType"].(string)
	if !x.definitions.isResource(name) {
		return ctx.Error(dispatchKeyword, "resourceType must be that of an R4 resource")
	}
	schema, err := x.definitions.compile(name)
	if err != nil {
		panic(fmt.Sprintf("schema: %v", err))
	}
	return ctx.Validate(schema, dispatchKeyword, v, "")
}
