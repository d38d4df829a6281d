package report

import (
	"io"

	"runsheet.example/validate/issue"
)

func printJSON(io.Writer, []issue.Finding, Options) error    { return nil }
func printCSV(io.Writer, []issue.Finding) error              { return nil }
func printOutcome(io.Writer, []issue.Finding, Options) error { return nil }
func printText(io.Writer, []issue.Finding, Options) error    { return nil }
