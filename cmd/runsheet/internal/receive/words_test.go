package receive

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"runsheet.example/validate/issue"
)

// inSource are the keys in the sources and in the page.
var inSource = regexp.MustCompile(`(?:\brefuse\(|\.say\(|\bT\(|\.T )("(?:[^"\\]|\\.)*")`)

// Everything that the unit reads has a German text with as many gaps.
func TestStatusSpeaksGerman(t *testing.T) {
	names, _ := filepath.Glob("*.go")
	count := 0
	for _, name := range append(names, "status.html") {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		for _, m := range inSource.FindAllStringSubmatch(string(text), -1) {
			key, err := strconv.Unquote(m[1])
			if err != nil || strings.ReplaceAll(strings.ReplaceAll(key, "{}", ""), ": ", "") == "" {
				continue // only joins texts
			}
			count++
			german := issue.German.Text(issue.T(key))
			if german == key && key != "Patient" && key != "Server" || strings.Count(german, "{}") != strings.Count(key, "{}") {
				t.Errorf("%s: %q is %q", name, key, german)
			}
		}
	}
	for _, key := range []string{"{} new", "{} changed", "{} gone", "to be sent: {} change", "to be sent: {} changes", "the zip file is damaged or not complete", "the encrypted file is damaged or not complete"} {
		if issue.German.Text(issue.T(key)) == key {
			t.Errorf("%q has no German text", key)
		}
	}
	if count < 60 {
		t.Errorf("only %d texts were looked at", count)
	}
}

// The status is in the language of the unit, also what an earlier run decided;
// the reply is in that of the log.
func TestLanguages(t *testing.T) {
	u := newUnit(t, rosterOf("HHD-00001", "HHD-00002"))
	log := files(t, "HHD-00001", 3, "one")
	log["log.toml"] = strings.Replace(log["log.toml"], "[log]\n", "[log]\nlanguage = \"de\"\n", 1)
	log["sessions.csv"] = strings.Replace(log["sessions.csv"], ",71.6,", ",716,", 1)
	u.log("one", log)
	u.write("", "note.txt", "not a log")
	if text, err := u.run().Text(); err != nil || !strings.Contains(string(text), "set aside: note.txt: neither a log") {
		t.Fatalf("%s %v", text, err)
	}
	u.opts.Language = issue.German
	status := u.run()
	text, err := status.Text()
	must(t, err)
	for _, want := range []string{"zurückgelegt: note.txt: weder ein Protokoll", "AUSGELASSEN", "nichts eingegangen", "Eingegangen von 1 Patient; nichts von 1; zurückgelegt: 1 Datei oder Ordner."} {
		if !strings.Contains(string(text), want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
	page, err := status.html()
	must(t, err)
	if !strings.Contains(string(page), `<html lang="de">`) || !strings.Contains(string(page), "Wir haben Ihr Behandlungsprotokoll nicht bekommen.") {
		t.Errorf("%s", page)
	}
	replies, _ := filepath.Glob(filepath.Join(u.opts.Work, "people/*/*/reply.xlsx"))
	if len(replies) != 1 {
		t.Fatalf("replies: %v", replies)
	}
	file, err := excelize.OpenFile(replies[0])
	must(t, err)
	defer file.Close()
	rows, err := file.GetRows(file.GetSheetList()[0])
	must(t, err)
	if found := fmt.Sprint(rows); !strings.Contains(found, "Was zu tun ist") || !strings.Contains(found, "Zu verbessern") || strings.Contains(found, "To mend") {
		t.Errorf("the reply: %s", found)
	}
}
