package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"runsheet.example/testdata/oracle/servertest"
	"runsheet.example/validate/manifest"
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

	receipt := out + manifest.ReceiptEnding
	send := func(code int, more ...string) (table, said string) {
		t.Helper()
		return command(t, code, append([]string{"send", out, "--to", s.Base}, more...)...)
	}
	send(exitDone, "--dry-run")
	table, said := send(exitFindings) // nothing was sent, and something is missing
	contains(t, table, "SESSION", "2025-10-20a", "TO CREATE")
	contains(t, said, "style transaction: the server does transactions and conditional creates", "Nothing was sent", "Add --yes to send")
	planned := between(t, said, "Would be: ", ".")
	if n := len(s.State(t).Resources); n != 1 {
		t.Fatalf("a dry run left %d resources", n-1)
	}

	_, said = send(exitDone, "--yes")
	contains(t, said, planned+" and ", "Receipt: "+receipt)
	sent := len(s.State(t).Resources)
	_, said = send(exitDone, "--yes")
	contains(t, said, "0 resources created, 0 there already, in 0 requests and 2 that asked")
	_, said = send(exitDone)
	contains(t, said, "There is nothing to send")
	_, said = send(exitDone, "--verify")
	contains(t, said, fmt.Sprintf("%d of %d resources in the receipt stand at the server", sent-1, sent-1))
	// The receipt does not stand in the way of the same export again.
	_, said = command(t, exitDone, "export", monthLog, "-o", out)
	contains(t, said, "Nothing has changed")

	amend := func(log string, more ...string) (table, said string) {
		t.Helper()
		return command(t, exitDone, append([]string{"amend", log, "--receipts", receipt, "--to", s.Base}, more...)...)
	}
	_, said = amend(monthLog, "--yes")
	contains(t, said, "Nothing has changed", "Nothing was sent")
	changed := changedMonth(t, "weight_before_kg")
	table, said = amend(changed, "--dry-run")
	contains(t, table, "CHANGE", "corrected", "weight_before", "amendment")
	contains(t, said, "Nothing was sent")
	planned = between(t, said, "To be sent: ", ".\n")
	if n := len(s.State(t).Resources); n != sent {
		t.Fatalf("looking at the difference left %d resources", n-sent)
	}
	// An export of the changed log is not what was sent, and says so.
	command(t, exitDone, "export", changed, "-o", out, "--force")
	_, said = send(exitFindings, "--yes")
	contains(t, said, "0 resources created", "Not as they were sent, and not sent again", "'runsheet amend'")
	_, said = send(exitFindings, "--verify")
	contains(t, said, "Not as they were sent")
	_, said = amend(changed, "--reason", "misread", "--yes")
	contains(t, said, "Sent: "+planned+";")
	_, said = amend(changed, "--yes")
	contains(t, said, "Nothing has changed")
	_, said = send(exitDone, "--verify")
	if strings.Contains(said, "Not ") {
		t.Errorf("after the amendment: %s", said)
	}
	// The export that was first sent is older now, which is no alarm.
	command(t, exitDone, "export", monthLog, "-o", out, "--force")
	_, said = send(exitDone, "--verify")
	contains(t, said, "Amended since, to other content than in this export")
	// The session and the weeks computed from it each say that they changed.
	if n := len(s.State(t).Resources); n != sent+2 {
		t.Errorf("%d resources, want the %d there were and two Provenances", n, sent)
	}
}

func between(t *testing.T, text, from, to string) string {
	t.Helper()
	_, rest, found := strings.Cut(text, from)
	middle, _, ended := strings.Cut(rest, to)
	if !found || !ended {
		t.Fatalf("nothing between %q and %q in\n%s", from, to, text)
	}
	return middle
}

// A server that has lost something, or everything, is said to have: the exit
// code tells too.
func TestSendVerify(t *testing.T) {
	s := servertest.Start(t)
	s.Reset(t, nil, monthPatient)
	out := filepath.Join(t.TempDir(), "out")
	command(t, exitDone, "export", monthLog, "-o", out)
	send := func(code int, flag string) (table, said string) {
		t.Helper()
		return command(t, code, "send", out, "--to", s.Base, flag)
	}
	_, said := send(exitFindings, "--verify")
	contains(t, said, "0 of 0 resources in the receipt", "Not sent yet: ")
	command(t, exitWrongUse, "send", out, "--to", s.Base, "--verify", "--yes")
	send(exitDone, "--yes")
	var lost string
	for _, raw := range s.State(t).Resources {
		var r struct{ ResourceType, ID string }
		if err := json.Unmarshal(raw, &r); err != nil {
			t.Fatal(err)
		}
		if r.ResourceType == "MedicationAdministration" {
			lost = r.ResourceType + "/" + r.ID
		}
	}
	s.Delete(t, lost)
	table, said := send(exitFindings, "--verify")
	contains(t, table, "missing", lost)
	contains(t, said, "in the receipt stand at the server as they were sent")
	if n := strings.Count(table, "\n"); n != 2 {
		t.Errorf("%d lines, want a heading and one resource:\n%s", n, table)
	}
	s.Reset(t, nil, monthPatient)
	_, said = send(exitCouldNotRun, "--yes")
	contains(t, said, "it was emptied or set up anew", "--repair sends it again")
	send(exitCouldNotRun, "--dry-run")
	_, said = command(t, exitCouldNotRun, "amend", monthLog, "--receipts", out+manifest.ReceiptEnding, "--to", s.Base, "--yes")
	contains(t, said, "it was emptied or set up anew")
	table, _ = send(exitFindings, "--verify")
	if strings.Count(table, "missing") < 500 {
		t.Errorf("an emptied server lacks %d resources", strings.Count(table, "missing"))
	}
}

