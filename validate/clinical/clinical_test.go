package clinical

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/resources"
)

// value is one value of a session, in a unit of its row; more are further
// elements of its Observation.
type value struct{ field, number, unit, more string }

func coding(codings ...profiles.Coding) string {
	var texts []string
	for _, c := range codings {
		texts = append(texts, fmt.Sprintf(`{"system":%q,"code":%q}`, c.System, c.Code))
	}
	return `{"coding":[` + strings.Join(texts, ",") + `]}`
}

func quantity(number, unit string) string {
	return fmt.Sprintf(`"valueQuantity":{"value":%s,"system":%q,"code":%q}`, number, profiles.UCUM, unit)
}

// observation is the value as the code table writes it, part of the session.
func observation(t *testing.T, v value) string {
	t.Helper()
	row, ok := profiles.Of(v.field, v.unit)
	if !ok {
		t.Fatalf("no row of %s in %s", v.field, v.unit)
	}
	more := v.more
	if !strings.Contains(more, `"status"`) {
		more += `,"status":"final"`
	}
	if c, ok := row.Phase.Coding(); ok {
		more += `,"category":[` + coding(c) + `]`
	}
	return `{"resourceType":"Observation","partOf":[{"reference":"urn:uuid:hub"}],"code":` + coding(row.Codings...) + `,` + quantity(v.number, v.unit) + more + `}`
}

const evening = `"performedPeriod":{"start":"2025-10-29T18:00:00Z","end":"2025-10-29T21:00:00Z"}`

func hub(status, performed string) string {
	return `{"resourceType":"Procedure","status":"` + status + `","code":` + coding(profiles.Haemodialysis) + `,` + performed + `}`
}

// findings lists what is found in a session with further resources, as rule,
// severity, value and what was expected.
func findings(t *testing.T, hub string, entries ...string) []string {
	t.Helper()
	text := `{"resourceType":"Bundle","type":"collection","entry":[{"fullUrl":"urn:uuid:hub","resource":` + hub + `}`
	for i, r := range entries {
		text += fmt.Sprintf(`,{"fullUrl":"urn:uuid:%d","resource":%s}`, i, r)
	}
	var d doc.Doc
	if wrong := d.Parse([]byte(text+"]}"), "x.json"); len(wrong) > 0 {
		t.Fatal(wrong, text)
	}
	var r resources.Index
	r.Read(&d)
	var out []string
	new(Checker).Check(&r, func(f issue.Finding) {
		out = append(out, fmt.Sprintf("%s %s: %s, not %s", f.Rule, f.Severity, f.Value, f.Expected))
	})
	return out
}

// sound are values that agree with each other: three hours at 300 and 150
// mL/min with 1.5 L removed.
func sound() []value {
	return []value{
		{"weight_before", "71.5", "kg", ""}, {"weight_after", "70.0", "kg", ""}, {"uf_removed", "1.5", "L", ""},
		{"drinks", "0", "L", ""}, {"blood_flow", "300", "mL/min", ""}, {"dialysate_flow", "150", "mL/min", ""},
		{"dialysate_volume", "27", "L", ""}, {"blood_processed", "54", "L", ""}, {"treated_time", "180", "min", ""},
		{"urea_before", "20", "mmol/L", ""}, {"urea_after", "10", "mmol/L", ""},
	}
}

// with is the sound session with some values put in place of its own, or added.
func with(changed ...value) []value {
	out := sound()
	for _, v := range changed {
		if i := slices.IndexFunc(out, func(o value) bool { return o.field == v.field }); i >= 0 {
			out[i] = v
		} else {
			out = append(out, v)
		}
	}
	return out
}

func observations(t *testing.T, values []value) []string {
	t.Helper()
	var out []string
	for _, v := range values {
		out = append(out, observation(t, v))
	}
	return out
}

