package calc

// Molar masses, IUPAC: nitrogen 14.007 g/mol, urea 60.056 g/mol; a molecule
// of urea holds two atoms of nitrogen.
const (
	ureaNitrogenMass = 28.014 // g of nitrogen per mol of urea
	ureaMass         = 60.056 // g/mol
)

// PlasmaWaterFraction is the share of water in plasma (from memory). A
// laboratory reports urea per volume of plasma, the kinetic model works in
// body water. Use one convention throughout: mixing them shifts generation and
// weekly standard Kt/V by 7 %. This package uses every concentration as given;
// only [BodyWaterFromPlasma] converts.
const PlasmaWaterFraction = 0.93

// BodyWaterFromPlasma returns a plasma concentration per volume of plasma
// water, in the unit given.
func BodyWaterFromPlasma(concentration float64) float64 { return concentration / PlasmaWaterFraction }

// UreaFromBUN returns urea in mmol/L from urea nitrogen in mg/dL (factor
// 0.35697).
func UreaFromBUN(bunMgPerDL float64) float64 { return bunMgPerDL * 10 / ureaNitrogenMass }

// BUNFromUrea returns urea nitrogen in mg/dL from urea in mmol/L.
func BUNFromUrea(ureaMmolPerL float64) float64 { return ureaMmolPerL * ureaNitrogenMass / 10 }

// UreaFromMgPerDL returns urea in mmol/L from urea (not urea nitrogen) in
// mg/dL.
func UreaFromMgPerDL(ureaMgPerDL float64) float64 { return ureaMgPerDL * 10 / ureaMass }
