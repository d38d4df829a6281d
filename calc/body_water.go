package calc

import "math"

// WatsonMale returns total body water in litres of an adult man from age in
// years, height in cm and weight after dialysis in kg:
//
//	V = 2.447 - 0.09516·A + 0.1074·H + 0.3362·W    (SD 3.76 L)
//
// Many public copies print the age coefficient as 0.09156, which is 0.29 L too
// much at 80 years. Fluid above the dry weight adds one litre per kilogram,
// which the formula ignores.
//
// Watson, Watson and Batt, Am J Clin Nutr 1980;33:27.
func WatsonMale(ageYears, heightCm, weightKg float64) (float64, error) {
	return positiveVolume(2.447-0.09516*ageYears+0.1074*heightCm+0.3362*weightKg,
		NotNegative("age", ageYears), Positive("height", heightCm), Positive("weight", weightKg))
}

// WatsonFemale returns total body water in litres of an adult woman from
// height in cm and weight after dialysis in kg:
//
//	V = -2.097 + 0.1069·H + 0.2466·W    (SD 3.60 L)
//
// Watson, Watson and Batt, Am J Clin Nutr 1980;33:27.
func WatsonFemale(heightCm, weightKg float64) (float64, error) {
	return positiveVolume(-2.097+0.1069*heightCm+0.2466*weightKg,
		Positive("height", heightCm), Positive("weight", weightKg))
}

// positiveVolume also refuses the negative volumes of linear regressions far
// outside their range.
func positiveVolume(litres float64, reasons ...string) (float64, error) {
	return given(litres, append(reasons, When(litres <= 0, "the body-water formula gives no positive volume for this body"))...)
}

// BodyWaterMethods returns the ids of the formulas of total body water for a
// person of a sex ([SexMale] or [SexFemale]), the preferred one first. Below
// [AdultYears] they are the formulas for children: Morgenstern's by age, then
// Mellits and Cheek's by height in cm. An unknown age counts as an adult's.
func BodyWaterMethods(sex float64, ageYears Maybe, heightCm float64) []string {
	person, bound := "female", 110.8
	child := "girl"
	if sex == SexMale {
		person, child, bound = "male", "boy", 132.7
	}
	if !ageYears.Known || ageYears.Value >= AdultYears {
		return []string{"watson-" + person, "hume-" + person}
	}
	morgenstern, mellits := "morgenstern-"+child, "mellits-"+child+"-small"
	if ageYears.Value > 13 {
		morgenstern += "-teen"
	}
	if ageYears.Value < 0.25 {
		morgenstern = "morgenstern-infant"
	}
	if heightCm > bound {
		mellits = "mellits-" + child + "-tall"
	}
	return []string{morgenstern, mellits}
}

// HumeWeyersMale returns total body water in litres of an adult man from
// height in cm and weight after dialysis in kg:
//
//	V = 0.194786·H + 0.296785·W - 14.012934
//
// Hume and Weyers, J Clin Pathol 1971;24:234 (coefficients from a secondary
// source).
func HumeWeyersMale(heightCm, weightKg float64) (float64, error) {
	return positiveVolume(0.194786*heightCm+0.296785*weightKg-14.012934,
		Positive("height", heightCm), Positive("weight", weightKg))
}

// HumeWeyersFemale returns total body water in litres of an adult woman from
// height in cm and weight after dialysis in kg:
//
//	V = 0.34454·H + 0.183809·W - 35.270121
//
// Hume and Weyers, J Clin Pathol 1971;24:234 (coefficients from a secondary
// source).
func HumeWeyersFemale(heightCm, weightKg float64) (float64, error) {
	return positiveVolume(0.34454*heightCm+0.183809*weightKg-35.270121,
		Positive("height", heightCm), Positive("weight", weightKg))
}

