package profiles

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io/fs"
	"strings"
	"testing"
)

const (
	weightCode = LOINC + "|29463-7"
	flowCode   = Local + "|blood-flow-rate"
)

func TestReadCodeTable(t *testing.T) {
	for name, text := range map[string]string{
		"two columns":   "code,target\n" + weightCode + ",urn:oid:2.25.99|WT\nblood-flow-rate,urn:oid:2.25.99|QB\n",
		"three columns": "target;code;display\r\nurn:oid:2.25.99|WT;" + weightCode + ";\r\n\r\nurn:oid:2.25.99|QB;" + flowCode + ";\"Blutfluss; rot\"\r\n",
		"byte order":    "\ufeffCode,Target,Display\n29463-7,urn:oid:2.25.99|WT,Gewicht\n" + flowCode + ",urn:oid:2.25.99|QB,Fluss\nuf-goal,,\n",
	} {
		m, err := ReadCodeMap([]byte(text), "codes.csv")
		if err != nil || m.Len() != 2 {
			t.Fatalf("%s: %v, %v", name, m, err)
		}
		target, ok := m.Target(Coding{LOINC, "29463-7", "any"})
		if !ok || target.String() != "urn:oid:2.25.99|WT" {
			t.Errorf("%s: %v", name, target)
		}
		if got := fmt.Sprint(m.Sources(Coding{"urn:oid:2.25.99", "QB", "any"})); got != "["+flowCode+"]" {
			t.Errorf("%s: %s", name, got)
		}
	}
}

func TestReadConceptMap(t *testing.T) {
	const text = `{"resourceType":"ConceptMap","status":"active","group":[
 {"source":"http://loinc.org","sourceVersion":"2.77","target":"urn:oid:2.25.99","element":[
  {"code":"29463-7","target":[{"code":"W","equivalence":"wider"},{"code":"WT","display":"Gewicht","equivalence":"equivalent"}]},
  {"code":"8310-5"},{"code":"8867-4","target":[{"equivalence":"unmatched"}]}]}]}`
	m, err := ReadCodeMap([]byte(text), "codes.json")
	if err != nil || m.Len() != 1 || m.Inexact != 1 || len(m.SHA256) != 64 {
		t.Fatalf("%+v, %v", m, err)
	}
	if target, _ := m.Target(Coding{LOINC, "29463-7", ""}); target != (Coding{"urn:oid:2.25.99", "WT", "Gewicht"}) || m.Display(target) != "Gewicht" {
		t.Errorf("%+v", target)
	}
}

// Each fault names the file and the line or the element.
func TestReadCodeMapFaults(t *testing.T) {
	group := func(source, version, elements string) string {
		return `{"resourceType":"ConceptMap","group":[{"source":"` + source + `","sourceVersion":"` + version + `","target":"urn:oid:2.25.99","element":[` + elements + `]}]}`
	}
	target := func(rest string) string { return `{"code":"29463-7","target":[` + rest + `]}` }
	const right = `{"code":"WT","equivalence":"equal"}`
	for text, want := range map[string]string{
		"code,target\n29463-8,urn:a|WT\n":                              `line 2: source code "29463-8": no record holds it`,
		"code,target\nhttp://snomed.info/sct|302497006,urn:a|HD\n":     `line 2: source code "http://snomed.info/sct|302497006"`,
		"code,target\n29463-7,urn:a|A\n\n29463-7,urn:a|B\n":            "line 4: http://loinc.org|29463-7 has a target already, at line 2",
		"code,target,version\nblood-flow-rate,urn:a|A,2\n":             `line 2: the map is for version "2" of our code system: expected "1"`,
		"code,target\n29463-7,WT\n":                                    `line 2: target "WT|": expected SYSTEM|CODE`,
		"code,target\n29463-7,urn:a|\n":                                `line 2: target "urn:a|": expected a code`,
		"code,target\nblood-flow-rate,http://loinc.org|8867-4\n":       `line 2: target "http://loinc.org|8867-4" is a code of ours`,
		"code,target\n29463-7,\n":                                      "codes, no code has a target",
		"code,target,colour\n":                                         `line 1, column 3: "colour"`,
		"code,code,target\n":                                           `line 1, column 2: "code"`,
		"code,display\n":                                               `line 1: there is no column "target"`,
		"code,target\n29463-7\n":                                       "line 2: wrong number of fields",
		"":                                                             "expected a ConceptMap (JSON), or CSV",
		"code,target\n29463-7,urn:a|\xff\n":                            "expected UTF-8",
		`{"resourceType":"ValueSet"}`:                                  `resourceType "ValueSet": expected ConceptMap`,
		`{"resourceType":`:                                             "expected a FHIR R4 ConceptMap",
		group(LOINC, "", target(right+","+right)):                      "group[0].element[0].target[1]: http://loinc.org|29463-7 has a target already, at group[0].element[0].target[0]",
		group(LOINC, "", target(`{"code":"WT","equivalence":"same"}`)): `group[0].element[0].target[0].equivalence "same"`,
		group(LOINC, "", target(`{"code":"WT"}`)):                      `group[0].element[0].target[0].equivalence ""`,
		group(LOINC, "", target(`{"code":"WT","equivalence":"equal","dependsOn":[{}]}`)):            "group[0].element[0].target[0]: a target that depends on other elements",
		group(LOINC, "", `{"code":"1-8"}`):                                                          `group[0].element[0].target[0]: source code "http://loinc.org|1-8"`,
		group(Local, "2", `{"code":"uf-goal","target":[`+right+`]}`):                                `group[0].element[0].target[0]: the map is for version "2"`,
		strings.Replace(group(LOINC, "", target(right)), `"element"`, `"unmapped":{},"element"`, 1): "group[0].unmapped",
	} {
		m, err := ReadCodeMap([]byte(text), "codes")
		if err == nil || !strings.HasPrefix(err.Error(), "codes") || !strings.Contains(err.Error(), want) {
			t.Errorf("%s:\n%v, %v, want %s", text, m, err, want)
		}
	}
	_, err := ReadCodeMap([]byte("code,target\n1,urn:a|A\n2,urn:a|B\n"), "codes")
	if lines := strings.Count(fmt.Sprint(err), "\n"); lines != 1 {
		t.Errorf("not all faults: %v", err)
	}
}

