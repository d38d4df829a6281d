package recompute

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"runsheet.example/calc"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/resources"
)

// An input that is not named follows from those that are, if one method yields
// it; that method needs no such input itself.
func TestInputThatFollows(t *testing.T) {
	values := []string{entered(t, "weight_before", "71.854", "kg"), entered(t, "weight_after", "70.000", "kg"), entered(t, "uf_removed", "1.500", "L")}
	from := []string{"uf_removed", "weight_before", "weight_after"}
	for value, agrees := range map[string]bool{"-0.354": true, "-0.355": false} {
		found := checked(t, append(slices.Clone(values), computed("x", "uf-discrepancy-1", value, "L", slices.Clone(from)...))...)
		if (len(found) == 0) != agrees {
			t.Errorf("%s: %q", value, found)
		}
	}
	for _, m := range calc.Methods() {
		for _, spec := range m.Inputs {
			if ways := methods().byKey[spec.Key]; len(ways) == 1 && !spec.Optional {
				for _, further := range ways[0].Inputs {
					if !further.Optional && len(methods().byKey[further.Key]) == 1 {
						t.Errorf("%s needs %s, which needs %s: more than one step", m.ID, spec.Key, further.Key)
					}
				}
			}
		}
	}
}

// A value without number is cancelled and says why; one with a number is not.
func TestStatusOfAValue(t *testing.T) {
	value := func(status, valued, absent string) string {
		return `{"fullUrl":"urn:uuid:x","resource":{"resourceType":"Observation",` + status + `"code":{"text":"x"},"method":` +
			concept(profiles.Coding{System: profiles.Algorithm, Code: "uf-expected-1"}) + valued + absent +
			`,"derivedFrom":[{"reference":"urn:uuid:weight_before"},{"reference":"urn:uuid:weight_after"}]}}`
	}
	number, reason := `,`+amount("1.8", "L"), `,"dataAbsentReason":{"text":"not weighed"}`
	for _, c := range []struct{ value, want string }{
		{value(`"status":"final",`, number, ""), ""}, {value(`"status":"cancelled",`, "", reason), ""}, {value("", "", reason), ""}, {value("", number, ""), ""},
		{value(`"status":"final",`, "", reason), "calc-status"}, {value(`"status":"preliminary",`, "", reason), "calc-status"}, {value(`"status":"cancelled",`, number, ""), "calc-status"},
		{value(`"status":"cancelled",`, "", ""), "calc-no-reason"}, {value(`"status":"entered-in-error",`, "", ""), ""},
	} {
		found := checked(t, entered(t, "weight_before", "71.8", "kg"), entered(t, "weight_after", "70", "kg"), c.value)
		if got, _, _ := strings.Cut(strings.Join(found, " "), " "); got != c.want {
			t.Errorf("%s: %q", c.value, found)
		}
	}
}

// The latest values are kept in two halves: the second half after a full one
// pushes the first out, and only then something is forgotten.
func TestRecentKeepsTwoHalves(t *testing.T) {
	var r recent[int]
	for i, want := range []struct {
		kept   int
		forgot bool
	}{{1, false}, {2, false}, {3, false}, {4, false}, {3, true}, {4, true}, {3, true}} {
		r.put(uint64(i), i, 4)
		if kept := len(r.now) + len(r.before); kept != want.kept || r.forgot != want.forgot {
			t.Errorf("after %d values: %d kept, forgot %v", i+1, kept, r.forgot)
		}
	}
	if v, ok := r.find(99, 5); !ok || v != 5 {
		t.Errorf("the value before the last: %v, %v", v, ok)
	}
}

// Names of a reference: the record's identifier, and type and id of an
// Observation.
func TestNamesOfAReference(t *testing.T) {
	var l Ledger
	l.start()
	identifier := func(system string) string {
		return fmt.Sprintf(`{"identifier":{"system":%q,"value":"urn:uuid:1"}}`, system)
	}
	for text, want := range map[string][]uint64{
		`{"reference":"Observation/1"}`: {l.hash(byTypeID, []byte("1"))}, `{"reference":"Observation/"}`: nil, `{"reference":"Procedure/1"}`: nil, `{"display":"x"}`: nil,
		identifier(profiles.RecordIdentifier): {l.hash(byIdentity, []byte("urn:uuid:1"))}, identifier("urn:oid:1.2"): nil,
	} {
		d := parse(t, `{"resourceType":"Observation","derivedFrom":[`+text+`]}`)
		if got := l.names(d, d.FirstChild(d.Get(d.Root(), "derivedFrom"))); !slices.Equal(got, want) {
			t.Errorf("%s: %v, want %v", text, got, want)
		}
	}
}

