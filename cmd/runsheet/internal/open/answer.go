package open

import (
	"crypto/sha256"
	"encoding/hex"
	"strings"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// answerID names a finding on a page by what an answer to it is about.
func answerID(key session.AnswerKey) string {
	sum := sha256.Sum256([]byte(strings.Join([]string{key.Rule, key.Session, key.Sheet, key.Column, key.Value, key.Cell}, "\x00")))
	return hex.EncodeToString(sum[:8])
}

// answers writes into the log that the findings a page says so of are right:
// those whose button was pressed, or that a reason was typed for.
func (c *change) answers(found *checked) {
	if found == nil || found.log == nil {
		return
	}
	pressed, _ := strings.CutPrefix(c.form.Get("do"), "right:")
	back, _ := strings.CutPrefix(c.form.Get("do"), "back:")
	for _, f := range found.findings {
		key, ok := found.log.AnswerKey(f)
		if !ok {
			continue
		}
		id := answerID(key)
		reason := strings.TrimSpace(c.form.Get("why." + id))
		switch {
		case f.Accepted == nil && f.Severity == issue.Warning && (id == pressed || reason != ""):
			_, err := c.log.AddRow(session.SheetAnswers, key.Texts(c.now.Format(time.DateOnly), reason))
			c.failed("", err)
		case f.Accepted != nil && id == back:
			c.takeBack(found.log, key)
		}
	}
}

// takeBack removes the answer to a finding.
func (c *change) takeBack(log *session.Log, key session.AnswerKey) {
	for _, row := range c.log.Rows(session.SheetAnswers) {
		text := func(column string) string {
			return strings.TrimSpace(c.log.Cell(session.SheetAnswers, row, column))
		}
		cell, value := log.Matches(session.AnswerKey{Rule: text("rule"), Session: text("session"), Sheet: text("sheet"), Column: text("column"), Value: text("value")}, key)
		if cell && value {
			c.failed("", c.log.RemoveRow(session.SheetAnswers, row))
			return
		}
	}
}