func rules(found []string) []string {
	var out []string
	for _, f := range found {
		rule, _, _ := strings.Cut(f, " ")
		out = append(out, rule)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// Each rule, at the last value that is fine and at the first that is not.
func TestRulesAtTheirLimits(t *testing.T) {
	at := func(time string) string { return `,"effectiveDateTime":"` + time + `"` }
	span := func(from, to string) string {
		return `,"effectivePeriod":{"start":"` + from + `","end":"` + to + `"}`
	}
	const preliminary = `,"status":"preliminary"`
	for _, c := range []struct {
		name   string
		values []value
		want   string // rules, "" for none
	}{
		{"sound", nil, ""},
		{"usual venous pressure", []value{{"venous_line_pressure", "250", "mm[Hg]", ""}}, ""},
		{"venous pressure", []value{{"venous_line_pressure", "251", "mm[Hg]", ""}}, "clin-record-unusual"},
		{"impossible venous pressure", []value{{"venous_line_pressure", "501", "mm[Hg]", ""}}, "clin-record-impossible"},
		{"arterial pressure", []value{{"arterial_line_pressure", "-20", "mm[Hg]", ""}}, ""},
		{"arterial pressure of zero", []value{{"arterial_line_pressure", "0", "mm[Hg]", ""}}, "clin-record-unusual"},
		{"positive arterial pressure", []value{{"arterial_line_pressure", "1", "mm[Hg]", ""}}, "clin-record-pressure-sign"},
		{"impossible arterial pressure", []value{{"arterial_line_pressure", "201", "mm[Hg]", ""}}, "clin-record-impossible"},
		{"in another unit", []value{{"weight_before", "157.63", "[lb_av]", ""}}, ""},
		{"entered in error", []value{{"venous_line_pressure", "900", "mm[Hg]", `,"status":"entered-in-error"`}}, ""},
		{"cancelled", []value{{"venous_line_pressure", "900", "mm[Hg]", `,"status":"cancelled"`}}, ""},
		{"fluid by weights", []value{{"uf_removed", "2.0", "L", ""}}, ""},
		{"more fluid than the weights", []value{{"uf_removed", "2.07", "L", ""}}, "clin-record-uf-weights"},
		{"less fluid than the weights", []value{{"uf_removed", "0.93", "L", ""}}, "clin-record-uf-weights"},
		{"urine of the session", []value{{"urine", "0.4", "L", ""}, {"uf_removed", "1.1", "L", ""}}, ""},
		{"urine of the whole day", []value{{"urine", "1.2", "L", ""}}, "clin-record-uf-weights"},
		{"heavier by a tenth of a pound's factor", []value{{"weight_before", "148", "kg", ""}, {"uf_removed", "0", "L", ""}}, "clin-record-pounds clin-record-uf-weights"},
		{"heavier by less", []value{{"weight_before", "146", "kg", ""}, {"uf_removed", "0", "L", ""}}, "clin-record-uf-weights"},
		{"heavier by more", []value{{"weight_before", "163", "kg", ""}, {"uf_removed", "0", "L", ""}}, "clin-record-uf-weights"},
		{"after in pounds", []value{{"weight_after", "154.3", "kg", ""}, {"uf_removed", "0", "L", ""}}, "clin-record-pounds clin-record-uf-weights"},
		{"dialysate volume", []value{{"dialysate_volume", "30", "L", ""}}, ""},
		{"dialysate volume of another time", []value{{"dialysate_volume", "34", "L", ""}}, "clin-record-dialysate-volume"},
		{"blood volume of another time", []value{{"blood_processed", "70", "L", ""}}, "clin-record-blood-processed"},
		{"treatment time of another session", []value{{"treated_time", "240", "min", ""}}, "clin-record-treated-time"},
		{"treatment time from the clock", []value{{"treated_time", "240", "min", preliminary}}, ""},
		{"one flow read off", []value{{"dialysate_flow", "300", "mL/min", at("2025-10-29T19:00:00Z")}}, ""},
		{"one flow over the session", []value{{"dialysate_flow", "300", "mL/min", span("2025-10-29T18:00:00Z", "2025-10-29T21:00:00Z")}}, "clin-record-dialysate-volume"},
		{"urea falls", []value{{"urea_after", "11.9", "mmol/L", ""}}, ""},
		{"urea does not fall", []value{{"urea_after", "20", "mmol/L", ""}}, "clin-record-urea-rise"},
		{"potassium as the dialysate", []value{{"potassium_before", "3.0", "mmol/L", ""}, {"potassium_after", "4.2", "mmol/L", ""}}, ""},
		{"potassium rises", []value{{"potassium_before", "3.0", "mmol/L", ""}, {"potassium_after", "4.21", "mmol/L", ""}}, "clin-record-solute-rise"},
		{"potassium above the dialysate", []value{{"potassium_before", "3.0", "mmol/L", ""}, {"potassium_after", "3.2", "mmol/L", ""}, {"dialysate_potassium", "2", "mmol/L", ""}}, "clin-record-solute-rise"},
		{"urea falls by too little", []value{{"urea_after", "19", "mmol/L", ""}}, "clin-record-urea-ratio"},
		{"urea in mg/dL on both sides", []value{{"urea_before", "120", "mg/dL", ""}, {"urea_after", "60", "mg/dL", ""}}, ""},
		{"urea in mg/dL after", []value{{"urea_after", "60", "mg/dL", ""}}, "clin-record-urea-units"},
	} {
		found := rules(findings(t, hub("completed", evening), observations(t, with(c.values...))...))
		// A value far off may also be unusual by itself; what is asked for must
		// be there, and nothing else where nothing is.
		for _, rule := range strings.Fields(c.want) {
			if !slices.Contains(found, rule) {
				t.Errorf("%s: no %s in %v", c.name, rule, found)
			}
		}
		if c.want == "" && len(found) > 0 || c.want != "" && !slices.Contains(strings.Fields(c.want), "clin-record-pounds") && strings.Join(found, " ") != c.want {
			t.Errorf("%s: found %v, want %q", c.name, found, c.want)
		}
		if pounds := slices.Contains(found, "clin-record-pounds"); pounds != strings.Contains(c.want, "pounds") {
			t.Errorf("%s: pounds %v", c.name, pounds)
		}
	}
}

// Times that lie in the session or as far around it as their kind may, and
// those beyond.
func TestTimesOutsideTheSession(t *testing.T) {
	moment := func(time string) string { return `,"effectiveDateTime":"` + time + `"` }
	period := func(start, end string) string {
		return `,"effectivePeriod":{"start":"` + start + `","end":"` + end + `"}`
	}
	const rule = "clin-record-outside-session"
	for _, c := range []struct {
		field, unit, number, effective string
		outside                        bool
	}{
		{"weight_before", "kg", "71.5", moment("2025-10-29T15:00:00Z"), false},
		{"weight_before", "kg", "71.5", moment("2025-10-29T14:59:59Z"), true},
		{"weight_after", "kg", "70", moment("2025-10-30T00:00:00Z"), false},
		{"weight_after", "kg", "70", moment("2025-10-30T00:00:01Z"), true},
		{"blood_flow", "mL/min", "300", moment("2025-10-29T17:30:00Z"), false},
		{"blood_flow", "mL/min", "300", moment("2025-10-29T17:29:59Z"), true},
		{"blood_flow", "mL/min", "300", moment("2025-10-29T21:30:00Z"), false},
		{"blood_flow", "mL/min", "300", moment("2025-10-29T21:30:01Z"), true},
		{"weight_after", "kg", "70", moment("2025-10-29"), false},
		{"uf_removed", "L", "1.5", period("2025-10-29T18:00:00Z", "2025-10-29T21:00:00Z"), false},
		{"uf_removed", "L", "1.5", period("2025-10-29T16:00:00Z", "2025-10-29T21:00:00Z"), true},
		{"uf_removed", "L", "1.5", period("2025-10-29T18:00:00Z", "2025-10-29T23:00:00Z"), true},
		{"uf_removed", "L", "1.5", period("2025-10-29T22:30:00Z", ""), true},
		{"uf_removed", "L", "1.5", period("", "2025-10-29T16:30:00Z"), true},
		{"dry_weight", "kg", "70", moment("2025-10-01T08:00:00Z"), false},
		{"urea_before", "mmol/L", "20", moment("2025-10-28T08:00:00Z"), false},
		{"recovery_time", "min", "30", moment("2025-10-30T08:00:00Z"), false},
		{"check_chlorine", "mg/L", "0.05", moment("2025-10-29T08:00:00Z"), false},
	} {
		found := findings(t, hub("completed", evening), observation(t, value{c.field, c.number, c.unit, c.effective}))
		if got := slices.Contains(rules(found), rule); got != c.outside {
			t.Errorf("%s at %s: outside %v", c.field, c.effective, got)
		}
		if c.outside && !strings.Contains(found[0], "2025-10-29T18:00:00Z to 2025-10-29T21:00:00Z") {
			t.Errorf("the session's time is not named: %s", found[0])
		}
	}
	week := value{"e_kt_v", "1.2", "1", moment("2025-10-20T08:00:00Z") + `,"method":` + coding(profiles.Coding{System: profiles.Algorithm, Code: "ektv-rate-av-1"})}
	if found := findings(t, hub("completed", evening), observation(t, week)); slices.Contains(rules(found), rule) {
		t.Errorf("a computed value is outside: %v", found)
	}
}

// A session lasts from a minute to sixteen hours, and is not judged when it was
// not done, is withdrawn, or is no dialysis.
func TestDurationOfASession(t *testing.T) {
	lasting := func(end string) string {
		return `"performedPeriod":{"start":"2025-10-29T00:00:00Z","end":"` + end + `"}`
	}
	const rule = "clin-record-duration"
	for end, want := range map[string]bool{
		"2025-10-29T00:01:00Z": false, "2025-10-29T16:00:00Z": false,
		"2025-10-29T00:00:30Z": true, "2025-10-29T00:00:00Z": true, "2025-10-28T20:00:00Z": true, "2025-10-29T16:00:01Z": true,
	} {
		if got := slices.Contains(rules(findings(t, hub("completed", lasting(end)))), rule); got != want {
			t.Errorf("until %s: %v", end, got)
		}
	}
	long := lasting("2025-10-30T20:00:00Z")
	for _, other := range []string{
		hub("not-done", long), hub("entered-in-error", long),
		strings.Replace(hub("completed", long), profiles.Haemodialysis.Code, "1", 1),
		hub("completed", `"performedPeriod":{"start":"2025-10-29T00:00:00Z"}`), hub("completed", `"performedDateTime":"2025-10-29T00:00:00Z"`),
	} {
		if found := findings(t, other); len(found) > 0 {
			t.Errorf("%s: %v", other, found)
		}
	}
}

// Both halves of a blood pressure are judged, and their order.
func TestBloodPressure(t *testing.T) {
	half := func(c profiles.Coding, number, unit string) string {
		return `{"code":` + coding(c) + `,` + quantity(number, unit) + `}`
	}
	panel := func(components ...string) string {
		return `{"resourceType":"Observation","status":"final","partOf":[{"reference":"urn:uuid:hub"}],"code":` + coding(profiles.PressurePanel) +
			`,"component":[` + strings.Join(components, ",") + `]}`
	}
	systolic := func(n string) string { return half(profiles.SystolicCode, n, "mm[Hg]") }
	diastolic := func(n string) string { return half(profiles.DiastolicCode, n, "mm[Hg]") }
	for _, c := range []struct {
		panel, want string
	}{
		{panel(systolic("120"), diastolic("80")), ""}, {panel(systolic("120"), diastolic("119")), ""},
		{panel(systolic("120"), diastolic("120")), "clin-record-pressure-order"},
		{panel(systolic("300"), diastolic("80")), "clin-record-unusual"}, {panel(systolic("301"), diastolic("80")), "clin-record-impossible"},
		{panel(systolic("120"), diastolic("9")), "clin-record-impossible"}, {panel(systolic("120")), ""}, {panel(diastolic("80")), ""},
		{panel(diastolic("201")), "clin-record-impossible"},
		{panel(systolic("120"), half(profiles.DiastolicCode, "90", "kg")), ""},
	} {
		if got := strings.Join(rules(findings(t, hub("completed", evening), c.panel)), " "); got != c.want {
			t.Errorf("%s: %q, want %q", c.panel, got, c.want)
		}
	}
}

// Heparin in international units has limits; other medicines, other units and
// what was withdrawn have none.
func TestHeparin(t *testing.T) {
	medicine := func(name, status, number, unit string) string {
		return fmt.Sprintf(`{"resourceType":"MedicationAdministration","status":%q,"partOf":[{"reference":"urn:uuid:hub"}],`+
			`"medicationCodeableConcept":{"text":%q},"dosage":{"dose":{"value":%s,"system":%q,"code":%q}}}`, status, name, number, profiles.UCUM, unit)
	}
	for text, want := range map[string]string{
		medicine("Heparin", "completed", "12000", "[iU]"):        "",
		medicine("Heparin", "completed", "12001", "[iU]"):        "clin-record-unusual",
		medicine("heparin", "completed", "30001", "[iU]"):        "clin-record-impossible",
		medicine("heparin", "entered-in-error", "30001", "[iU]"): "",
		medicine("heparin", "completed", "30001", "mg"):          "",
		medicine("vitamin D", "completed", "30001", "[iU]"):      "",
	} {
		if got := strings.Join(rules(findings(t, hub("completed", evening), text)), " "); got != want {
			t.Errorf("%s: %q, want %q", text, got, want)
		}
	}
}

// Urea on one side and urea nitrogen on the other is told, and so are units
// that cannot be compared.
func TestUreaUnits(t *testing.T) {
	const rule = "clin-record-urea-units"
	for _, c := range []struct {
		before, after value
		want          bool
	}{
		{value{"urea_before", "20", "mmol/L", ""}, value{"urea_after", "10", "mmol/L", ""}, false},
		{value{"bun_before", "56", "mg/dL", ""}, value{"bun_after", "28", "mg/dL", ""}, false},
		{value{"urea_before", "20", "mmol/L", ""}, value{"bun_after", "28", "mg/dL", ""}, true},
		{value{"bun_before", "56", "mg/dL", ""}, value{"urea_after", "10", "mmol/L", ""}, true},
	} {
		found := findings(t, hub("completed", evening), observation(t, c.before), observation(t, c.after))
		if got := slices.Contains(rules(found), rule); got != c.want {
			t.Errorf("%v and %v: %v", c.before, c.after, found)
		}
	}
}

// What is known of the person moves the limits: the age that a computed value
// states, in years and not in months, and that a formula of adults was used.
func TestAgeOfThePerson(t *testing.T) {
	age, ok := profiles.InputOf("age")
	if !ok {
		t.Fatal("no age")
	}
	computed := func(method, years, unit string) value {
		return value{"total_body_water", "16", "L", `,"method":` + coding(profiles.Coding{System: profiles.Algorithm, Code: method}) +
			`,"component":[{"code":` + coding(age.Coding) + `,` + quantity(years, unit) + `}]`}
	}
	// 100 mL/min of blood are usual for a child alone, 450 for an adult alone;
	// while the age is not known both are.
	for _, c := range []struct {
		computed  value
		low, high bool
	}{
		{computed("morgenstern-boy-1", "9", "a"), false, true}, {computed("morgenstern-boy-1", "9", "mo"), false, false},
		{computed("hume-male-1", "40", "a"), true, false}, {computed("watson-male-1", "480", "mo"), true, false},
		{computed("watson-male-1", "17", "a"), false, true},
	} {
		for flow, want := range map[string]bool{"100": c.low, "450": c.high} {
			found := rules(findings(t, hub("completed", evening), observations(t, []value{c.computed, {"blood_flow", flow, "mL/min", ""}})...))
			if got := slices.Contains(found, "clin-record-unusual"); got != want {
				t.Errorf("%s mL/min with %s: %v", flow, c.computed.more, found)
			}
		}
	}
}

// What computed values state of the dialyser and the interval goes into what
// flows and time lead to expect.
func TestStatedInputsCount(t *testing.T) {
	stating := func(key, number, unit string) []value {
		in, ok := profiles.InputOf(key)
		if !ok {
			t.Fatal(key)
		}
		return with(value{"sp_kt_v_interval", "0.8", "1", `,"method":` + coding(profiles.Coding{System: profiles.Algorithm, Code: "spktv-daugirdas2-gfac-1"}) +
			`,"component":[{"code":` + coding(in.Coding) + `,` + quantity(number, unit) + `}]`})
	}
	littleUrea := func(days string) []value {
		values := stating("preceding_interval", days, "d")
		for i, v := range values {
			if number, before := map[string]string{"urea_before": "6", "urea_after": "3"}[v.field]; before {
				values[i].number = number
			}
		}
		return values
	}
	for _, c := range []struct {
		values []value
		want   string
	}{
		{stating("preceding_interval", "2", "d"), ""}, {stating("preceding_interval", "14", "d"), ""},
		{littleUrea("2"), ""}, {littleUrea("4"), "clin-record-urea-generation"}, {littleUrea("5"), ""},
		{stating("dialyser_koa", "800", "mL/min"), ""}, {stating("dialyser_koa", "20", "mL/min"), "clin-record-urea-clearance"},
	} {
		if got := strings.Join(rules(findings(t, hub("completed", evening), observations(t, c.values)...)), " "); got != c.want {
			t.Errorf("%s: %q, want %q", c.values[len(c.values)-1].more, got, c.want)
		}
	}
}

// Readings of a flow or a rate at moments count, from three on, for what was
// set; other values at moments are the session's.
func TestReadingsCountForTheSession(t *testing.T) {
	read := func(field, number, unit string) []value {
		var out []value
		for _, at := range []string{"18:30", "19:30", "20:30"} {
			out = append(out, value{field, number, unit, `,"effectiveDateTime":"2025-10-29T` + at + `:00Z"`})
		}
		return append(sound(), out...)
	}
	for _, c := range []struct {
		values []value
		want   string
	}{
		{read("blood_flow", "310", "mL/min"), ""}, {read("blood_flow", "450", "mL/min"), "clin-record-blood-processed"},
		{read("dialysate_flow", "160", "mL/min"), ""}, {read("dialysate_flow", "250", "mL/min"), "clin-record-dialysate-volume"},
		{read("uf_rate", "0.5", "L/h"), ""}, {read("uf_rate", "0.9", "L/h"), "clin-record-uf-rate"},
	} {
		if got := strings.Join(rules(findings(t, hub("completed", evening), observations(t, c.values)...)), " "); got != c.want {
			t.Errorf("%v: %q, want %q", c.values[len(c.values)-1], got, c.want)
		}
	}
}

// Limits for each kilogram go by the first weight that is known.
func TestLimitsByWeight(t *testing.T) {
	for _, c := range []struct {
		weights []value
		unusual bool
	}{
		{[]value{{"weight_before", "71.5", "kg", ""}, {"dry_weight", "40", "kg", ""}}, false}, {[]value{{"weight_before", "40", "kg", ""}, {"dry_weight", "71.5", "kg", ""}}, true},
		{[]value{{"dry_weight", "71.5", "kg", ""}}, false}, {nil, true},
	} {
		found := findings(t, hub("completed", evening), observations(t, append(c.weights, value{"uf_goal", "4.2", "L", ""}))...)
		if got := slices.Contains(rules(found), "clin-record-unusual"); got != c.unusual {
			t.Errorf("%v: %v", c.weights, found)
		}
	}
}

// What was expected stands in the person's own units, and urea by mass is
// compared as urea in mmol/L.
func TestWhatWasExpected(t *testing.T) {
	for _, c := range []struct {
		values []value
		want   string
	}{
		{[]value{{"weight_before", "156", "kg", ""}}, "clin-record-pounds warning: 156 kg, not 70.76 kg, if it was read in pounds"},
		{[]value{{"weight_after", "154.3", "kg", ""}}, "clin-record-pounds warning: 154.3 kg, not 69.99 kg, if it was read in pounds"},
		{[]value{{"venous_line_pressure", "251", "mm[Hg]", ""}}, "clin-record-unusual information: 251 mm[Hg], not 20 to 250 mm[Hg]"},
		{[]value{{"venous_line_pressure", "400", "mm[Hg]", ""}}, "clin-record-unusual warning: 400 mm[Hg], not 20 to 250 mm[Hg]"},
		{[]value{{"urea_after", "20", "mmol/L", ""}}, "clin-record-urea-rise error: 20 mmol/L, not below urea before"},
		{[]value{{"urea_before", "120", "mg/dL", ""}, {"urea_after", "114", "mg/dL", ""}}, "clin-record-urea-ratio warning: 0.95 1, not 0.15 to 0.75 1"},
		{[]value{{"urea_before", "60", "mg/dL", ""}, {"urea_after", "60", "mg/dL", ""}}, "clin-record-urea-rise error: 9.991 mmol/L, not below urea before"},
	} {
		if found := findings(t, hub("completed", evening), observations(t, with(c.values...))...); !slices.Contains(found, c.want) {
			t.Errorf("%v: %q", c.values, found)
		}
	}
	nitrogen := func(number, unit string) []string {
		return findings(t, hub("completed", evening), observations(t, []value{{"bun_before", number, unit, ""}, {"bun_after", number, unit, ""}})...)
	}
	for _, c := range [][3]string{{"28.01", "mg/dL", "9.999"}, {"10", "mmol/L", "10"}} {
		if want := "clin-record-urea-rise error: " + c[2] + " mmol/L, not below urea before"; !slices.Contains(nitrogen(c[0], c[1]), want) {
			t.Errorf("%s %s of urea nitrogen: %q", c[0], c[1], nitrogen(c[0], c[1]))
		}
	}
}

// Numbers are written with four digits at most.
func TestNumbersForPeople(t *testing.T) {
	for x, want := range map[float64]string{0: "0", 1.5: "1.5", 12.34567: "12.35", 30000: "30000", -0.04: "-0.04", math.MaxFloat64: "17976931348623157" + strings.Repeat("0", 292)} {
		if got := number(x); got != want {
			t.Errorf("%v is written %s", x, got)
		}
	}
	if got := between(1, 2.5, "L"); got != "1 to 2.5 L" {
		t.Errorf("%q", got)
	}
}
