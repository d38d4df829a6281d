package calc

import "math"

// DiffusiveClearance returns the clearance in mL/min of a counter-current
// dialyser without ultrafiltration, from blood flow, dialysate flow and KoA,
// all in mL/min:
//
//	K = Qb·(e^Z - 1)/(e^Z - Qb/Qd),  Z = (KoA/Qb)·(1 - Qb/Qd)
//
// and Qb·KoA/(Qb + KoA) where both flows are equal. An estimate: blood water
// flow is about 0.89 of blood flow, and KoA in use about 0.8 of the printed
// one (both from memory). K never exceeds the smaller flow.
//
// Michaels, Trans Am Soc Artif Intern Organs 1966;12:387 (from memory;
// agrees with a numerical counter-current solution to 1e-4).
func DiffusiveClearance(bloodFlow, dialysateFlow, koa float64) (float64, error) {
	if err := Guard(Positive("blood flow", bloodFlow), Positive("dialysate flow", dialysateFlow), Positive("KoA", koa)); err != nil {
		return math.NaN(), err
	}
	// The formula is symmetric in the flows. With the smaller one as Qb, Z is
	// not negative, and with w = KoA·(1-e^-Z)/Z it becomes K = w/(1 + w/Qd),
	// which keeps full precision for nearly equal flows and does not overflow.
	low, high := math.Min(bloodFlow, dialysateFlow), math.Max(bloodFlow, dialysateFlow)
	w := koa
	if z := koa / low * (1 - low/high); z != 0 {
		w = koa * -math.Expm1(-z) / z
	}
	return w / (1 + w/high), nil
}

// ClearanceWithUF adds convection to a diffusive clearance:
// K = Kd·(1 - Quf/Qb) + Quf, all in mL/min.
func ClearanceWithUF(diffusive, bloodFlow, ufRate float64) (float64, error) {
	return given(diffusive*(1-ufRate/bloodFlow)+ufRate,
		Positive("diffusive clearance", diffusive), Positive("blood flow", bloodFlow), NotNegative("UF rate", ufRate),
		When(ufRate >= bloodFlow, "UF rate is not below blood flow"))
}

// Saturation returns the urea saturation of the drained fluid, DS = K/(Qd +
// Quf), from total clearance, dialysate flow and UF rate in mL/min. 1 means
// equilibrium with blood water.
func Saturation(clearance, dialysateFlow, ufRate float64) (float64, error) {
	return given(clearance/(dialysateFlow+ufRate),
		Positive("clearance", clearance), Positive("dialysate flow", dialysateFlow), NotNegative("UF rate", ufRate))
}

// DialysateKt returns the volume cleared in litres, DS·(Vd + UF), from
// saturation, dialysate volume and UF volume in litres. It equals K·t exactly
// at constant flows.
func DialysateKt(saturation, dialysateLitres, ufLitres float64) (float64, error) {
	return given(saturation*(dialysateLitres+ufLitres),
		Positive("dialysate saturation", saturation),
		When(saturation > 1, "dialysate saturation is above 1"),
		Positive("dialysate volume", dialysateLitres), NotNegative("fluid removed", ufLitres))
}

// DialysateKtV returns the dialysate-side Kt/V, [DialysateKt] divided by the
// urea volume in litres. It estimates the clearance of the dialyser and is not
// a blood-side spKt/V: at 0.65, blood samples of the same session give 0.69 to
// 0.74.
func DialysateKtV(saturation, dialysateLitres, ufLitres, volumeLitres float64) (float64, error) {
	kt, err := DialysateKt(saturation, dialysateLitres, ufLitres)
	return given(kt/volumeLitres, why(err), Positive("body water", volumeLitres))
}

// flowFormula is the formula of clearance from flows and KoA; the variants
// differ in whether flow and KoA are corrected for use.
type flowFormula struct {
	suffix, water, koa, note string
	diffusive                func(bloodFlow, dialysateFlow, koa float64) (float64, error)
}

