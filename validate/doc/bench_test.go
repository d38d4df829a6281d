package doc_test

import (
	"fmt"
	"strings"
	"testing"

	"runsheet.example/validate/doc"
)

// BenchmarkHostile shows that the time per byte of hostile input stays that
// of plain input.
func BenchmarkHostile(b *testing.B) {
	var keys strings.Builder
	for i := range 200_000 {
		fmt.Fprintf(&keys, `"k%d":0,`, i%150_000)
	}
	for name, text := range map[string]string{
		"many-members":  "{" + keys.String() + `"k":0}`,
		"open-brackets": strings.Repeat("[", 2_000_000),
		"deep-arrays":   strings.Repeat("[", 250) + strings.Repeat("[],", 600_000) + "[]" + strings.Repeat("]", 250),
		"unlike-items":  "[" + strings.Repeat(`{"a":{"b":1},"c":[2]},{"c":[2],"a":{"b":1,"d":3}},`, 40_000) + "{}]",
		"many-arrays":   "[" + strings.Repeat("[],", 600_000) + "[]]",
		"escapes":       `"` + strings.Repeat(`\n`, 1_000_000) + `"`,
		"bad-utf8":      `"` + strings.Repeat("\xff", 2_000_000) + `"`,
		"digits":        strings.Repeat("9", 2_000_000),
	} {
		b.Run(name, func(b *testing.B) {
			var d doc.Doc
			b.SetBytes(int64(len(text)))
			for b.Loop() {
				d.Parse([]byte(text), "")
			}
		})
	}
}
