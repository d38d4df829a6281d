package check

import (
	"testing"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// A proposal is in the person's own writing.
func TestProposalsInTheirWriting(t *testing.T) {
	at := time.Date(2025, 5, 20, 5, 36, 0, 0, time.UTC)
	for text, want := range map[string]string{"2025-05-20 06.36": "05.36", "6.36": "05.36", "06:36": "05:36", "20.05.2025 06:36": "05:36", "6.36.10": "05:36", "6h36": "05h36"} {
		if got := spelt(session.Moment{Text: text}, at); got != want {
			t.Errorf("like %q: %q, want %q", text, got, want)
		}
	}
	weight := quantity("84.2", "kg")
	for _, c := range []struct {
		text issue.Text
		want string
	}{
		{issue.T("about {}", weight), "about 84,2 kg"},
		{issue.T("perhaps {} and {}", "22.10", "5.36"), "perhaps 22.10 and 5.36"},
		{issue.T("about {}", weight).And(issue.T("perhaps {} and {}", "22.10", "5.36")), "about 84,2 kg; perhaps 22.10 and 5.36"},
	} {
		if got := withComma(c.text).String(); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
	if weight.Args[0] != "84.2" {
		t.Error("the text given was changed")
	}
}
