package calc

func bodyMethods() []Method {
	size := need("height", "weight_after")
	secondary := " (coefficients from a secondary source)"
	surface := func(id, formula, source, validity string, eval func(h, w float64) (float64, error)) Method {
		return Method{
			ID: id, Version: "1", Quantity: "body surface area", Key: "body_surface_area", Unit: "m2", Decimals: 2,
			Formula: "body_surface_area = " + formula, Source: source + secondary, Range: validity,
			Inputs: size,
			eval:   func(in Inputs) (float64, error) { return eval(in["height"], in["weight_after"]) },
		}
	}
	return []Method{
		surface("bsa-dubois", "0.007184*height^0.725*weight_after^0.425",
			"Du Bois and Du Bois, Arch Intern Med 1916;17:863", "adults; up to 20 % low in obesity", BSADuBois),
		surface("bsa-haycock", "0.024265*height^0.3964*weight_after^0.5378",
			"Haycock, Schwartz and Wisotsky, J Pediatr 1978;93:62", "infants to adults", BSAHaycock),
		surface("bsa-mosteller", "sqrt(height*weight_after/3600)",
			"Mosteller, N Engl J Med 1987;317:1098", "adults and children", BSAMosteller),
		surface("bsa-gehan", "0.0235*height^0.42246*weight_after^0.51456",
			"Gehan and George, Cancer Chemother Rep 1970;54:225", "infants to adults", BSAGehan),
		{
			ID: "bmi", Version: "1", Quantity: "body mass index", Key: "bmi", Unit: "kg/m2", Decimals: 1,
			Formula: "bmi = weight_after/(height/100)^2", Source: "definition",
			Range: "adults; after an amputation use the corrected weight", Inputs: size,
			eval: func(in Inputs) (float64, error) { return BMI(in["height"], in["weight_after"]) },
		},
	}
}

func volumeMethods() []Method {
	const watson = "Watson, Watson and Batt, Am J Clin Nutr 1980;33:27"
	return []Method{
		{
			ID: "watson-male", Version: "1", Quantity: "total body water", Key: "total_body_water", Unit: "L", Decimals: 2,
			Formula: "total_body_water = 2.447 - 0.09516*age + 0.1074*height + 0.3362*weight_after",
			Source:  watson, Range: "adult men; SD 3.76 L; fluid above dry weight is not counted",
			Inputs: need("age", "height", "weight_after"),
			eval:   func(in Inputs) (float64, error) { return WatsonMale(in["age"], in["height"], in["weight_after"]) },
			notes:  adultsOnly,
		},
		{
			ID: "watson-female", Version: "1", Quantity: "total body water", Key: "total_body_water", Unit: "L", Decimals: 2,
			Formula: "total_body_water = -2.097 + 0.1069*height + 0.2466*weight_after",
			Source:  watson, Range: "adult women; SD 3.60 L; fluid above dry weight is not counted",
			Inputs: need("height", "weight_after"),
			eval:   func(in Inputs) (float64, error) { return WatsonFemale(in["height"], in["weight_after"]) },
			notes:  adultsOnly,
		},
	}
}

// adultsOnly notes a use below 18 years where the age is known.
func adultsOnly(in Inputs, _ float64) []string {
	if age, known := in["age"]; known && age < 18 {
		return []string{"the formula was derived in adults"}
	}
	return nil
}