func flowFormulas() []flowFormula {
	return []flowFormula{
		{"-michaels", "blood_flow", "dialyser_koa", "from printed KoA and whole blood flow: an overestimate", DiffusiveClearance},
		{"-michaels-in-use", "0.89*blood_flow", "0.8*dialyser_koa", "with blood water 0.89 of blood flow and KoA in use 0.8 of the printed one, both from memory", ClearanceInUse},
	}
}

func (f flowFormula) where() string {
	return "KD = QB*(exp(Z) - 1)/(exp(Z) - QB/dialysate_flow); Z = KOA/QB*(1 - QB/dialysate_flow); QUF = 1000*uf_removed/treated_time; QB = " + f.water + "; KOA = " + f.koa
}

func (f flowFormula) clearance(in Inputs) (float64, error) {
	diffusive, err := f.diffusive(in["blood_flow"], in["dialysate_flow"], in["dialyser_koa"])
	if err := Guard(why(err), Positive("treated time", in["treated_time"])); err != nil {
		return math.NaN(), err
	}
	flow := in["blood_flow"]
	if f.water != "blood_flow" {
		flow *= BloodWaterShare
	}
	return ClearanceWithUF(diffusive, flow, 1000*in["uf_removed"]/in["treated_time"])
}

func (f flowFormula) saturation(in Inputs) (float64, error) {
	clearance, err := f.clearance(in)
	if err != nil {
		return math.NaN(), err
	}
	return Saturation(clearance, in["dialysate_flow"], 1000*in["uf_removed"]/in["treated_time"])
}

func dialysateMethods() []Method {
	const michaels = "Michaels, Trans Am Soc Artif Intern Organs 1966;12:387 (from memory; checked against a numerical solution)"
	flows := need("blood_flow", "dialysate_flow", "dialyser_koa", "uf_removed", "treated_time")
	var methods []Method
	for _, f := range flowFormulas() {
		methods = append(methods, Method{
			ID: "clearance" + f.suffix, Version: "1", Quantity: "dialyser urea clearance, estimated", Key: "dialyser_clearance", Unit: "mL/min", Decimals: 0,
			Formula: "dialyser_clearance = KD*(1 - QUF/QB) + QUF; " + f.where(), Source: michaels, Range: f.note,
			Inputs: flows, eval: f.clearance,
		}, Method{
			ID: "dialysate-saturation" + f.suffix, Version: "1", Quantity: "dialysate saturation, estimated", Key: "dialysate_saturation", Unit: "1", Decimals: 3,
			Formula: "dialysate_saturation = (KD*(1 - QUF/QB) + QUF)/(dialysate_flow + QUF); " + f.where(), Source: michaels, Range: f.note,
			Inputs: flows, eval: f.saturation,
		})
	}
	return append(methods, Method{
		ID: "dialysate-kt-v", Version: "1", Quantity: "dialysate-side Kt/V, estimated", Key: "dialysate_kt_v", Unit: "1", Decimals: 2,
		Formula: "dialysate_kt_v = dialysate_saturation*(dialysate_volume + uf_removed)/total_body_water",
		Source:  "mass balance over the drained fluid", Range: "an estimate from the dialysate side, not a blood-side spKt/V: do not compare the two",
		Inputs: need("dialysate_saturation", "dialysate_volume", "uf_removed", "total_body_water"),
		notes: func(Inputs, float64) []string {
			return []string{"dialysate-side estimate, not an spKt/V from blood samples"}
		},
	}.of4(DialysateKtV), Method{
		ID: "ktv-nominal", Version: "1", Quantity: "Kt/V from nominal clearance", Key: "nominal_kt_v", Unit: "1", Decimals: 2,
		Formula: "nominal_kt_v = dialyser_clearance*treated_time/(1000*total_body_water)", Source: "definition",
		Range:  "an estimate: no sample, no generation, no fluid removal",
		Inputs: need("dialyser_clearance", "treated_time", "total_body_water"),
	}.of3(NominalKtV))
}
