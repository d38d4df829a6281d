package structure

import (
	"testing"

	"runsheet.example/validate/doc"
)

// The tables were made by a program that computes hashes and filter bits on
// its own; here they are held against this package's.
func TestTables(t *testing.T) {
	for typ := Type(1); int(typ) < len(typeTable); typ++ {
		tr := typeTable[typ]
		for i := tr.rows; i < tr.rowsEnd; i++ {
			r := &elementTable[i]
			name := elementNames[r.name : int(r.name)+int(r.length)]
			if got := typ.find([]byte(name), hashOf(name)); got != i {
				t.Errorf("%s.%s: row %d, found %d", typ, name, i, got)
			}
			if filterPlace(r.element()) != r.filter {
				t.Errorf("%s.%s: place in the filter differs", typ, name)
			}
		}
		if typ.find([]byte("noSuchElement"), hashOf("noSuchElement")) != 0 {
			t.Errorf("%s has noSuchElement", typ)
		}
	}
	for i := range valueSets {
		v := &valueSets[i]
		for k := v.codes; k < v.codesEnd; k++ {
			r := codeTable[k]
			if code := codeText[r.text : int(r.text)+int(r.length)]; !v.has([]byte(code)) {
				t.Errorf("%s has not its own code %s", v.url, code)
			}
		}
		if v.codes != v.codesEnd && v.has([]byte("no such code")) {
			t.Errorf("%s has any code", v.url)
		}
	}
}

// FHIR R4 4.0.1 has 146 resource types that can be instantiated, besides
// Resource and DomainResource.
func TestResourceTypes(t *testing.T) {
	n := 0
	for typ := Type(1); typ.String() != ""; typ++ {
		found, ok := ResourceType([]byte(typ.String()))
		if ok != typ.IsResource() || ok && found != typ {
			t.Errorf("%s: found %v, %v", typ, found, ok)
		}
		if ok {
			n++
		}
	}
	if n != 146 {
		t.Errorf("%d resource types", n)
	}
	for _, name := range []string{"", "patient", "Patients", "Resource", "DomainResource", "Element", "Patient.contact", "zzz"} {
		if _, ok := ResourceType([]byte(name)); ok {
			t.Errorf("%q is taken for a resource type", name)
		}
	}
}

func hashOf(name string) uint32 { return doc.Hash([]byte(name)) }
