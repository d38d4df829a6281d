package profiles

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
)

// equivalences are the codes of ConceptMap.group.element.target.equivalence
// (FHIR R4 4.0.1, concept-map-equivalence), with whether the target means the
// same as the source.
var equivalences = map[string]bool{
	"equal": true, "equivalent": true,
	"relatedto": false, "wider": false, "subsumes": false, "narrower": false, "specializes": false,
	"inexact": false, "unmatched": false, "disjoint": false,
}

type conceptMap struct {
	ResourceType string
	Group        []struct {
		Source, SourceVersion, Target string

		Element []struct {
			Code   string
			Target []mapTarget
		}
		Unmapped json.RawMessage
	}
}

type mapTarget struct {
	Code, Display, Equivalence string
	DependsOn, Product         []json.RawMessage
}

// readConceptMap reads the targets of a ConceptMap.
func readConceptMap(text []byte) (list []mapping, faults []error) {
	var m conceptMap
	if err := json.Unmarshal(text, &m); err != nil {
		return nil, []error{fmt.Errorf("expected a FHIR R4 ConceptMap: %w", err)}
	}
	if m.ResourceType != "ConceptMap" {
		return nil, []error{fmt.Errorf("resourceType %q: expected ConceptMap", m.ResourceType)}
	}
	for i, g := range m.Group {
		if g.Unmapped != nil {
			faults = append(faults, fmt.Errorf("group[%d].unmapped: a rule for all other codes is not understood; map each code", i))
		}
		for j, e := range g.Element {
			source := mapping{at: fmt.Sprintf("group[%d].element[%d]", i, j), source: Coding{System: g.Source, Code: e.Code}, version: g.SourceVersion}
			if len(e.Target) == 0 {
				e.Target = []mapTarget{{Equivalence: "unmatched"}}
			}
			for k, target := range e.Target {
				p := source
				p.at += fmt.Sprintf(".target[%d]", k)
				exact, known := equivalences[target.Equivalence]
				if !known {
					faults = append(faults, fmt.Errorf("%s.equivalence %q: expected a code of FHIR R4 such as equivalent", p.at, target.Equivalence))
					continue
				}
				p.target = Coding{g.Target, target.Code, target.Display}
				p.exact, p.hasRules = exact, len(target.DependsOn)+len(target.Product) > 0
				list = append(list, p)
			}
		}
	}
	return list, faults
}

// tableColumns are those of a map as CSV; the last three are for people.
var tableColumns = []string{"code", "target", "display", "version", "name", "unit"}

// WriteEmptyMap writes the map to fill in as CSV.
func WriteEmptyMap(w io.Writer) error {
	rows := [][]string{{"code", "name", "unit", "version", "target", "display"}}
	for _, c := range MappedCodes() {
		version := ""
		if c.System == Local {
			version = LocalVersion
		}
		rows = append(rows, []string{c.String(), c.Display, strings.Join(c.Units, " "), version, "", ""})
	}
	return csv.NewWriter(w).WriteAll(rows)
}

// readCodeTable reads the rows of a map as CSV.
func readCodeTable(text []byte) (list []mapping, faults []error) {
	rows := csv.NewReader(bytes.NewReader(text))
	if heading, _, _ := bytes.Cut(text, []byte("\n")); bytes.ContainsRune(heading, ';') {
		rows.Comma = ';'
	}
	heading, err := rows.Read()
	if err != nil {
		return nil, []error{fmt.Errorf("expected a ConceptMap (JSON), or CSV with the columns code and target: %w", err)}
	}
	column := map[string]int{}
	for i, name := range heading {
		name = strings.ToLower(strings.TrimSpace(name))
		if _, twice := column[name]; twice || !slices.Contains(tableColumns, name) {
			return nil, []error{fmt.Errorf("line 1, column %d: %q: expected code, target and display, each once", i+1, name)}
		}
		column[name] = i
	}
	for _, needed := range tableColumns[:2] {
		if _, ok := column[needed]; !ok {
			return nil, []error{fmt.Errorf("line 1: there is no column %q", needed)}
		}
	}
	for {
		cells, err := rows.Read()
		if errors.Is(err, io.EOF) {
			return list, faults
		}
		if err != nil {
			return list, append(faults, err)
		}
		cell := func(name string) string {
			if i, ok := column[name]; ok {
				return strings.TrimSpace(cells[i])
			}
			return ""
		}
		line, _ := rows.FieldPos(0)
		p := mapping{at: fmt.Sprintf("line %d", line), source: sourceOf(cell("code")), version: cell("version"), exact: cell("target") != ""}
		p.target.System, p.target.Code, _ = strings.Cut(cell("target"), "|")
		p.target.Display = cell("display")
		list = append(list, p)
	}
}

// sourceOf is one of our codes, as SYSTEM|CODE or with its code alone.
func sourceOf(text string) Coding {
	if system, code, ok := strings.Cut(text, "|"); ok {
		return Coding{System: system, Code: code}
	}
	for _, c := range MappedCodes() {
		if c.Code == text {
			return c.bare()
		}
	}
	return Coding{Code: text}
}
