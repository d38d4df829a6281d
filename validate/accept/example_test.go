package accept_test

import (
	"fmt"
	"time"

	"runsheet.example/validate/accept"
	"runsheet.example/validate/issue"
)

func ExampleList_Apply() {
	const text = `format = 1
[[accept]]
rule = "clin-record-unusual"
record = "Observation/w1"
reason = "confirmed by telephone"
until = 2026-03-31
by = "unit informatics"
`
	list, err := accept.Parse([]byte(text), "accepted.toml", time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC))
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, record := range []string{"Observation/w1", "Observation/w2"} {
		f := issue.At("clin-record-unusual")
		list.Apply(&f, record)
		fmt.Println(record, f.Accepted != nil)
	}
	// Output:
	// Observation/w1 true
	// Observation/w2 false
}
