package check

import (
	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// name is a field in the words of the person who fills in the log.
func name(f session.Field) issue.Text {
	if row, ok := profiles.RowOf(f); ok && row.Name.English != "" {
		return issue.T(row.Name.English)
	}
	return issue.Literal(string(f))
}
