package validate_test

import (
	"bytes"
	"encoding/json"
	"testing"

	"runsheet.example/validate"
)

// BenchmarkSession validates the session of the tests, without white space as
// it is sent.
func BenchmarkSession(b *testing.B) {
	var compact bytes.Buffer
	if err := json.Compact(&compact, []byte(session(b))); err != nil {
		b.Fatal(err)
	}
	data := compact.Bytes()
	validator := validate.New(validate.Options{})
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		if findings := validator.Bytes(data, "session.json"); len(findings) != 0 {
			b.Fatal(findings)
		}
	}
}