// Chertow returns total body water in litres of an adult on dialysis from age
// in years, sex ([SexMale] or [SexFemale]), diabetes (1 or 0), height in cm
// and weight after dialysis in kg. Ten terms:
//
//	V = -0.07493713·A - 1.01767992·m + 0.12703384·H - 0.04012056·W
//	    + 0.57894981·d - 0.00067247·W² - 0.03486146·A·m + 0.11262857·m·W
//	    + 0.00104135·A·W + 0.00186104·H·W
//
// Many public copies print the last coefficient as 0.0186104, ten times too
// large, which gives over 200 L; a test guards the digit.
//
// Chertow et al, Kidney Int 1997;51:1578 (coefficients from memory; all but
// the last also seen in secondary sources).
func Chertow(ageYears, sex, diabetes, heightCm, weightKg float64) (float64, error) {
	a, m, d, h, w := ageYears, sex, diabetes, heightCm, weightKg
	return positiveVolume(-0.07493713*a-1.01767992*m+0.12703384*h-0.04012056*w+
		0.57894981*d-0.00067247*w*w-0.03486146*a*m+0.11262857*m*w+
		0.00104135*a*w+0.00186104*h*w,
		NotNegative("age", ageYears), Positive("height", heightCm), Positive("weight", weightKg), zeroOrOne("sex", sex), zeroOrOne("diabetes", diabetes))
}

func zeroOrOne(name string, v float64) string {
	return When(v != 0 && v != 1, name+" must be 0 or 1")
}

func volumeMethods() []Method {
	const hume = "Hume and Weyers, J Clin Pathol 1971;24:234 (coefficients from a secondary source)"
	const watson = "Watson, Watson and Batt, Am J Clin Nutr 1980;33:27"
	return []Method{
		Method{
			ID: "watson-male", Version: "1", Quantity: "total body water", Key: "total_body_water", Unit: "L", Decimals: 2,
			Formula: "total_body_water = 2.447 - 0.09516*age + 0.1074*height + 0.3362*weight_after",
			Source:  watson, Range: "adult men; SD 3.76 L; fluid above dry weight is not counted",
			Inputs: need("age", "height", "weight_after"),
		}.of3(WatsonMale),
		Method{
			ID: "watson-female", Version: "1", Quantity: "total body water", Key: "total_body_water", Unit: "L", Decimals: 2,
			Formula: "total_body_water = -2.097 + 0.1069*height + 0.2466*weight_after",
			Source:  watson, Range: "adult women; SD 3.60 L; fluid above dry weight is not counted",
			Inputs: need("height", "weight_after"),
		}.of2(WatsonFemale),
		Method{
			ID: "hume-male", Version: "1", Quantity: "total body water", Key: "total_body_water", Unit: "L", Decimals: 2,
			Formula: "total_body_water = 0.194786*height + 0.296785*weight_after - 14.012934",
			Source:  hume, Range: "adult men",
			Inputs: need("height", "weight_after"),
		}.of2(HumeWeyersMale),
		Method{
			ID: "hume-female", Version: "1", Quantity: "total body water", Key: "total_body_water", Unit: "L", Decimals: 2,
			Formula: "total_body_water = 0.34454*height + 0.183809*weight_after - 35.270121",
			Source:  hume, Range: "adult women",
			Inputs: need("height", "weight_after"),
		}.of2(HumeWeyersFemale),
		{
			ID: "chertow", Version: "1", Quantity: "total body water", Key: "total_body_water", Unit: "L", Decimals: 2,
			Formula: "total_body_water = -0.07493713*age - 1.01767992*sex + 0.12703384*height - 0.04012056*weight_after + 0.57894981*diabetes - 0.00067247*weight_after^2 - 0.03486146*age*sex + 0.11262857*sex*weight_after + 0.00104135*age*weight_after + 0.00186104*height*weight_after",
			Source:  "Chertow et al, Kidney Int 1997;51:1578 (coefficients from memory; all but the last also seen in secondary sources)", Range: "adults on dialysis",
			Inputs: need("age", "sex", "diabetes", "height", "weight_after"),
			eval: func(in Inputs) (float64, error) {
				return Chertow(in["age"], in["sex"], in["diabetes"], in["height"], in["weight_after"])
			},
		},
	}
}

