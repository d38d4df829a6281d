package profiles

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"
)

// Page writes an artifact of the package for a person to read, as Markdown: a
// profile with its elements, invariants and examples, made from its snapshot;
// a code system or value set with its codes; of anything else what it is for.
func Page(w io.Writer, name string) error {
	a, text, err := Find(name)
	if err != nil {
		return err
	}
	var b strings.Builder
	switch {
	case a.Kind != Definition:
		fmt.Fprintf(&b, "# %s\n\n%s\n\n```json\n%s```\n", a.Name, sentence(a.Title), text)
	case a.Type == "StructureDefinition":
		err = profilePage(&b, text)
	case a.Type == "CodeSystem" || a.Type == "ValueSet":
		err = codesPage(&b, text)
	default:
		err = plainPage(&b, a, text)
	}
	if err != nil {
		return err
	}
	_, err = io.WriteString(w, b.String())
	return err
}

func profilePage(b *strings.Builder, text json.RawMessage) error {
	var s structure
	if err := json.Unmarshal(text, &s); err != nil {
		return err
	}
	fmt.Fprintf(b, "# %s\n\n%s\n\n", s.Title, s.Description)
	fmt.Fprintf(b, "| | |\n|---|---|\n| canonical | `%s` |\n| version | %s |\n| resource | %s |\n| derived from | `%s` |\n\n",
		s.URL, s.Version, s.Type, s.BaseDefinition)
	b.WriteString("## Elements\n\nS marks mustSupport. What is not listed is as in the parent profile.\n\n")
	b.WriteString("| element | how many | S | type | must be | meaning |\n|---|---|---|---|---|---|\n")
	for _, e := range s.shown() {
		support := ""
		if e.MustSupport {
			support = "S"
		}
		row(b, "`"+e.name()+"`", e.cardinality(), support, e.types(), e.rule(), e.Short)
	}
	b.WriteString("\n## Invariants\n\n| key | severity | what | FHIRPath |\n|---|---|---|---|\n")
	for _, c := range s.own() {
		row(b, "`"+c.Key+"`", c.Severity, c.Human, "`"+c.Expression+"`")
	}
	if err := examplesOf(b, s.URL); err != nil {
		return err
	}
	fmt.Fprintf(b, "\n%s\n", s.Purpose)
	return nil
}

// examplesOf lists the valid examples that claim a profile, and the invalid
// ones it must reject.
func examplesOf(b *strings.Builder, url string) error {
	all, err := Artifacts()
	if err != nil {
		return err
	}
	b.WriteString("\n## Examples\n\n| example | shows |\n|---|---|\n")
	for _, a := range all {
		if a.Kind != Example {
			continue
		}
		var r struct{ Meta struct{ Profile []string } }
		if err := readJSON(a.File, &r); err != nil {
			return err
		}
		if len(r.Meta.Profile) > 0 && r.Meta.Profile[0] == url {
			row(b, a.Name, a.Title)
		}
	}
	expected, err := Expectations()
	if err != nil {
		return err
	}
	b.WriteString("\n## Examples that must be rejected\n\n| example | at | rule | severity | why |\n|---|---|---|---|---|\n")
	for _, e := range expected {
		if e.Profile == url {
			row(b, strings.TrimSuffix(e.File, ".json"), "`"+e.Expression+"`", e.Rule, e.Severity, e.Why)
		}
	}
	return nil
}

// codesPage lists the codes of a code system or value set.
func codesPage(b *strings.Builder, text json.RawMessage) error {
	type concept struct {
		Code, Display, Definition string
		Property                  []struct{ Code, ValueString string }
	}
	var r struct {
		URL, Version, Title, Description, Copyright string

		Concept []concept
		Compose struct {
			Include []struct {
				System  string
				Concept []concept
				Filter  []struct{ Property, Op, Value string }
			}
		}
	}
	if err := json.Unmarshal(text, &r); err != nil {
		return err
	}
	fmt.Fprintf(b, "# %s\n\n%s\n\nCanonical `%s`, version %s.\n", r.Title, r.Description, r.URL, r.Version)
	table := func(system string, concepts []concept) {
		fmt.Fprintf(b, "\n`%s`\n\n| code | display | definition | properties |\n|---|---|---|---|\n", system)
		for _, c := range concepts {
			var properties []string
			for _, p := range c.Property {
				properties = append(properties, p.Code+" "+p.ValueString)
			}
			row(b, "`"+c.Code+"`", c.Display, c.Definition, strings.Join(properties, "; "))
		}
	}
	if r.Concept != nil {
		table(r.URL, r.Concept)
	}
	for _, include := range r.Compose.Include {
		if include.Concept != nil {
			table(include.System, include.Concept)
			continue
		}
		fmt.Fprintf(b, "\nEvery code of `%s`", include.System)
		for _, f := range include.Filter {
			fmt.Fprintf(b, " whose %s %s %s", f.Property, f.Op, f.Value)
		}
		b.WriteString(".\n")
	}
	if r.Copyright != "" {
		fmt.Fprintf(b, "\n%s\n", r.Copyright)
	}
	return nil
}

func plainPage(b *strings.Builder, a Artifact, text json.RawMessage) error {
	var r struct{ Description string }
	if err := json.Unmarshal(text, &r); err != nil {
		return err
	}
	fmt.Fprintf(b, "# %s\n\n%s\n\n%s. Its JSON: `runsheet profiles show %s --format json`.\n", a.Title, r.Description, a.Type, a.Name)
	return nil
}

// row writes one line of a Markdown table.
func row(b *strings.Builder, cells ...string) {
	b.WriteByte('|')
	for _, c := range cells {
		b.WriteString(" " + strings.NewReplacer("|", "\\|", "\n", " ").Replace(c) + " |")
	}
	b.WriteByte('\n')
}

func sentence(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + strings.TrimSuffix(s[1:], ".") + "."
}