// So many values may wait and no more, and the Ledger says that it is full.
func TestLedgerLetsSoManyWait(t *testing.T) {
	var l Ledger
	l.waiting = make([]waiting, MaxWaiting-1)
	if !l.store(waiting{}) || l.Full() {
		t.Error("the last place is not given")
	}
	if l.store(waiting{}) || !l.Full() || len(l.waiting) != MaxWaiting {
		t.Errorf("%d wait", len(l.waiting))
	}
}

// What was forgotten matters for a value that still lacks an input.
func TestForgottenInputsAreTold(t *testing.T) {
	all := []Input{{Key: "weight_before", Text: "71.8", Number: 71.8}, {Key: "weight_after", Text: "70", Number: 70}}
	for _, c := range []struct {
		forgot bool
		list   []Input
		full   bool
	}{{true, all[:1], true}, {true, all, false}, {false, all[:1], false}} {
		var l Ledger
		l.start()
		l.values.forgot = c.forgot
		l.store(waiting{method: "uf-expected", list: c.list, stated: resources.Quantity{Text: []byte("1.8"), Unit: []byte("L"), Number: 1.8}})
		found := 0
		l.Finish(func(issue.Finding) { found++ })
		if l.Full() != c.full || (found > 0) != (len(c.list) == 1) || len(l.waiting) > 0 {
			t.Errorf("%+v: full %v, %d findings", c, l.Full(), found)
		}
	}
}

// Measurements are of one session if their Procedure has one identity, in
// whatever document, or else if they name it alike.
func TestMeasurementsOfOneSession(t *testing.T) {
	var l Ledger
	l.start()
	session := func(identity, reference string) uint64 {
		at, _, _ := strings.Cut(reference, "Procedure/") // where it is in the document
		procedure := `{"resourceType":"Procedure","status":"completed"}`
		if identity != "" {
			procedure = `{"resourceType":"Procedure","status":"completed","identifier":[{"system":"` + profiles.RecordIdentifier + `","value":"` + identity + `"}]}`
		}
		weight := strings.Replace(entered(t, "weight_before", "71.8", "kg"), `"status"`, `"partOf":[{"reference":"`+reference+`"}],"status"`, 1)
		var rec resources.Index
		rec.Read(parse(t, `{"resourceType":"Bundle","type":"collection","entry":[{"fullUrl":"`+cmp.Or(at, "urn:uuid:hub")+`","resource":`+procedure+`},`+weight+`]}`))
		e := newEngine(&rec)
		for i := range rec.Resources {
			if rec.Resources[i].Type == "Observation" {
				m, ok := e.measured(&l, &rec.Resources[i])
				if !ok || m.number != 71.8 {
					t.Fatalf("not measured: %+v", m)
				}
				return m.session
			}
		}
		t.Fatal("no Observation")
		return 0
	}
	for _, c := range []struct {
		a, b uint64
		one  bool
	}{
		{session("urn:uuid:1", "urn:uuid:hub"), session("urn:uuid:2", "urn:uuid:hub"), false}, {session("urn:uuid:1", "urn:uuid:hub"), session("urn:uuid:1", "urn:uuid:hub"), true},
		{session("", "urn:uuid:hub"), session("", "urn:uuid:hub"), true}, {session("", "Procedure/1"), session("", "Procedure/2"), false},
		{session("", "urn:uuid:hub"), session("", "urn:uuid:other"), false},
	} {
		if (c.a == c.b) != c.one {
			t.Errorf("one session: %v, want %v", c.a == c.b, c.one)
		}
	}
}

