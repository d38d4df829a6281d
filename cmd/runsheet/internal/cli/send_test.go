package cli

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"runsheet.example/cmd/runsheet/internal/deliver/servertest"
)

const monthLog = "../../../../testdata/month"

var monthPatient = servertest.Patient("urn:oid:2.25.331383638406541845489215601853980652438", "HHD-00042")

// command runs one command line and gives what it printed.
func command(t *testing.T, want int, args ...string) (stdout, stderr string) {
	t.Helper()
	var out, errs bytes.Buffer
	got := run(t.Context(), args, streams{strings.NewReader(""), &out, &errs})
	if got != want {
		t.Fatalf("%s: exit code %d, want %d\n%s%s", strings.Join(args, " "), got, want, out.String(), errs.String())
	}
	return out.String(), errs.String()
}

func contains(t *testing.T, text string, wanted ...string) {
	t.Helper()
	for _, w := range wanted {
		if !strings.Contains(text, w) {
			t.Errorf("not said: %q in\n%s", w, text)
		}
	}
}

// A unit's way: look what would be sent, send it, send it again, correct a
// weight, correct nothing.
func TestSendAndAmend(t *testing.T) {
	s := servertest.Start(t)
	s.Reset(t, nil, monthPatient)
	folder := t.TempDir()
	out := filepath.Join(folder, "out")
	command(t, exitDone, "export", monthLog, "-o", out)

	table, said := command(t, exitDone, "send", out, "--to", s.Base)
	contains(t, table, "SESSION", "2025-10-20a", "REQUESTS")
	contains(t, said, "style transaction: the server does transactions and conditional creates", "Nothing was sent", "Add --yes to send")
	if n := len(s.State(t).Resources); n != 1 {
		t.Fatalf("a dry run left %d resources", n-1)
	}

	_, said = command(t, exitDone, "send", out, "--to", s.Base, "--yes")
	contains(t, said, "resources created, 0 there already", "Receipt: "+out+".receipt.json")
	sent := len(s.State(t).Resources)
	_, said = command(t, exitDone, "send", out, "--to", s.Base, "--yes")
	contains(t, said, "0 resources created")
	_, said = command(t, exitDone, "send", out, "--to", s.Base)
	contains(t, said, "There is nothing to send")
	// The receipt does not stand in the way of the same export again.
	_, said = command(t, exitDone, "export", monthLog, "-o", out)
	contains(t, said, "Nothing has changed")

	receipt := out + ".receipt.json"
	_, said = command(t, exitDone, "amend", monthLog, "--receipts", receipt, "--to", s.Base, "--yes")
	contains(t, said, "Nothing has changed", "Nothing was sent")
	changed := changedMonth(t)
	table, said = command(t, exitDone, "amend", changed, "--receipts", receipt, "--to", s.Base, "--dry-run")
	contains(t, table, "CHANGE", "corrected", "weight_before")
	contains(t, said, "Nothing was sent")
	if n := len(s.State(t).Resources); n != sent {
		t.Fatalf("looking at the difference left %d resources", n-sent)
	}
	_, said = command(t, exitDone, "amend", changed, "--receipts", receipt, "--to", s.Base, "--reason", "misread", "--yes")
	contains(t, said, "0 withdrawn")
	_, said = command(t, exitDone, "amend", changed, "--receipts", receipt, "--to", s.Base, "--yes")
	contains(t, said, "Nothing has changed")
	if n := len(s.State(t).Resources); n <= sent {
		t.Error("no Provenance was sent")
	}

}

