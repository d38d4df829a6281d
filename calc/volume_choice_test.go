package calc

import (
	"math"
	"slices"
	"testing"
)

func TestBodyWaterByAgeAndSize(t *testing.T) {
	for _, tt := range []struct {
		sex, age, height, weight float64
		method                   string
		litres                   float64
	}{
		{SexMale, 9, 130, 26, "morgenstern-boy", 16.6},
		{SexFemale, 3, 99, 15, "morgenstern-girl", 9.3},
		{SexFemale, 15, 160, 50, "morgenstern-girl-teen", 31.4},
		{SexMale, 13, 150, 40, "morgenstern-boy", 24.1},
		{SexMale, 18, 174, 70, "watson-male", 42.9},
		{SexFemale, 60, 160, 60, "watson-female", 29.8},
	} {
		methods := BodyWaterMethods(tt.sex, Known(tt.age), tt.height)
		in := Inputs{"age": tt.age, "height": tt.height, "weight_after": tt.weight}
		for _, id := range methods {
			m, ok := MethodByID(id)
			r := m.Compute(in)
			if !ok || !r.OK() {
				t.Errorf("%+v: %s: %s", tt, id, r.WhyNot)
			}
			if slices.Contains(r.Notes, DerivedInAdults) {
				t.Errorf("%+v: %s: %v", tt, id, r.Notes)
			}
			if id == methods[0] && (id != tt.method || math.Abs(r.Value-tt.litres) > 0.1) {
				t.Errorf("%+v: %.2f L by %s", tt, r.Value, id)
			}
		}
	}
	if got := BodyWaterMethods(SexMale, Maybe{}, 174); got[0] != "watson-male" {
		t.Errorf("without an age: %v", got)
	}
}

func TestAdultFormulasSaySo(t *testing.T) {
	in := Inputs{"age": 9, "urea_before": 24, "urea_after": 8, "treated_time": 210, "uf_removed": 1, "weight_after": 26, "sessions_per_week": 3}
	m, _ := MethodByID("spktv-daugirdas2")
	if r := m.Compute(in); !r.OK() || !slices.Contains(r.Notes, DerivedInAdults) {
		t.Errorf("%+v", r)
	}
	in["age"] = 18
	if r := m.Compute(in); slices.Contains(r.Notes, DerivedInAdults) {
		t.Errorf("%v", r.Notes)
	}
}
