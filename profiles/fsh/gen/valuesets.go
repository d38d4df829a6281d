package main

import (
	"fmt"
	"slices"
	"strings"

	"runsheet.example/calc"
	"runsheet.example/profiles"
)

// group is the measurements that share a profile.
type group struct {
	profile                profiles.Profile
	name, id, title, about string
}

var groups = []group{
	{profiles.ProfileMachineReading, "RunsheetMachineReadings", "runsheet-machine-readings", "Machine readings and settings", "Variables read off the machine or set on it."},
	{profiles.ProfileTotal, "RunsheetTotals", "runsheet-totals", "Totals of a session", "Volumes and times that belong to the whole treatment."},
	{profiles.ProfileClinicValue, "RunsheetClinicValues", "runsheet-clinic-values", "Values set by the clinic", "Values the clinic set or stated."},
	{profiles.ProfileLaboratory, "RunsheetLaboratoryTests", "runsheet-laboratory-tests", "Laboratory tests", "Tests of blood drawn before, after or apart from dialysis."},
	{profiles.ProfileEvent, "RunsheetEvents", "runsheet-events", "Events and notes", "What happened during a session."},
	{profiles.ProfileCheck, "RunsheetChecks", "runsheet-checks", "Checks before a treatment", "What is looked at, tested or prepared for a session."},
	{profiles.ProfileComputed, "RunsheetComputedValues", "runsheet-computed-values", "Computed values", "Quantities computed from a session."},
}

// rows returns the measurements of a group. A row that some method computes
// is in the group of computed values as well.
func (g group) rows() []profiles.Measurement {
	computed := map[string]bool{}
	for _, m := range calc.Methods() {
		computed[m.Key], computed[profiles.CodedAs(m.ID, m.Key)] = true, true
	}
	var rows []profiles.Measurement
	for _, m := range profiles.Measurements() {
		if g.profile == m.Profile || g.profile == profiles.ProfileComputed && computed[m.Field] {
			rows = append(rows, m)
		}
	}
	return rows
}

func (g group) codings() []profiles.Coding {
	var out []profiles.Coding
	for _, m := range g.rows() {
		for _, c := range m.Codings {
			if !slices.Contains(out, c) {
				out = append(out, c)
			}
		}
	}
	return out
}

func valueSets() string {
	var b strings.Builder
	for _, g := range groups {
		writeValueSet(&b, g.name, g.id, g.title, g.about, g.codings())
	}
	var inputs []profiles.Coding
	for _, in := range profiles.Inputs() {
		inputs = append(inputs, in.Coding)
	}
	writeValueSet(&b, "RunsheetStatedInputs", "runsheet-stated-inputs", "Stated inputs",
		"Inputs of a computed value that are no Observation of their own.", inputs)
	writeValueSet(&b, "RunsheetSummaries", "runsheet-summaries", "Summaries of sessions",
		"Median, least and greatest value of a measure over the sessions of some days.", profiles.SummaryCodings())
	writeValueSet(&b, "RunsheetAttendanceCounts", "runsheet-attendance-counts", "Counts of sessions",
		"Numbers of sessions of some days, by how they went.", profiles.AttendanceCounts[:])
	return b.String()
}

func writeValueSet(b *strings.Builder, name, id, title, about string, codings []profiles.Coding) {
	fmt.Fprintf(b, "ValueSet: %s\nId: %s\nTitle: %s\nDescription: %s\n", name, id, fsh(title), fsh(about))
	if slices.ContainsFunc(codings, func(c profiles.Coding) bool { return c.System == profiles.LOINC }) {
		fmt.Fprintf(b, "* ^copyright = %s\n", fsh(loincNotice))
	}
	for _, c := range codings {
		fmt.Fprintf(b, "* %s#%s %s\n", alias(c.System), c.Code, fsh(c.Display))
	}
	b.WriteByte('\n')
}

const loincNotice = "This material contains content from LOINC (http://loinc.org). LOINC is copyright © Regenstrief Institute, Inc. and the Logical Observation Identifiers Names and Codes (LOINC) Committee and is available at no cost under the license at http://loinc.org/license. LOINC® is a registered United States trademark of Regenstrief Institute, Inc."

func alias(system string) string {
	switch system {
	case profiles.LOINC:
		return "$LNC"
	case profiles.SNOMED:
		return "$SCT"
	case profiles.Local:
		return "$local"
	default:
		return system
	}
}

// unitGroup is the codes of one profile that may be written in the same
// units.
type unitGroup struct {
	units []string
	codes []profiles.Coding
}

// unitGroups collects, for every code, the units of all its rows.
func unitGroups(rows []profiles.Measurement) []unitGroup {
	var codes []profiles.Coding
	units := map[profiles.Coding][]string{}
	for _, m := range rows {
		c := m.Principal()
		if len(m.Units) == 0 {
			continue
		}
		if units[c] == nil {
			codes = append(codes, c)
		}
		for _, u := range m.Units {
			if !slices.Contains(units[c], u) {
				units[c] = append(units[c], u)
			}
		}
	}
	var out []unitGroup
	for _, c := range codes {
		at := slices.IndexFunc(out, func(g unitGroup) bool { return slices.Equal(g.units, units[c]) })
		if at < 0 {
			out = append(out, unitGroup{units: units[c]})
			at = len(out) - 1
		}
		out[at].codes = append(out[at].codes, c)
	}
	return out
}

// unitInvariants writes, for each profile, which units its codes may have.
func unitInvariants() string {
	var b strings.Builder
	for _, g := range groups {
		if g.profile == profiles.ProfileEvent {
			continue
		}
		var keys []string
		for _, u := range unitGroups(g.rows()) {
			key := "rs-" + strings.TrimPrefix(string(g.profile), "runsheet-") + "-" + u.slug()
			keys = append(keys, key)
			fmt.Fprintf(&b, "Invariant: %s\nDescription: %s\nSeverity: #error\nExpression: %s\n\n", key,
				fsh("The unit is "+strings.Join(u.units, " or ")+" for "+names(u.codes)), fsh(u.expression()))
		}
		fmt.Fprintf(&b, "RuleSet: Units-%s\n* obeys %s\n\n", g.profile, strings.Join(keys, " and "))
	}
	return b.String()
}

// slug names the units within the letters an invariant's key may have.
func (u unitGroup) slug() string {
	words := strings.NewReplacer("%", "percent", "mm[Hg]", "mmHg", "[lb_av]", "lb", "[ppm]", "ppm", "[gr]/[gal_us]", "gpg", "/", "-per-").Replace(strings.Join(u.units, "-or-"))
	if words == "1" {
		return "ratio"
	}
	return strings.TrimPrefix(words, "-")
}

func (u unitGroup) expression() string {
	bySystem := map[string][]string{}
	var systems []string
	for _, c := range u.codes {
		if bySystem[c.System] == nil {
			systems = append(systems, c.System)
		}
		bySystem[c.System] = append(bySystem[c.System], "code = '"+c.Code+"'")
	}
	var alternatives []string
	for _, s := range systems {
		alternatives = append(alternatives, "(system = '"+s+"' and ("+strings.Join(bySystem[s], " or ")+"))")
	}
	var units []string
	for _, unit := range u.units {
		units = append(units, "code = '"+unit+"'")
	}
	return "code.coding.where(" + strings.Join(alternatives, " or ") + ").exists() implies value.ofType(Quantity).all(" + strings.Join(units, " or ") + ")"
}

func names(codings []profiles.Coding) string {
	var out []string
	for _, c := range codings {
		out = append(out, c.Display)
	}
	return strings.Join(out, "; ")
}