// A local code is replaced only by a code that says what it is.
func TestCheckOnly(t *testing.T) {
	one, err := ReadCodeMap([]byte("code,target\nblood-flow-rate,urn:a|Q\n29463-7,urn:a|W\n8340-2,urn:a|W\n"), "codes.csv")
	if err != nil || one.CheckOnly() != nil {
		t.Errorf("%v, %v", err, one.CheckOnly())
	}
	two, err := ReadCodeMap([]byte("code,target\nblood-flow-rate,urn:a|Q\ndialysate-flow-rate,urn:a|Q\n"), "codes.csv")
	if err != nil || two.CheckOnly() == nil || !strings.Contains(two.CheckOnly().Error(), "urn:a|Q stands for [") {
		t.Errorf("%v, %v", err, two.CheckOnly())
	}
}

// The empty map in both forms has each code once, is read, and maps nothing
// until it is filled in.
func TestEmptyMap(t *testing.T) {
	var table bytes.Buffer
	if err := WriteEmptyMap(&table); err != nil {
		t.Fatal(err)
	}
	_, resource, err := Find(EmptyMap)
	if err != nil {
		t.Fatal(err)
	}
	bare := map[string]bool{}
	for _, c := range MappedCodes() {
		if bare[c.Code] {
			t.Errorf("%s is not found by its code alone", c)
		}
		bare[c.Code] = true
		if c.Display == "" {
			t.Errorf("%s has no display", c)
		}
	}
	for _, text := range [][]byte{table.Bytes(), resource} {
		if _, err := ReadCodeMap(text, "empty"); err == nil || strings.Count(err.Error(), "\n") > 0 || !strings.Contains(err.Error(), "fill in") {
			t.Errorf("%v", err)
		}
	}
	if rows := strings.Count(table.String(), "\n"); rows != 1+len(MappedCodes()) || rows < 150 {
		t.Errorf("%d rows", rows)
	}
	var m conceptMap
	if err := json.Unmarshal(resource, &m); err != nil || len(m.Group) != 2 || len(m.Group[0].Element)+len(m.Group[1].Element) != len(MappedCodes()) {
		t.Errorf("%d groups, %v", len(m.Group), err)
	}
	filled := strings.Replace(table.String(), flowCode+",Blood flow rate,mL/min L/h,1,,", flowCode+",Blood flow rate,mL/min L/h,1,urn:a|Q,Fluss", 1)
	if m, err := ReadCodeMap([]byte(filled), "filled"); err != nil || m.Len() != 1 {
		t.Errorf("%v, %v", m, err)
	}
	json := strings.Replace(string(resource), `"source": "http://loinc.org"`, `"source": "http://loinc.org", "target": "urn:a"`, 1)
	json = strings.ReplaceAll(json, `"code":"29463-7","display":"Body weight","target":[{"equivalence":"unmatched"`, `"code":"29463-7","display":"Body weight","target":[{"code":"W","equivalence":"equivalent"`)
	if m, err := ReadCodeMap([]byte(json), "filled"); err != nil || m.Len() != 1 {
		t.Errorf("%v, %v", m, err)
	}
}

// What is read as a map has targets for codes of ours alone, whatever the text.
func FuzzReadCodeMap(f *testing.F) {
	f.Add([]byte("code;target\n" + weightCode + ";urn:a|W\n"))
	f.Add([]byte(`{"resourceType":"ConceptMap","group":[{"source":"http://loinc.org","target":"urn:a","element":[{"code":"29463-7","target":[{"code":"W","equivalence":"equal"}]}]}]}`))
	if text, err := fs.ReadFile(Package(), "ConceptMap-"+EmptyMap+".json"); err == nil {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		m, err := ReadCodeMap(data, "fuzz")
		if err != nil {
			return
		}
		for source, target := range m.targets {
			if len(ByCode(source.System, source.Code)) == 0 && source.System != LOINC && source.System != Local || target.Code == "" || !strings.Contains(target.System, ":") {
				t.Errorf("%v to %v", source, target)
			}
		}
	})
}
