package structure_test

import (
	"fmt"
	"slices"
	"strings"

	"runsheet.example/validate/doc"
)

// codesFile writes the value sets of required bindings.
func (m *model) codesFile() string {
	codes := newBlob()
	var sets, rows, slots, pairs strings.Builder
	firstRow, firstSlot, firstPair, column := 1, 0, 0, 0
	systems := []string{}
	for _, s := range m.sets[1:] {
		table := make([]int, slotCount(len(s.codes)))
		for i, c := range s.codes {
			fmt.Fprintf(&rows, "{%d,%d},", codes.add(c), len(c))
			if i%12 == 11 {
				rows.WriteByte('\n')
			}
			place(table, doc.Hash([]byte(c)), firstRow+i)
		}
		for _, n := range table {
			fmt.Fprintf(&slots, "%d,", n)
			if column++; column%24 == 0 {
				slots.WriteByte('\n')
			}
		}
		own := 0
		if m.boundConcept(s.url) {
			own = len(s.pairs)
			writePairs(&pairs, &systems, s.pairs)
		}
		fmt.Fprintf(&sets, "\t{%q, %d, %d, %d, %d, %d, %d},\n", s.url, firstRow, firstRow+len(s.codes), firstSlot, max(len(table)-1, 0), firstPair, firstPair+own)
		firstRow += len(s.codes)
		firstSlot += len(table)
		firstPair += own
		rows.WriteByte('\n')
	}
	var b strings.Builder
	b.WriteString(header + "package structure\n\n")
	fmt.Fprintf(&b, "// codeText holds every code once.\nconst codeText = %s\n\n", codes.quoted())
	b.WriteString("// valueSets are the value sets of required bindings; number 0 is none. A set\n// without codes is defined outside FHIR.\nvar valueSets = [...]valueSetRow{\n\t{},\n" + sets.String() + "}\n\n")
	b.WriteString("var codeTable = [...]codeRow{\n\t{},\n" + rows.String() + "}\n\n")
	b.WriteString("var codeSlots = [...]uint16{\n" + slots.String() + "\n}\n\n")
	b.WriteString("// codings are the members of value sets that concepts are bound to.\nvar codings = [...]coding{\n" + pairs.String() + "}\n\n")
	fmt.Fprintf(&b, "var codingSystems = [...]string{\n\t%s,\n}\n", strings.Join(systems, ",\n\t"))
	return b.String()
}

func writePairs(b *strings.Builder, systems *[]string, pairs []pair) {
	for _, p := range pairs {
		quoted := fmt.Sprintf("%q", p.system)
		at := slices.Index(*systems, quoted)
		if at < 0 {
			at = len(*systems)
			*systems = append(*systems, quoted)
		}
		fmt.Fprintf(b, "\t{%d, %q},\n", at, p.code)
	}
}

// boundConcept reports whether a concept, not a bare code, is bound to the
// value set.
func (m *model) boundConcept(url string) bool {
	for _, t := range m.types {
		for _, r := range t.rows {
			if r.binding == url && r.typ != "code" {
				return true
			}
		}
	}
	return false
}

// keywords are the names FHIRPath N1 takes for something else than an
// identifier.
var keywords = []string{
	"and", "day", "days", "div", "false", "hour", "hours", "implies", "millisecond", "milliseconds", "minute",
	"minutes", "mod", "month", "months", "or", "second", "seconds", "true", "week", "weeks", "xor", "year", "years",
}

// choicesFile writes the names of choice elements for package doc.
func (m *model) choicesFile() string {
	var b strings.Builder
	b.WriteString(header + "package doc\n\n")
	open := sorted(m.bases["value"])
	writeList(&b, "openTypes are the types of value[x], defaultValue[x], fixed[x] and pattern[x].", "openTypes", open)
	b.WriteString("// choices lists, for each choice element, the endings its name takes.\nvar choices = []choice{\n")
	for _, base := range sortedKeys(m.bases) {
		types := sorted(m.bases[base])
		if slices.Equal(types, open) {
			fmt.Fprintf(&b, "\t{%q, openTypes},\n", base)
			continue
		}
		fmt.Fprintf(&b, "\t{%q, []string{%s}},\n", base, quotedList(types))
	}
	b.WriteString("}\n\n// plainPaths are the places where a name that looks like a choice is none.\nvar plainPaths = []string{\n")
	for _, name := range sortedKeys(m.plain) {
		if !m.looksLikeChoice(name) {
			continue
		}
		for _, path := range rooted(m.plain[name]) {
			fmt.Fprintf(&b, "\t%q,\n", path)
		}
	}
	b.WriteString("}\n\n")
	var endings []string
	for _, p := range primitives {
		endings = append(endings, strings.ToUpper(p[:1])+p[1:])
	}
	writeList(&b, "primitiveEndings are the endings whose type begins with a small letter.", "primitiveEndings", endings)
	writeList(&b, "keywords are the names FHIRPath N1 takes for something else than an\n// identifier.", "keywords", keywords)
	return b.String()
}

// rooted roots the elements of ElementDefinition at the resource that
// holds them.
func rooted(paths []string) []string {
	var out []string
	for _, p := range paths {
		if rest, ok := strings.CutPrefix(p, "ElementDefinition."); ok {
			out = append(out, "StructureDefinition.snapshot.element."+rest, "StructureDefinition.differential.element."+rest)
			continue
		}
		out = append(out, p)
	}
	slices.Sort(out)
	return out
}

func (m *model) looksLikeChoice(name string) bool {
	for base, types := range m.bases {
		if strings.HasPrefix(name, base) && types[name[len(base):]] {
			return true
		}
	}
	return false
}

func writeList(b *strings.Builder, comment, name string, list []string) {
	fmt.Fprintf(b, "// %s\nvar %s = []string{\n", comment, name)
	for chunk := range slices.Chunk(list, 8) {
		fmt.Fprintf(b, "\t%s,\n", quotedList(chunk))
	}
	b.WriteString("}\n\n")
}

func quotedList(list []string) string {
	quoted := make([]string, len(list))
	for i, s := range list {
		quoted[i] = fmt.Sprintf("%q", s)
	}
	return strings.Join(quoted, ", ")
}

func sorted(set map[string]bool) []string { return sortedKeys(set) }

func sortedKeys[V any](m map[string]V) []string {
	var keys []string
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}
