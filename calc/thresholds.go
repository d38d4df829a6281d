package calc

// Threshold is a UF rate that a study reports an association for. It is
// observational data from in-centre, thrice-weekly treatment and no limit for
// a person; a fixed value per kg misjudges light and heavy patients.
type Threshold struct {
	ID            string
	PerKg         float64 // mL/kg/h; 0 for the weight-specific lines
	SlopePerKg    float64 // mL/h per kg of the weight-specific lines
	OffsetMLPerH  float64 // mL/h
	Association   string  // what was found, in words
	Source        string
	Tag           Tag
	Observational bool // always true so far: association, not cause
}

// At returns the threshold in mL/h for a weight after dialysis in kg.
func (t Threshold) At(weightAfterKg float64) float64 {
	return (t.PerKg+t.SlopePerKg)*weightAfterKg + t.OffsetMLPerH
}

// AtPerKg returns the threshold in mL/kg/h for a weight after dialysis in kg.
func (t Threshold) AtPerKg(weightAfterKg float64) float64 { return t.At(weightAfterKg) / weightAfterKg }

// UFRateThresholds returns the published thresholds of the UF rate.
func UFRateThresholds() []Threshold {
	const assimon = "Assimon et al, Am J Kidney Dis 2016"
	const mermelstein = "Mermelstein et al, Clin J Am Soc Nephrol 2023;18:767 (about 70 mL/h higher in men)"
	return []Threshold{
		{ID: "ufr-10", PerKg: 10, Association: "above: mortality hazard ratio 1.22", Source: assimon + "; Saran et al, Kidney Int 2006 (from memory)", Tag: Seen, Observational: true},
		{ID: "ufr-13", PerKg: 13, Association: "above: mortality hazard ratio 1.31", Source: assimon + "; Flythe et al, Kidney Int 2011 (from memory)", Tag: Seen, Observational: true},
		{ID: "ufr-3w330", SlopePerKg: 3, OffsetMLPerH: 330, Association: "average risk at this weight", Source: mermelstein, Tag: Seen, Observational: true},
		{ID: "ufr-3w500", SlopePerKg: 3, OffsetMLPerH: 500, Association: "20 % higher risk than average", Source: mermelstein, Tag: Seen, Observational: true},
		{ID: "ufr-3w630", SlopePerKg: 3, OffsetMLPerH: 630, Association: "40 % higher risk than average", Source: mermelstein, Tag: Seen, Observational: true},
	}
}
