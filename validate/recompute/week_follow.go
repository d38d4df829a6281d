package recompute

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"

	"runsheet.example/calc"
	"runsheet.example/calc/kinetics"
	"runsheet.example/validate/issue"
)

// followed is the computed result of a week.
type followed struct {
	// elsewhere means that a measurement is not available.
	elsewhere bool
	// inputs are the inputs of a week's methods, as far as they are known.
	inputs calc.Inputs
	end    kinetics.UreaState
	// modelled reports that the model ran through the week; otherwise whyNot
	// is the reason, if the week has a state.
	modelled bool
	whyNot   string
}

// compare reports a value that differs from the result of the week.
func (v *weekValue) compare(f *followed, add func(issue.Finding)) {
	number, step, ok := inUnit(v.stated, v.method.Unit)
	if !ok {
		return // reported where the value was computed from its inputs
	}
	again := v.method.Compute(f.inputs)
	// The state was rounded before it was recorded.
	const rounded = 0.01
	switch {
	case again.OK() && math.Abs(number-again.Value) <= step*(0.5+rounded):
		return
	case !again.OK() && f.whyNot != "":
		return // reported once, at the week
	}
	out := v.at.finding(v.file, "calc-week-differs", "the value is not what {} gives for the sessions of the week and the state at its start", v.method.Code())
	out.Value = string(v.stated.Text) + " " + string(v.stated.Unit)
	out.Expected = issue.T("{} {}", again.Rounded(), again.Unit)
	if !again.OK() {
		out.Expected = issue.T("no value: {}", again.WhyNot)
	}
	if v.row != nil {
		v.row.Rule, v.row.Comparison, v.row.Recomputed = out.Rule, Differs, ""
		if again.OK() {
			v.row.Recomputed = again.Rounded()
		}
	}
	add(out)
}

// finish hands the row of the value on.
func (v *weekValue) finish(tell func(Row)) {
	if v.row != nil {
		tell(*v.row)
	}
}

// stateTolerance is the largest difference, in mg/dL and L, between the
// recorded state and the end of the week before: the effect of recording both
// with six decimals.
const stateTolerance = 1e-4

// continues compares the state of a week with the end of the week before, if
// the week continues from it.
func (w *weeks) continues(s *weekState, weeks map[uint64]*followed, add func(issue.Finding)) {
	for _, names := range s.sessions {
		for _, name := range names {
			before := weeks[name]
			if before == nil || !before.modelled {
				continue
			}
			for key, end := range []float64{before.end.PlasmaMgPerDL, before.end.InnerMgPerDL, before.end.VolumeL} {
				if stated := s.state[startKeys[key]]; math.Abs(stated-end) > stateTolerance {
					f := s.at.finding(s.file, "calc-week-state", "the state at the start of the week is not the end of the week before: {}", startKeys[key])
					f.Value, f.Expected = decimal(stated), issue.Literal(decimal(end))
					add(f)
				}
			}
			return
		}
	}
}

// startKeys are the parts of the state at the end of the week before.
var startKeys = [...]string{"urea_pool_1", "urea_pool_2", "body_water"}

func decimal(v float64) string { return strconv.FormatFloat(v, 'f', 6, 64) }

// incomplete reports a state that the model cannot start from.
func (f *followed) incomplete(s *weekState, add func(issue.Finding)) {
	if f.modelled || len(s.state) == 0 {
		return
	}
	out := s.at.finding(s.file, "calc-week-incomplete", "the urea model cannot be followed from what the week states: {}", f.whyNot)
	add(out)
}

// weekSession is the data of a session that a week uses.
type weekSession struct {
	session uint64
	measured
	has    [8]bool // by index in sessionFields
	number [8]float64
}

// follow computes a week. weeks maps names to the known weeks.
func (w *weeks) follow(s *weekState, weeks map[uint64]*followed) *followed {
	f := &followed{inputs: calc.Inputs{}}
	var sessions []weekSession
	for _, names := range s.sessions {
		m, ok := w.measured.find(names...)
		if !ok {
			if !slices.ContainsFunc(names, func(name uint64) bool { _, week := weeks[name]; return week }) {
				f.elsewhere = true
				return f
			}
			continue
		}
		at := slices.IndexFunc(sessions, func(have weekSession) bool { return have.session == m.session })
		if at < 0 {
			at = len(sessions)
			sessions = append(sessions, weekSession{session: m.session})
		}
		sessions[at].put(m)
	}
	slices.SortStableFunc(sessions, func(a, b weekSession) int { return cmp.Compare(a.start, b.start) })
	f.attendance(s, sessions)
	if len(s.state) > 0 {
		f.whyNot = f.model(s, sessions)
		f.modelled = f.whyNot == ""
	}
	return f
}

