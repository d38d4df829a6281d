package calc

import (
	"strings"
	"testing"
)

// The dialysate-side Kt/V from printed figures: body water, computed on the
// way, matters more than KoA at a flow that saturates the dialysate.
func TestLeastCertainInputOfAChain(t *testing.T) {
	in := Inputs{
		"age": 60, "height": 170, "weight_after": 70, "uf_removed": 1.5, "treated_time": 167,
		"blood_flow": 350, "dialysate_flow": 150, "dialysate_volume": 25, "dialyser_koa": 800,
	}
	firm, found := LeastCertain(in, "watson-male", "dialysate-saturation-michaels", "dialysate-kt-v")
	if !found || firm.Key != "total_body_water" || !strings.Contains(firm.Why, "3.76 L") {
		t.Fatalf("%v %+v", found, firm)
	}
	// 25.18 L cleared over 38.53 ± 3.76 L (Watson 1980).
	near(t, "low", firm.Low.Value, 25.18/(38.53+3.76), 0.001)
	near(t, "high", firm.High.Value, 25.18/(38.53-3.76), 0.001)

	firm, found = LeastCertain(in, "clearance-michaels")
	if !found || firm.Key != "dialyser_koa" || firm.Low.Value >= firm.High.Value {
		t.Errorf("%v %+v", found, firm)
	}
	if _, found = LeastCertain(in, "bmi"); found {
		t.Error("the body mass index has an uncertain input")
	}
	if _, found = LeastCertain(in, "no-such-method"); found {
		t.Error("an unknown method has an uncertain input")
	}
	if in["dialyser_koa"] != 800 {
		t.Error("the caller's inputs were changed")
	}
}
