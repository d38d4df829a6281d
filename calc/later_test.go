package calc

// leftForLater lists the quantities that are not computed yet.
var leftForLater = map[string]bool{
	"BUN to urea mmol/L": true, "BUN to urea mg/dL": true,
	"continuous clearance equal to a stdKt/V": true, "SAN stdKt/V": true, "stdKt per BSA target equals stdKt/V 2.0": true,
	"EKRc thrice weekly": true, "weekly measures equal to eKt/V 1.20": true,
	"ratio of mean predialysis to time-averaged urea, single-pool model": true,
	"fully saturated dialysate needed":                                   true, "treatment time": true, "flow fraction": true, "Kt/V from nominal clearance": true,
	"V Hume-Weyers male": true, "V Hume-Weyers female": true, "V Chertow female, diabetic": true,
	"V Mellits-Cheek boy <=132.7 cm": true, "V Mellits-Cheek boy >132.7 cm": true, "V Mellits-Cheek girl <=110.8 cm": true,
	"V Morgenstern 2002, boy 8 y": true, "V Morgenstern 2002, girl 15 y": true,
	"single-pool variable-volume periodic steady state": true, "two-pool variable-volume periodic steady state": true,
	"two-pool constant volume, analytic": true, "single dialysis segment closed form": true,
	"inverse fit: V and G from midweek pre/post": true,
	"nPCR two-point 3/wk first session":          true, "nPCR two-point 3/wk midweek": true, "nPCR two-point 3/wk last session": true,
	"nPCR two-point 2/wk second session": true, "nPCR with residual clearance, 3/wk midweek": true, "nPCR from G": true,
	"PCR from daily urea N generation":                       true,
	"time-averaged weight excess over a week (target 70 kg)": true,
	"IDH nadir definition":                                   true, "IDH EBPG definition": true,
	"access recirculation, two-needle urea method": true, "TMP average of four pressures": true,
	"weight corrected for below-knee amputation": true, "haemodialysis product": true,
}