// An amendment takes the options of the export from the receipt, or from the
// manifest beside it: the log unchanged is no change. What contradicts them is
// an error that names both, unless it is meant.
func TestAmendFollowsTheExport(t *testing.T) {
	s := servertest.Start(t)
	s.Reset(t, nil, monthPatient)
	out := filepath.Join(t.TempDir(), "out")
	receipt := out + receiptEnding
	command(t, exitDone, "export", monthLog, "-o", out, "--no-notes", "--series", "first-last", "--claim-profiles=https://unit.example/fhir", "--patient", "Patient/known")
	command(t, exitDone, "send", out, "--to", s.Base, "--yes")
	amend := func(code int, more ...string) string {
		t.Helper()
		_, said := command(t, code, append([]string{"amend", monthLog, "--receipts", receipt, "--to", s.Base, "--yes"}, more...)...)
		return said
	}
	contains(t, amend(exitDone), "Nothing has changed")
	contains(t, amend(exitDone, "--no-notes", "--series", "first-last"), "Nothing has changed")
	contains(t, amend(exitWrongUse, "--series", "all"), "exported with --series first-last", "now --series asks for it with --series all")
	contains(t, amend(exitWrongUse, "--no-notes=false"), "exported with --no-notes", "without --no-notes")
	contains(t, amend(exitWrongUse, "--serials"), "exported without --serials", "with --serials")
	contains(t, amend(exitWrongUse, "--claim-profiles"), "exported with --claim-profiles=https://unit.example/fhir")
	contains(t, amend(exitWrongUse, "--patient", "Patient/other"), "is of Patient/known, and now Patient/other is asked for")
	contains(t, amend(exitCouldNotRun, "--claim-profiles=https://other.example/fhir", "--other-options"), "--many")

	// Another export of the log does not join what was sent.
	other := filepath.Join(t.TempDir(), "out")
	command(t, exitDone, "export", monthLog, "-o", other, "--patient", "Patient/known")
	_, said := command(t, exitWrongUse, "send", other, "--receipt", receipt, "--to", s.Base, "--yes")
	contains(t, said, "exported with --no-notes", other+" without --no-notes")

	// A receipt of the first programs has no options; the manifest has them.
	text, err := os.ReadFile(receipt)
	if err != nil {
		t.Fatal(err)
	}
	options := regexp.MustCompile(`"options":\{[^}]*\},`)
	if !options.Match(text) {
		t.Fatalf("no options in the receipt: %.300s", text)
	}
	if err := os.WriteFile(receipt, options.ReplaceAll(text, nil), 0o600); err != nil {
		t.Fatal(err)
	}
	contains(t, amend(exitDone), "Nothing has changed")
	if err := os.RemoveAll(out); err != nil {
		t.Fatal(err)
	}
	contains(t, amend(exitCouldNotRun), "give the same ones here", "--many")
	contains(t, amend(exitDone, "--no-notes", "--series", "first-last", "--claim-profiles=https://unit.example/fhir"), "Nothing has changed")

	// What is meant becomes the record's options from then on.
	contains(t, amend(exitDone, "--no-notes", "--series", "first-last", "--claim-profiles=https://other.example/fhir", "--other-options", "--many"), "corrected")
	contains(t, amend(exitDone), "Nothing has changed")
}

// changedMonth is the demo month with the first weight a hundred grams more.
func changedMonth(t *testing.T) string {
	t.Helper()
	folder := filepath.Join(t.TempDir(), "month")
	if err := os.CopyFS(folder, os.DirFS(monthLog)); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(folder, "sessions.csv")
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.SplitN(string(text), "\n", 3)
	heads, cells := strings.Split(lines[0], ","), strings.Split(lines[1], ",")
	for i, h := range heads {
		if h == "weight_before_kg" {
			cells[i] += "5"
		}
	}
	lines[1] = strings.Join(cells, ",")
	if err := os.WriteFile(path, []byte(strings.Join(lines, "\n")), 0o600); err != nil {
		t.Fatal(err)
	}
	return folder
}

// The token comes from the environment; a refusal is exit 1 and holds no
// secret; what is interrupted is exit 130 and goes on later.
func TestSendWithATokenAndInterrupted(t *testing.T) {
	s := servertest.Start(t)
	s.Reset(t, servertest.Switches{"tokens": map[string]any{"fixed": []string{"right"}}}, monthPatient)
	out := filepath.Join(t.TempDir(), "out")
	command(t, exitDone, "export", monthLog, "-o", out)
	t.Setenv(tokenVariable, "wrong")
	_, said := command(t, exitCouldNotRun, "send", out, "--to", s.Base, "--yes")
	contains(t, said, "not everything was sent", "does not accept the token")
	if strings.Contains(said, "wrong") {
		t.Errorf("the token was said: %s", said)
	}
	t.Setenv(tokenVariable, "right")
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	var errs bytes.Buffer
	if code := run(ctx, []string{"send", out, "--to", s.Base, "--yes"}, streams{strings.NewReader(""), &errs, &errs}); code != exitInterrupted {
		t.Errorf("interrupted: exit code %d\n%s", code, errs.String())
	}
	_, said = command(t, exitDone, "send", out, "--to", s.Base, "--yes", "--style", "batch")
	contains(t, said, "0 there already")
}
