package schema

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strings"
	"sync"
	"sync/atomic"

	"github.com/santhosh-tekuri/jsonschema/v5"
)

// plan is a definition of the published schema taken apart, so that its
// members can be asked one by one. It is only made of a definition that says
// nothing but properties, required and additionalProperties: an object is then
// valid when its set of member names is and each member is by itself.
type plan struct {
	members map[string]*member
	// names judges the member names: the definition with every member free.
	names *jsonschema.Schema
}

// member is what a definition says of one member.
type member struct {
	index   int
	isArray bool
	// One of these: a resource of any type, an object, or anything else.
	isResource bool
	object     string // name of the definition
	leaf       *leaf

	plan atomic.Pointer[plan] // of object, once it was met
}

// leaf is a schema without members. Equal ones are the same leaf.
type leaf struct{ schema *jsonschema.Schema }

// maxMembers is more than any definition has; ElementDefinition has 291.
const maxMembers = 320

// plans makes plans and keeps them. It may be used from several goroutines.
type plans struct {
	text func() map[string][]byte

	mu     sync.Mutex
	byName map[string]*plan
	leaves map[string]*leaf // by the text of the schema
}

func newPlans(text func() map[string][]byte) *plans {
	return &plans{text: text, byName: map[string]*plan{}, leaves: map[string]*leaf{}}
}

// of returns the plan of a definition, nil when it has none.
func (ps *plans) of(name string) *plan {
	ps.mu.Lock()
	defer ps.mu.Unlock()
	p, met := ps.byName[name]
	if !met {
		p = ps.make(name)
		ps.byName[name] = p
	}
	return p
}

// ofMember returns the plan of a member that is an object.
func (ps *plans) ofMember(m *member) *plan {
	p := m.plan.Load()
	if p == nil {
		p = ps.of(m.object)
		m.plan.Store(p)
	}
	return p
}

func (ps *plans) make(name string) *plan {
	var says map[string]json.RawMessage
	var properties map[string]json.RawMessage
	if json.Unmarshal(ps.text()[name], &says) != nil || json.Unmarshal(says["properties"], &properties) != nil {
		return nil
	}
	for keyword := range says {
		if keyword != "properties" && keyword != "required" && keyword != "additionalProperties" {
			return nil
		}
	}
	if len(properties) > maxMembers {
		return nil
	}
	p := &plan{members: make(map[string]*member, len(properties))}
	for key, schema := range properties {
		m := ps.member(schema)
		if m == nil {
			return nil
		}
		m.index = len(p.members)
		p.members[key] = m
		properties[key] = json.RawMessage("true")
	}
	says["properties"] = must(json.Marshal(properties))
	p.names = compileAlone(must(json.Marshal(says)))
	return p
}

// member reads the schema of a member, nil when it is none of those expected.
func (ps *plans) member(text []byte) *member {
	var schema struct {
		Type  string          `json:"type"`
		Ref   string          `json:"$ref"`
		Items json.RawMessage `json:"items"`
	}
	if json.Unmarshal(text, &schema) != nil {
		return nil
	}
	switch {
	case schema.Items != nil:
		// Nothing but items and type: array, or it is none of ours.
		whole := `{"items":` + string(schema.Items) + `,"type":"array"}`
		item := ps.member(schema.Items)
		if string(text) != whole || item == nil || item.isArray {
			return nil
		}
		item.isArray = true
		return item
	case schema.Ref == "":
		return &member{leaf: ps.leaf(text)}
	case schema.Ref == "ResourceList":
		return &member{isResource: true}
	case bytes.Contains(ps.text()[schema.Ref], []byte(`"properties"`)):
		return &member{object: schema.Ref}
	default:
		return &member{leaf: ps.leaf(ps.text()[schema.Ref])}
	}
}

func (ps *plans) leaf(text []byte) *leaf {
	l := ps.leaves[string(text)]
	if l == nil {
		l = &leaf{schema: compileAlone(text)}
		ps.leaves[string(text)] = l
	}
	return l
}

// compileAlone compiles a schema that refers to no other.
func compileAlone(text []byte) *jsonschema.Schema {
	compiler := jsonschema.NewCompiler()
	compiler.Draft = jsonschema.Draft6
	if err := compiler.AddResource(base, strings.NewReader(string(text))); err != nil {
		panic(fmt.Sprintf("schema: embedded definitions: %v", err))
	}
	return must(compiler.Compile(base))
}

// must is for what concerns the embedded definitions alone, which the tests
// go through to the last.
func must[T any](value T, err error) T {
	if err != nil {
		panic(fmt.Sprintf("schema: embedded definitions: %v", err))
	}
	return value
}
