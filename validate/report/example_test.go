package report_test

import (
	"fmt"
	"os"

	"runsheet.example/validate/issue"
	"runsheet.example/validate/report"
)

func ExamplePrint() {
	f := issue.At("log-date")
	f.Cells = []issue.Cell{{File: "sessions.csv", Row: 4, Column: 2, Heading: "date"}}
	f.Details, f.Value, f.Expected, f.Mend = issue.T("this is no date"), "31.11.2025", issue.T("a day such as 2025-11-30"), issue.T("write the day")
	if err := report.Print(os.Stdout, report.Text, []issue.Finding{f}, report.Options{}); err != nil {
		fmt.Println(err)
	}
	// Output:
	// sessions.csv
	//   error: B4 (date): this is no date
	//     written   31.11.2025
	//     expected  a day such as 2025-11-30
	//     to mend   write the day
	//     rule      log-date
}
