package ucum_test

import (
	"fmt"

	"runsheet.example/validate/ucum"
)

func ExampleConvert() {
	fmt.Println(ucum.Convert(160, "[lb_av]", "kg"))
	fmt.Println(ucum.Convert(1, "kg", "L"))
	fmt.Println(ucum.Commensurable("mmol/L", "mg/dL"))
	// Output:
	// 72.5747792 <nil>
	// 0 convert from kg to L: units are not commensurable
	// false
}

func ExampleCheck() {
	f, wrong := ucum.Check("mmHg")
	fmt.Println(wrong, f.Rule, f.Expected)
	// Output:
	// true unit-not-ucum mm[Hg]
}