// A week whose sessions are elsewhere is told if a value depends on it: by its
// state, or because a value names it.
func TestWeekOfWhichSomethingDepends(t *testing.T) {
	const other = 8
	for _, c := range []struct {
		state  calc.Inputs
		values []weekValue
		told   bool
	}{
		{nil, nil, false}, {calc.Inputs{"body_water": 40}, nil, true}, {nil, []weekValue{{week: []uint64{7}}}, true}, {nil, []weekValue{{week: []uint64{other}}}, false},
	} {
		w := weeks{states: []weekState{{names: []uint64{7}, state: c.state, sessions: [][]uint64{{1}}}}, values: c.values}
		var rules []string
		w.finish(func(f issue.Finding) { rules = append(rules, f.Rule) })
		if got := slices.Equal(rules, []string{"calc-week-elsewhere"}); got != c.told || len(rules) > 1 {
			t.Errorf("%+v: %q", c, rules)
		}
	}
}

// A document adds its weeks up to the limit; beyond it none is kept.
func TestSoManyWeeksAreKept(t *testing.T) {
	var w weeks
	w.take(make([]weekState, MaxWeeks), make([]weekValue, MaxWeeks*len(weekMethods)), 0)
	if w.full || len(w.states) != MaxWeeks {
		t.Errorf("%d weeks, full %v", len(w.states), w.full)
	}
	values := w
	w.take(make([]weekState, 1), nil, 0)
	values.take(nil, make([]weekValue, 1), 0)
	if !w.full || !values.full || len(w.states)+len(values.values) > 0 {
		t.Errorf("%d weeks, %d values", len(w.states), len(values.values))
	}
}

// madeSession is a session of a week with values by field.
func madeSession(start int64, minutes float64, values map[string]float64) weekSession {
	s := weekSession{measured: measured{start: start, minutes: minutes}}
	for field, number := range values {
		i := slices.Index(sessionFields, field)
		s.has[i], s.number[i] = true, number
	}
	return s
}

// A session counts in the week in which it starts, up to the end and no more; its
// length is that written, else that of its times.
func TestAttendanceOfAWeek(t *testing.T) {
	const from, to = 1000, 2000
	for _, c := range []struct {
		session weekSession
		counted float64
		treated float64
		uf      float64
	}{
		{madeSession(from, 60, map[string]float64{"uf_removed": 2}), 1, 60, 2}, {madeSession(from-1, 60, nil), 0, 0, 0}, {madeSession(to-1, 60, map[string]float64{"uf_removed": 2, "treated_time": 55}), 1, 55, 2},
		{madeSession(to, 60, nil), 0, 0, 0}, {madeSession(0, 0, map[string]float64{"weight_after": 70}), 1, math.NaN(), math.NaN()}, {madeSession(from, 0, map[string]float64{"uf_removed": 2}), 1, math.NaN(), 2},
	} {
		f := followed{inputs: calc.Inputs{}}
		f.attendance(&weekState{from: from, to: to}, []weekSession{c.session})
		for key, want := range map[string]float64{"sessions_counted": c.counted, "weekly_treated_time": c.treated, "weekly_uf": c.uf} {
			if got := f.inputs[key]; got != want && !(math.IsNaN(got) && math.IsNaN(want)) {
				t.Errorf("from %d: %s is %v, want %v", c.session.start, key, got, want)
			}
		}
	}
}