// childVolumeMethods are the formulas for children. Each band of age or height
// is one method, so that its printed formula is the one used.
func childVolumeMethods() []Method {
	const mellits, morgenstern = "Mellits and Cheek 1970 (coefficients from a secondary source)", "Morgenstern et al, J Am Soc Nephrol 2002;13:1884"
	child := func(id, formula, source, validity string, inputs []InputSpec, eval func(in Inputs) (float64, error)) Method {
		return Method{
			ID: id, Version: "1", Quantity: "total body water", Key: "total_body_water", Unit: "L", Decimals: 2,
			Formula: "total_body_water = " + formula, Source: source, Range: validity, Inputs: inputs, eval: eval,
		}
	}
	size := need("height", "weight_after")
	boy := func(in Inputs) (float64, error) { return MellitsCheekBoy(in["height"], in["weight_after"]) }
	girl := func(in Inputs) (float64, error) { return MellitsCheekGirl(in["height"], in["weight_after"]) }
	const high = "; reads high in children of today (Wells 2005)"
	aged := need("age", "height", "weight_after")
	by := func(sex float64) func(in Inputs) (float64, error) {
		return func(in Inputs) (float64, error) {
			return Morgenstern(in["age"], sex, in["height"], in["weight_after"])
		}
	}
	any := math.Inf(1)
	over := func(bound float64) float64 { return math.Nextafter(bound, any) } // a bound belongs to the band below it
	infant := func(in Inputs) (float64, error) { return MorgensternInfant(in["weight_after"]) }
	return []Method{
		child("mellits-boy-small", "-1.927 + 0.465*weight_after + 0.045*height", mellits, "boys up to 132.7 cm"+high, size, within("height", 0, 132.7, boy)),
		child("mellits-boy-tall", "-21.993 + 0.406*weight_after + 0.209*height", mellits, "boys above 132.7 cm"+high, size, within("height", over(132.7), any, boy)),
		child("mellits-girl-small", "0.076 + 0.507*weight_after + 0.013*height", mellits, "girls up to 110.8 cm"+high, size, within("height", 0, 110.8, girl)),
		child("mellits-girl-tall", "-10.313 + 0.252*weight_after + 0.154*height", mellits, "girls above 110.8 cm"+high, size, within("height", over(110.8), any, girl)),
		child("morgenstern-infant", "0.887*weight_after^0.83", morgenstern, "age below 3 months", need("age", "weight_after"), within("age", -any, math.Nextafter(0.25, 0), infant)),
		child("morgenstern-boy", "0.0846*(height*weight_after)^0.65", morgenstern, "boys, age 3 months to 13 years", aged, within("age", 0.25, 13, by(SexMale))),
		child("morgenstern-girl", "0.0846*0.95*(height*weight_after)^0.65", morgenstern, "girls, age 3 months to 13 years", aged, within("age", 0.25, 13, by(SexFemale))),
		child("morgenstern-boy-teen", "0.0758*(height*weight_after)^0.69", morgenstern, "boys, age above 13 years", aged, within("age", over(13), any, by(SexMale))),
		child("morgenstern-girl-teen", "0.0758*0.84*(height*weight_after)^0.69", morgenstern, "girls, age above 13 years", aged, within("age", over(13), any, by(SexFemale))),
	}
}

// within refuses inputs outside the band of a formula.
func within(key string, low, high float64, eval func(Inputs) (float64, error)) func(Inputs) (float64, error) {
	return func(in Inputs) (float64, error) {
		value, err := eval(in)
		return given(value, When(in[key] < low || in[key] > high, "the "+key+" is outside the band of this formula"), why(err))
	}
}
