package calc

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// TestFormulaIsWhatIsComputed evaluates the printed formula of every method
// with an evaluator of its own and compares it with the computed value: the
// text an auditor reads cannot drift from the code.
func TestFormulaIsWhatIsComputed(t *testing.T) {
	for _, m := range Methods() {
		t.Run(m.ID, func(t *testing.T) {
			computed := 0
			rapid.Check(t, func(t *rapid.T) {
				in := drawInputs(t, m)
				r := m.Compute(in)
				if !r.OK() {
					return
				}
				computed++
				byText, err := evaluateFormula(m, in)
				if err != nil {
					t.Fatalf("%s: %v", m.Formula, err)
				}
				if math.Abs(byText-r.Value) > 1e-9*math.Max(1, math.Abs(r.Value)) {
					t.Fatalf("formula gives %v, Compute %v for %v", byText, r.Value, in)
				}
			})
			if computed == 0 {
				t.Fatal("no drawn input gave a value")
			}
		})
	}
}

// typical is a range per key from which most methods give a value.
var typical = map[string][2]float64{
	"urea_before": {15, 40}, "urea_after": {3, 14}, "treated_time": {90, 500}, "uf_removed": {0, 4},
	"sessions_per_week": {2, 7}, "dialysate_saturation": {0.5, 1}, "dialysate_volume": {15, 120}, "bp_systolic": {100, 200}, "bp_diastolic": {40, 95},
	"sp_kt_v": {0.3, 2.5}, "e_kt_v": {0.3, 2.5}, "total_body_water": {20, 60}, "age": {0, 95}, "height": {90, 200},
	"weight_before": {45, 120}, "weight_after": {45, 120}, "previous_weight_after": {45, 120}, "dry_weight": {45, 120},
	"drinks": {0, 1}, "saline": {0, 1}, "rinseback": {0, 0.5}, "urine": {0, 0.5}, "uf_expected": {0, 4}, "weekly_uf": {0, 15},
	"preceding_interval": {0.5, 4}, "blood_flow": {150, 450}, "dialysate_flow": {90, 800}, "dialyser_koa": {400, 1500},
	"residual_urea_clearance": {0, 6}, "catheter": {0, 1}, "diabetes": {0, 1}, "sex": {0, 1}, "missing_share": {0, 0.3}, "uf_rate": {0.1, 1}, "uf_goal": {0.1, 4},
	"urea_equilibrated": {3, 14}, "urea_generation": {2, 12},
	"urea_systemic": {15, 25}, "urea_arterial_line": {10, 20}, "urea_venous_line": {2, 8}, "blood_inlet_pressure": {100, 250}, "blood_outlet_pressure": {50, 200},
	"dialysate_inlet_pressure": {-50, 50}, "dialysate_outlet_pressure": {-50, 50}, "access_static_pressure": {10, 80}, "access_height_offset": {0, 20}, "access_zero_pressure": {-5, 5},
	"mean_arterial_pressure": {60, 120}, "mean_urea_before": {30, 100}, "sessions_counted": {1, 7}, "weekly_treated_time": {300, 2000}, "time_averaged_urea": {20, 80}, "std_kt_v_weekly": {1, 6}, "body_surface_area": {1, 2.5}, "ekr": {5, 20}, "dialysate_kt_v": {0.3, 1}, "dialyser_clearance": {50, 300},
}

func drawInputs(t *rapid.T, m Method) Inputs {
	in := Inputs{}
	for _, spec := range m.Inputs {
		bounds, known := typical[spec.Key]
		if !known {
			t.Fatalf("no typical range for %s", spec.Key)
		}
		if spec.Optional && rapid.Bool().Draw(t, "leave out "+spec.Key) {
			continue
		}
		if spec.Key == "sex" || spec.Key == "diabetes" || spec.Key == "catheter" {
			in[spec.Key] = float64(rapid.IntRange(0, 1).Draw(t, spec.Key))
			continue
		}
		if spec.Key == "age" {
			// Some formulas hold for a few years of age only, which one range would seldom meet.
			in[spec.Key] = rapid.OneOf(rapid.Float64Range(0, 3), rapid.Float64Range(3, 13), rapid.Float64Range(13, 18), rapid.Float64Range(18, bounds[1])).Draw(t, spec.Key)
			continue
		}
		in[spec.Key] = rapid.Float64Range(bounds[0], bounds[1]).Draw(t, spec.Key)
	}
	return in
}

func evaluateFormula(m Method, in Inputs) (float64, error) {
	definitions := map[string]string{}
	main := ""
	for i, part := range strings.Split(m.Formula, "; ") {
		name, expression, found := strings.Cut(part, " = ")
		if !found {
			return 0, fmt.Errorf("%q is no definition", part)
		}
		definitions[name] = expression
		if i == 0 {
			main = expression
		}
	}
	values := map[string]float64{} // 0 for an optional input left out
	for _, spec := range m.Inputs {
		values[spec.Key] = in[spec.Key]
	}
	e := &evaluator{definitions: definitions, in: values}
	return e.evaluate(main)
}

// evaluator reads expressions of + - * / ^, parentheses, ln, exp, sqrt,
// numbers, inputs and further definitions.
type evaluator struct {
	definitions map[string]string
	in          map[string]float64
	rest        string
}

func (e *evaluator) evaluate(expression string) (v float64, err error) {
	inner := &evaluator{definitions: e.definitions, in: e.in, rest: strings.ReplaceAll(expression, " ", "")}
	defer func() {
		if problem := recover(); problem != nil {
			err = fmt.Errorf("%v", problem)
		}
	}()
	v = inner.sum()
	if inner.rest != "" {
		return 0, fmt.Errorf("cannot read %q", inner.rest)
	}
	return v, nil
}

func (e *evaluator) accept(symbol string) bool {
	var found bool
	e.rest, found = strings.CutPrefix(e.rest, symbol)
	return found
}

func (e *evaluator) sum() float64 {
	v := e.product()
	for {
		switch {
		case e.accept("+"):
			v += e.product()
		case e.accept("-"):
			v -= e.product()
		default:
			return v
		}
	}
}

func (e *evaluator) product() float64 {
	v := e.signed()
	for {
		switch {
		case e.accept("*"):
			v *= e.signed()
		case e.accept("/"):
			v /= e.signed()
		default:
			return v
		}
	}
}

func (e *evaluator) signed() float64 {
	if e.accept("-") {
		return -e.signed()
	}
	base := e.operand()
	if e.accept("^") {
		return math.Pow(base, e.signed())
	}
	return base
}

func (e *evaluator) operand() float64 {
	if e.accept("(") {
		return e.closed()
	}
	n := wordLength(e.rest)
	if n == 0 {
		panic("operand expected at " + e.rest)
	}
	word := e.rest[:n]
	e.rest = e.rest[n:]
	functions := map[string]func(float64) float64{"ln": math.Log, "exp": math.Exp, "sqrt": math.Sqrt}
	if function, known := functions[word]; known && e.accept("(") {
		return function(e.closed())
	}
	if number, err := strconv.ParseFloat(word, 64); err == nil {
		return number
	}
	if definition, known := e.definitions[word]; known {
		v, err := e.evaluate(definition)
		if err != nil {
			panic(err)
		}
		return v
	}
	v, known := e.in[word]
	if !known {
		panic(word + " is neither input nor definition")
	}
	return v
}

func (e *evaluator) closed() float64 {
	v := e.sum()
	if !e.accept(")") {
		panic("closing bracket expected at " + e.rest)
	}
	return v
}