func (s *weekSession) put(m measured) {
	s.has[m.field], s.number[m.field] = true, m.number
	if m.start != 0 {
		s.start = m.start
		s.minutes = max(s.minutes, m.minutes)
	}
}

// value is the measurement of a field.
func (s *weekSession) value(field string) (float64, bool) {
	i := slices.Index(sessionFields, field)
	if field == "treated_time" && !s.has[i] {
		return s.minutes, s.minutes > 0
	}
	return s.number[i], s.has[i]
}

// attendance counts the sessions that began in the week. A session without a
// time of day belongs to the week that names it.
func (f *followed) attendance(s *weekState, sessions []weekSession) {
	sums := map[string]string{"weekly_treated_time": "treated_time", "weekly_uf": "uf_removed"}
	for sum := range sums {
		f.inputs[sum] = 0
	}
	f.inputs["sessions_counted"] = 0
	for i := range sessions {
		if start := sessions[i].start; start != 0 && (start < s.from || start >= s.to) {
			continue
		}
		f.inputs["sessions_counted"]++
		for sum, field := range sums {
			if number, ok := sessions[i].value(field); ok {
				f.inputs[sum] += number
			} else {
				f.inputs[sum] = math.NaN()
			}
		}
	}
}

// model runs the urea model through the week, or returns the reason why it
// cannot.
func (f *followed) model(s *weekState, sessions []weekSession) (whyNot string) {
	var missing []string
	for _, key := range []string{"urea_pool_1", "urea_pool_2", "body_water", "total_body_water", "reference_weight", "urea_generation", "clearance_factor", "residual_urea_clearance"} {
		if _, ok := s.state[key]; !ok {
			missing = append(missing, key)
		}
	}
	switch {
	case len(missing) > 0:
		return "it does not state " + strings.Join(missing, ", ")
	case len(s.koa) == 0 || len(s.koa) > 1 && len(s.koa) != len(sessions):
		return "it does not state one dialyser_koa, or one for each session"
	}
	week := kinetics.DoneWeek{
		Body: kinetics.Body{VolumeL: s.state["total_body_water"], GenerationMgPerMin: s.state["urea_generation"],
			ResidualMLPerMin: s.state["residual_urea_clearance"], Pools: kinetics.TwoPools()},
		Start:       kinetics.UreaState{VolumeL: s.state["body_water"], PlasmaMgPerDL: s.state["urea_pool_1"], InnerMgPerDL: s.state["urea_pool_2"]},
		ReferenceKg: s.state["reference_weight"], ClearanceFactor: s.state["clearance_factor"],
		LengthMin: float64(s.to-s.from) / 60, NotDone: s.notDone, GainLPerDay: s.state["fluid_gain_rate"],
	}
	for i := range sessions {
		one, why := sessions[i].treatment(s.from, s.koa[min(i, len(s.koa)-1)])
		if why != "" {
			return why
		}
		week.Sessions = append(week.Sessions, one)
	}
	run, err := week.Follow()
	if err != nil {
		return err.Error()
	}
	window, err := run.Window(0, week.LengthMin)
	if err != nil {
		return err.Error()
	}
	for key, number := range window.Inputs() {
		f.inputs[key] = number
	}
	f.end = run.End
	return ""
}

// treatment converts a session to the input of the model.
func (s *weekSession) treatment(from int64, koa float64) (kinetics.WeekSession, string) {
	volume, ok := s.value("dialysate_volume")
	flow, _ := s.value("dialysate_flow")
	isolated := ok && volume == 0 && flow == 0
	in := calc.Inputs{"dialyser_koa": koa}
	for _, field := range sessionFields[:5] {
		number, ok := s.value(field)
		if s.start == 0 || !ok && !(isolated && field == "dialysate_flow") {
			return kinetics.WeekSession{}, "a session does not say its start or its " + field
		}
		in[field] = number
	}
	one := kinetics.WeekSession{
		StartMin: float64(s.start-from) / 60, DurationMin: in["treated_time"], UFLitres: in["uf_removed"], WeightBeforeKg: in["weight_before"],
	}
	if isolated {
		var err error
		if one.ClearanceMLPerMin, err = calc.ClearanceOfUF(one.UFLitres, one.DurationMin); err != nil {
			return one, err.Error()
		}
		return one, ""
	}
	clearance := methods().byID["clearance-michaels-in-use"].Compute(in)
	one.ClearanceMLPerMin = clearance.Value
	return one, clearance.WhyNot
}