// A session for the model has its start and each of its values; without dialysate
// it has no flow, and clears what it removes.
func TestSessionForTheModel(t *testing.T) {
	whole := map[string]float64{"uf_removed": 2.4, "treated_time": 240, "weight_before": 72, "blood_flow": 300, "dialysate_flow": 500}
	without := func(field string, add map[string]float64) map[string]float64 {
		out := map[string]float64{}
		for key, number := range whole {
			if key != field {
				out[key] = number
			}
		}
		for key, number := range add {
			out[key] = number
		}
		return out
	}
	none := map[string]float64{"dialysate_volume": 0}
	for _, c := range []struct {
		name    string
		session weekSession
		why     string
	}{
		{"whole", madeSession(600, 0, whole), ""}, {"no start", madeSession(0, 0, whole), "a session does not say its start or its uf_removed"},
		{"no flow", madeSession(600, 0, without("dialysate_flow", nil)), "a session does not say its start or its dialysate_flow"},
		{"no weight", madeSession(600, 0, without("weight_before", none)), "a session does not say its start or its weight_before"},
		{"no dialysate", madeSession(600, 0, without("dialysate_flow", none)), ""}, {"fluid of zero alone", madeSession(600, 0, without("dialysate_flow", map[string]float64{"dialysate_volume": 0, "uf_removed": 0})), "fluid removed must be above zero"},
		{"flow and no volume", madeSession(600, 0, without("", none)), ""}, {"some dialysate", madeSession(600, 0, without("dialysate_flow", map[string]float64{"dialysate_volume": 20})), "a session does not say its start or its dialysate_flow"},
		{"time by the clock", madeSession(600, 240, without("treated_time", nil)), ""},
	} {
		one, why := c.session.treatment(0, 800)
		if why != c.why {
			t.Errorf("%s: %q", c.name, why)
		}
		if why != "" {
			continue
		}
		if one.StartMin != 10 || one.DurationMin != 240 || one.UFLitres != 2.4 || one.WeightBeforeKg != 72 {
			t.Errorf("%s: %+v", c.name, one)
		}
		if alone := c.name == "no dialysate"; alone != (one.ClearanceMLPerMin == 10) || one.ClearanceMLPerMin <= 0 {
			t.Errorf("%s: clearance %v", c.name, one.ClearanceMLPerMin)
		}
	}
}

// The model needs each part of its state, and one KoA or one for each session.
func TestStateForTheModel(t *testing.T) {
	whole := func() *weekState {
		return &weekState{from: 0, to: 7 * 86400, koa: []float64{800}, state: calc.Inputs{
			"urea_pool_1": 50, "urea_pool_2": 55, "body_water": 41, "total_body_water": 40, "reference_weight": 70, "urea_generation": 5, "clearance_factor": 1, "residual_urea_clearance": 1}}
	}
	values := map[string]float64{"uf_removed": 2.4, "treated_time": 240, "weight_before": 72, "blood_flow": 300, "dialysate_flow": 500}
	sessions := []weekSession{madeSession(60000, 0, values), madeSession(260000, 0, values)}
	const koa = "it does not state one dialyser_koa, or one for each session"
	for _, c := range []struct {
		change func(*weekState)
		why    string
	}{
		{func(*weekState) {}, ""}, {func(s *weekState) { s.koa = []float64{800, 700} }, ""}, {func(s *weekState) { s.koa = nil }, koa}, {func(s *weekState) { s.koa = []float64{800, 800, 800} }, koa},
		{func(s *weekState) { delete(s.state, "body_water") }, "it does not state body_water"},
		{func(s *weekState) { s.state["clearance_factor"] = 0 }, "the factor of the clearances must be above zero"},
	} {
		s := whole()
		c.change(s)
		f := followed{inputs: calc.Inputs{}}
		if why := f.model(s, sessions); why != c.why || why == "" && (f.end.VolumeL == 0 || len(f.inputs) == 0) {
			t.Errorf("%q, want %q", why, c.why)
		}
	}
}

// A value of a week agrees within half its last digit and a hundredth more, for
// the state was rounded.
func TestValueOfAWeekAtItsTolerance(t *testing.T) {
	method, _ := calc.MethodByID("hours-done")
	for text, differs := range map[string]bool{"4.00": false, "4.005": true, "3.99": true, "4.01": true, "4": false, "4.4": true} {
		v := weekValue{method: method, stated: resources.Quantity{Text: []byte(text), Unit: []byte("h")}}
		if _, err := fmt.Sscan(text, &v.stated.Number); err != nil {
			t.Fatal(err)
		}
		found := 0
		v.compare(&followed{inputs: calc.Inputs{"weekly_treated_time": 240}}, func(issue.Finding) { found++ })
		if (found > 0) != differs {
			t.Errorf("%s h: %d findings", text, found)
		}
	}
	for over, differs := range map[float64]bool{0.00509: false, 0.00511: true} {
		v := weekValue{method: method, stated: resources.Quantity{Text: []byte("4.00"), Unit: []byte("h"), Number: 4}}
		found := 0
		v.compare(&followed{inputs: calc.Inputs{"weekly_treated_time": 60 * (4 + over)}}, func(issue.Finding) { found++ })
		if (found > 0) != differs {
			t.Errorf("off by %v: %d findings", over, found)
		}
	}
}
