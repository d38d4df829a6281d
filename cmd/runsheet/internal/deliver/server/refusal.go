package server

import (
	"encoding/json"
	"fmt"
	"net/http"
	"regexp"
	"strings"
)

// Refusal is a reply with an error status. Its text explains the status in
// plain words and lists the codes of the server's OperationOutcome, not its
// texts, which may contain values of the record.
type Refusal struct {
	Status int
	// Issues are "code at expression" of the OperationOutcome.
	Issues []string
}

func (r *Refusal) Error() string {
	text := fmt.Sprintf("the server answered %d: %s", r.Status, explain(r.Status))
	if len(r.Issues) > 0 {
		text += " (it says: " + strings.Join(r.Issues, ", ") + ")"
	}
	return text
}

// Transient reports that the same request may succeed later.
func (r *Refusal) Transient() bool {
	return r.Status == http.StatusTooManyRequests || r.Status >= 500 && r.Status != http.StatusNotImplemented
}

func newRefusal(reply *Reply) *Refusal {
	return &Refusal{Status: reply.Status, Issues: issues(reply.Body)}
}

// RefusalOf returns the refusal in an entry of a batch's answer.
func RefusalOf(status int, outcome json.RawMessage) *Refusal {
	return &Refusal{Status: status, Issues: issues(outcome)}
}

// maxIssues limits the reported issues of an outcome.
const maxIssues = 5

func issues(body []byte) []string {
	var outcome struct {
		ResourceType string `json:"resourceType"`
		Issue        []struct {
			Severity   string   `json:"severity"`
			Code       string   `json:"code"`
			Expression []string `json:"expression"`
		} `json:"issue"`
	}
	if json.Unmarshal(body, &outcome) != nil || outcome.ResourceType != "OperationOutcome" {
		return nil
	}
	// Some servers list all warnings of a validation before the error that
	// decided: warnings are reported only without errors.
	var errs, warnings []string
	for _, i := range outcome.Issue {
		text := codeOnly(i.Code)
		if len(i.Expression) > 0 {
			text += " at " + pathOnly(beside.ReplaceAllString(i.Expression[0], ""))
		}
		switch i.Severity {
		case "information":
		case "warning":
			warnings = append(warnings, text)
		default:
			errs = append(errs, text)
		}
	}
	if len(errs) == 0 {
		errs = warnings
	}
	return errs[:min(len(errs), maxIssues)]
}

// beside is text that at least one server writes into a path about an existing
// resource.
var beside = regexp.MustCompile(`/\*[^*]*\*/`)

// codeOnly and pathOnly match codes and paths, so that no value of the record
// reaches a log in their place.
func codeOnly(s string) string { return keep(s, "-") }
func pathOnly(s string) string { return keep(s, ".[]-()") }

// keep returns the prefix of a text that consists of letters, digits and more.
func keep(s, more string) string {
	end := strings.IndexFunc(s, func(r rune) bool {
		return !(r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || strings.ContainsRune(more, r))
	})
	if end >= 0 {
		s = s[:end]
	}
	return s[:min(len(s), 80)]
}

// explanations map each status to its meaning for a sender, and what to do.
var explanations = map[int]string{
	http.StatusBadRequest:            "it does not understand the request or does not take it in this form; try another --style, or run 'runsheet validate' on the export",
	http.StatusUnauthorized:          "it does not accept the token; get a new one. Nothing more is tried, so that the account is not locked",
	http.StatusForbidden:             "it knows who asks and does not allow it; ask the server's administrator for the right to create and search. Nothing more is tried",
	http.StatusNotFound:              "it has nothing at this address; look at the base URL, and at the patient's reference",
	http.StatusMethodNotAllowed:      "it does not offer this kind of request; try another --style",
	http.StatusConflict:              "somebody else is changing the same record, or another record stands in its place; try again, and if it stays look at the record on the server",
	http.StatusGone:                  "the record was deleted on the server; ask the clinic before sending it again",
	http.StatusPreconditionFailed:    "a condition does not hold: more than one record (or no patient) matches the identifier, or the record was changed on the server since. Nothing was changed; somebody at the clinic must look at it",
	http.StatusRequestEntityTooLarge: "this is more than it takes at once; send with a smaller --max-entries",
	http.StatusUnsupportedMediaType:  "it does not take FHIR JSON at this address; look at the base URL",
	http.StatusUnprocessableEntity:   "it refuses the record by its own rules; its administrator can tell which",
	http.StatusTooManyRequests:       "it is asked too often just now",
	http.StatusInternalServerError:   "it failed inside",
	http.StatusNotImplemented:        "it does not offer this; try another --style",
	http.StatusBadGateway:            "something between here and the server failed",
	http.StatusServiceUnavailable:    "it is not available just now",
	http.StatusGatewayTimeout:        "something between here and the server waited too long for it",
}

func explain(status int) string {
	switch text, ok := explanations[status]; {
	case ok:
		return text
	case status >= 300 && status < 400:
		return "it sends the request elsewhere, which is not followed; give the address it stands at"
	default:
		return strings.ToLower(http.StatusText(status))
	}
}
