package cli

import (
	"runsheet.example/fhirmap/session"
	"runsheet.example/fhirmap/session/check"
	"runsheet.example/validate/issue"
)

// readLog reads and checks a log: the model, and every finding of the reader
// and of the checks, sorted.
func readLog(path string) (*session.Log, []issue.Finding, error) {
	log, findings, err := session.ReadFolder(path, session.Options{})
	if err != nil {
		return nil, nil, err
	}
	findings = append(findings, check.Check(log)...)
	issue.Sort(findings)
	return log, findings, nil
}