// An amendment needs the map of codes of the export, since the receipt has only
// its digest. Another map, or none, is an error unless it is meant.
func TestAmendNeedsTheMapOfCodes(t *testing.T) {
	s := servertest.Start(t)
	s.Reset(t, nil, monthPatient)
	out := filepath.Join(t.TempDir(), "out")
	other := filepath.Join(t.TempDir(), "other.csv")
	if err := os.WriteFile(other, []byte("code,target\n29463-7,urn:oid:2.25.99|WEIGHT\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	const codes = "testdata/codes.csv"
	command(t, exitDone, "export", monthLog, "-o", out, "--codes", codes, "--display", "none", "--tag", "urn:oid:2.25.99|home")
	command(t, exitDone, "send", out, "--to", s.Base, "--yes")
	amend := func(code int, more ...string) string {
		t.Helper()
		_, said := command(t, code, append([]string{"amend", monthLog, "--receipts", out + manifest.ReceiptEnding, "--to", s.Base, "--yes"}, more...)...)
		return said
	}
	contains(t, amend(exitWrongUse), "the map of codes codes.csv (SHA-256 ", "give the same file with --codes")
	contains(t, amend(exitDone, "--codes", codes), "Nothing has changed")
	contains(t, amend(exitWrongUse, "--codes", other), "exported with --codes and a file of SHA-256 ", "--other-options")
	contains(t, amend(exitWrongUse, "--codes="), "without --codes")
	contains(t, amend(exitWrongUse, "--codes", codes, "--display", "en"), "exported with --display none")
	contains(t, amend(exitWrongUse, "--codes", codes, "--tag", "urn:oid:2.25.99|clinic"), "exported with --tag urn:oid:2.25.99|home")
	contains(t, amend(exitDone, "--codes", other, "--other-options", "--many"), " amended, 0 withdrawn")
	contains(t, amend(exitDone, "--codes", other), "Nothing has changed")
	contains(t, amend(exitDone, "--codes=", "--other-options", "--many"), " amended, 0 withdrawn")
	contains(t, amend(exitDone), "Nothing has changed")
}

// An amendment takes the options of the export from the receipt, or from the
// manifest beside it: the log unchanged is no change. What contradicts them is
// an error that names both, unless it is meant.
func TestAmendFollowsTheExport(t *testing.T) {
	s := servertest.Start(t)
	s.Reset(t, nil, monthPatient)
	out := filepath.Join(t.TempDir(), "out")
	receipt := out + manifest.ReceiptEnding
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
	sent, err := os.ReadFile(receipt)
	if err != nil {
		t.Fatal(err)
	}
	options := regexp.MustCompile(`"options":\{[^}]*\},`)
	if !options.Match(sent) {
		t.Fatalf("no options in the receipt: %.300s", sent)
	}
	forget := func() {
		t.Helper()
		if err := os.WriteFile(receipt, options.ReplaceAll(sent, nil), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	forget()
	contains(t, amend(exitDone), "Nothing has changed")
	forget()
	if err := os.RemoveAll(out); err != nil {
		t.Fatal(err)
	}
	contains(t, amend(exitCouldNotRun), "give the same ones here", "--many")
	contains(t, amend(exitDone, "--no-notes", "--series", "first-last", "--claim-profiles=https://unit.example/fhir"), "Nothing has changed")

	// What is meant becomes the record's options from then on.
	contains(t, amend(exitDone, "--no-notes", "--series", "first-last", "--claim-profiles=https://other.example/fhir", "--other-options", "--many"), "amended")
	contains(t, amend(exitDone), "Nothing has changed")
	contains(t, amend(exitDone, "--provenance", "none", "--other-options"), "Nothing has changed")
	contains(t, amend(exitWrongUse, "--provenance", "put"), "exported with --provenance none")
}

// changedMonth is the demo month with one more decimal, a 5, in the first value of
// a column.
func changedMonth(t *testing.T, heading string) string {
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
		if h == heading {
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

// another is the demo month with another identifier in it.
func another(t *testing.T) string {
	t.Helper()
	folder := filepath.Join(t.TempDir(), "month")
	if err := os.CopyFS(folder, os.DirFS(monthLog)); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(folder, "log.toml")
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, bytes.ReplaceAll(text, []byte("HHD-00042"), []byte("HHD-00043")), 0o600); err != nil {
		t.Fatal(err)
	}
	return folder
}

// The identifier in the log is corrected, and the export replaced: nothing of
// the one patient goes under the other, whatever is asked; then it is withdrawn
// there and filed anew, planned first.
func TestSendForAnotherPatient(t *testing.T) {
	s := servertest.Start(t)
	right := servertest.Patient("urn:oid:2.25.331383638406541845489215601853980652438", "HHD-00043")
	right["id"] = "right"
	s.Reset(t, nil, monthPatient, right)
	out := filepath.Join(t.TempDir(), "out")
	command(t, exitDone, "export", monthLog, "-o", out)
	send := func(code int, flags ...string) (table, said string) {
		t.Helper()
		return command(t, code, append([]string{"send", out, "--to", s.Base}, flags...)...)
	}
	send(exitWrongUse, "--refile")
	send(exitDone, "--yes")
	send(exitWrongUse, "--refile")
	sent := len(s.State(t).Resources)
	command(t, exitDone, "export", another(t), "-o", out, "--force")
	for _, flags := range [][]string{nil, {"--yes"}, {"--verify"}, {"--repair", "--yes"}, {"--yes", "--other-options"}, {"--yes", "--patient", "Patient/right", "--other-options"}} {
		_, said := send(exitCouldNotRun, flags...)
		contains(t, said, "a patient with another identifier", "send --refile")
	}
	_, said := command(t, exitCouldNotRun, "amend", another(t), "--receipts", out+manifest.ReceiptEnding, "--to", s.Base, "--yes", "--many")
	contains(t, said, "a patient with another identifier")
	table, said := send(exitDone, "--refile", "--dry-run")
	contains(t, table, "withdrawn", "TO CREATE")
	contains(t, said, "Filed under another patient, Patient/known", "Nothing was sent")
	if n := len(s.State(t).Resources); n != sent {
		t.Fatalf("%d resources, want the %d there were", n, sent)
	}
	send(exitDone, "--refile", "--yes")
	_, said = send(exitDone, "--yes")
	contains(t, said, "0 resources created")
	send(exitDone, "--verify")
	_, said = command(t, exitDone, "amend", another(t), "--receipts", out+manifest.ReceiptEnding, "--to", s.Base, "--yes")
	contains(t, said, "Nothing has changed")
}

// A server that rounds is found out, with each element and both values, and the
// derived values no longer follow from what stands there. What is missing is
// sent again, planned first.
func TestSendVerifiesContentAndRepairs(t *testing.T) {
	s := servertest.Start(t)
	s.Reset(t, servertest.Switches{"mangle": map[string]any{"round": 0}}, monthPatient)
	out := filepath.Join(t.TempDir(), "out")
	command(t, exitDone, "export", monthLog, "-o", out)
	send := func(code int, flags ...string) (table, said string) {
		t.Helper()
		return command(t, code, append([]string{"send", out, "--to", s.Base}, flags...)...)
	}
	send(exitDone, "--yes")
	table, said := send(exitFindings, "--verify")
	contains(t, table, "other content", "valueQuantity.value")
	contains(t, said, "Computed again from what stands at the server", "calc-value-differs")

	s.Reset(t, nil, monthPatient)
	command(t, exitDone, "export", monthLog, "-o", out, "--force")
	if err := os.Remove(out + manifest.ReceiptEnding); err != nil {
		t.Fatal(err)
	}
	send(exitDone, "--yes")
	var lost []string
	for i, raw := range s.State(t).Resources {
		var r struct{ ResourceType, ID string }
		if err := json.Unmarshal(raw, &r); err != nil {
			t.Fatal(err)
		}
		if i%3 == 1 && r.ResourceType != "Patient" {
			lost = append(lost, r.ResourceType+"/"+r.ID)
		}
	}
	s.Delete(t, lost...)
	_, said = send(exitFindings, "--yes")
	contains(t, said, "the server no longer has", "--repair")
	send(exitFindings)
	_, said = send(exitFindings, "--repair")
	contains(t, said, fmt.Sprintf("To be put right: %d resources", len(lost)))
	_, said = send(exitDone, "--repair", "--yes")
	contains(t, said, fmt.Sprintf("Put right: %d resources", len(lost)))
	send(exitDone, "--verify")
}
