package issue_test

import (
	"fmt"

	"runsheet.example/validate/issue"
)

// A finding takes its severity and its advice from the row of its rule.
func ExampleAt() {
	f := issue.At("log-date")
	f.Cells = []issue.Cell{{File: "sessions.csv", Row: 4, Column: 2, Heading: "date"}}
	f.Value = "31.11.2025"
	fmt.Println(f.Severity, f.Rule, f.Cells[0], f.Value)
	fmt.Println(issue.German.Text(issue.T("perhaps {}", issue.T("pulse"))), issue.German.Text(issue.T("perhaps {}", "pulse")))
	// Output:
	// error log-date sessions.csv B4 (date) 31.11.2025
	// vielleicht Puls vielleicht pulse
}

func ExampleLookup() {
	rule, _ := issue.Lookup("inv-obs-6")
	fmt.Println(rule.What)
	fmt.Println(rule.Source)
	// Output:
	// an observation with a reason for its absence has no value
	// FHIR R4 4.0.1, constraints of Observation: obs-6
}
