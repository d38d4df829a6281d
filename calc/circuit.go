package calc

// BloodProcessed returns the blood volume processed in litres from a constant
// blood flow in mL/min and the treated time in minutes. Prefer the machine's
// own total, which includes every stop of the pump.
func BloodProcessed(bloodFlow, minutes float64) (float64, error) {
	return given(bloodFlow*minutes/1000, Positive("blood flow", bloodFlow), Positive("treated time", minutes))
}

func circuitMethods() []Method {
	const several = "several formulas are in use and differ (Morikami 2016): never compare across them"
	pressure := func(id, formula, source string, inputs []InputSpec, eval func(Inputs) (float64, error)) Method {
		return Method{
			ID: id, Version: "1", Quantity: "transmembrane pressure, from line pressures", Key: "transmembrane_pressure", Unit: "mm[Hg]", Decimals: 0,
			Formula: "transmembrane_pressure = " + formula, Source: source, Range: several, Inputs: inputs, eval: eval,
		}
	}
	return []Method{
		Method{
			ID: "blood-processed-flow-time", Version: "1", Quantity: "blood processed, from flow and time", Key: "blood_processed_computed", Unit: "L", Decimals: 1,
			Formula: "blood_processed_computed = blood_flow*treated_time/1000", Source: "definition",
			Range:  "constant blood flow; prefer the machine's total",
			Inputs: need("blood_flow", "treated_time"),
		}.of2(BloodProcessed),
		Method{
			ID: "recirculation-two-needle", Version: "1", Quantity: "access recirculation", Key: "access_recirculation", Unit: "%", Decimals: 1,
			Formula: "access_recirculation = 100*(urea_systemic - urea_arterial_line)/(urea_systemic - urea_venous_line)",
			Source:  "two-needle urea method, common practice", Range: "samples drawn at the same blood flow",
			Inputs: need("urea_systemic", "urea_arterial_line", "urea_venous_line"),
		}.of3(Recirculation),
		Method{
			ID: "static-pressure-ratio", Version: "1", Quantity: "static access pressure ratio", Key: "static_pressure_ratio", Unit: "1", Decimals: 2,
			Formula: "static_pressure_ratio = (access_static_pressure - access_height_offset - access_zero_pressure)/mean_arterial_pressure",
			Source:  "KDOQI, from a secondary source", Range: "pump stopped; a pressure while pumping is not this ratio",
			Inputs: need("access_static_pressure", "access_height_offset", "access_zero_pressure", "mean_arterial_pressure"),
		}.of4(StaticPressureRatio),
		pressure("tmp-four-pressures", "(blood_inlet_pressure + blood_outlet_pressure)/2 - (dialysate_inlet_pressure + dialysate_outlet_pressure)/2", "mean of both sides",
			need("blood_inlet_pressure", "blood_outlet_pressure", "dialysate_inlet_pressure", "dialysate_outlet_pressure"),
			func(in Inputs) (float64, error) {
				return TMPFourPressures(in["blood_inlet_pressure"], in["blood_outlet_pressure"], in["dialysate_inlet_pressure"], in["dialysate_outlet_pressure"])
			}),
		pressure("tmp-three-pressures", "(blood_inlet_pressure + blood_outlet_pressure)/2 - dialysate_outlet_pressure", "from memory",
			need("blood_inlet_pressure", "blood_outlet_pressure", "dialysate_outlet_pressure"),
			func(in Inputs) (float64, error) {
				return TMPThreePressures(in["blood_inlet_pressure"], in["blood_outlet_pressure"], in["dialysate_outlet_pressure"])
			}),
		pressure("tmp-two-pressures", "blood_outlet_pressure - dialysate_outlet_pressure", "from memory",
			need("blood_outlet_pressure", "dialysate_outlet_pressure"),
			func(in Inputs) (float64, error) {
				return TMPTwoPressures(in["blood_outlet_pressure"], in["dialysate_outlet_pressure"])
			}),
	}
}
