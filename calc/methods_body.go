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
		{
			ID: "weight-before-amputation", Version: "1", Quantity: "weight corrected for a missing limb", Key: "weight_before_amputation", Unit: "kg", Decimals: 1,
			Formula: "weight_before_amputation = weight_after/(1 - missing_share)", Source: "Osterkamp (shares from a secondary source; tables disagree)",
			Range: "for the body mass index only", Inputs: need("weight_after", "missing_share"),
			eval: func(in Inputs) (float64, error) {
				return WeightBeforeAmputation(in["weight_after"], in["missing_share"])
			},
		},
	}
}
