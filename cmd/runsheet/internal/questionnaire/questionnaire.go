// Package questionnaire writes an empty log as a FHIR R4 Questionnaire, for
// portals and apps that show such forms, and reads a QuestionnaireResponse to it
// as a log.
//
// A group stands for each table of log.toml ("patient", "prescription") and for a
// row of each sheet ("sessions"); a group that may stand more than once repeats.
// The linkId of a question is that of its group, a point, and the name of the
// column or key: "sessions.weight_before_kg". Both directions follow from the
// table of columns, so a new measurement is in both.
//
// An answer is read as it was typed: numbers keep their digits, and a text such
// as "not done" in place of a number means what it means in any other log. Nothing
// of a response is dropped: a linkId that is not known, a group in another place,
// a second answer to one question or a quantity in another unit is an error, and
// then no session of the response is exported.
package questionnaire

import (
	"encoding/json"
	"slices"
	"strings"

	"runsheet.example/cmd/runsheet/internal/steps"
	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// URL is the canonical URL of the Questionnaire.
const URL = profiles.DefaultCanonical + "/Questionnaire/runsheet-log"

// Options are the choices for an empty form.
type Options struct {
	LogID    string
	Language issue.Language
	Units    session.Units
	Short    bool // without the sheet for what is done before a treatment
}

type item struct {
	LinkID       string   `json:"linkId"`
	Text         string   `json:"text,omitempty"`
	Type         string   `json:"type"`
	Required     bool     `json:"required,omitempty"`
	Repeats      bool     `json:"repeats,omitempty"`
	ReadOnly     bool     `json:"readOnly,omitempty"`
	AnswerOption []option `json:"answerOption,omitempty"`
	Initial      []option `json:"initial,omitempty"`
	Item         []item   `json:"item,omitempty"`
}

type option struct {
	ValueString string `json:"valueString"`
}

// repeated are the tables of log.toml that may stand more than once.
var repeated = []string{"prescription", "access", "device"}

// Bytes writes an empty form.
func Bytes(opts Options) ([]byte, error) {
	say := func(text string) string { return opts.Language.Text(issue.T(text)) }
	groups := aboutGroups(say, opts.LogID)
	for _, sheet := range steps.Sheets() {
		if opts.Short && sheet == session.SheetChecks {
			continue
		}
		group := item{LinkID: string(sheet), Text: say(steps.SheetTitle(sheet)), Type: "group", Repeats: true}
		for _, c := range opts.Units.ColumnsOf(sheet) {
			group.Item = append(group.Item, question(c, say))
		}
		groups = append(groups, group)
	}
	text, err := json.MarshalIndent(struct {
		ResourceType string   `json:"resourceType"`
		Language     string   `json:"language"`
		URL          string   `json:"url"`
		Version      string   `json:"version"`
		Name         string   `json:"name"`
		Title        string   `json:"title"`
		Status       string   `json:"status"`
		SubjectType  []string `json:"subjectType"`
		Item         []item   `json:"item"`
	}{"Questionnaire", string(opts.Language), URL, "1", "RunsheetLog", say("Home dialysis run sheet"), "active", []string{"Patient"}, groups}, "", " ")
	return append(text, '\n'), err
}

func question(c session.Column, say func(string) string) item {
	out := item{LinkID: string(c.Sheet) + "." + c.Name, Text: say(steps.Title(c)), Type: typeOf(c.Kind), Required: c.Required}
	if unit := steps.Unit(c); unit != "" {
		out.Text += " (" + unit + ")"
	}
	if len(c.Choices) > 0 {
		out.Type = "choice"
		if c.Kind != session.KindChoice {
			out.Type = "open-choice" // an offer
		}
		for _, choice := range c.Choices {
			out.AnswerOption = append(out.AnswerOption, option{choice})
		}
	}
	return out
}

func typeOf(kind session.Kind) string {
	switch kind {
	case session.KindNumber:
		return "decimal"
	case session.KindDate:
		return "date"
	case session.KindTime:
		return "time"
	default:
		return "string"
	}
}

// aboutGroups are the tables of log.toml.
func aboutGroups(say func(string) string, logID string) (groups []item) {
	for _, r := range session.AboutRows {
		if r.Key == "" {
			groups = append(groups, item{LinkID: r.Part, Text: say(r.Label), Type: "group", Repeats: slices.Contains(repeated, r.Part)})
			continue
		}
		one := item{LinkID: r.Part + "." + r.Key, Text: say(r.Label), Type: typeOf(r.Kind)}
		for _, choice := range r.Choices {
			one.Type = "choice"
			one.AnswerOption = append(one.AnswerOption, option{choice})
		}
		switch one.LinkID {
		case "log.id":
			one.Initial, one.ReadOnly = []option{{logID}}, true
		case "log.format":
			one.Initial, one.ReadOnly = []option{{"1"}}, true
		}
		last := &groups[len(groups)-1]
		last.Item = append(last.Item, one)
	}
	return groups
}

// split returns the group of a linkId, and the column or key in it.
func split(linkID string) (group, name string) {
	group, name, _ = strings.Cut(linkID, ".")
	return group, name
}
