package open

import (
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"runsheet.example/cmd/runsheet/internal/steps"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

var (
	inPage = regexp.MustCompile(`\{?\(?\b(?:t|many \S+) ("(?:[^"\\]|\\.)*")(?: ("(?:[^"\\]|\\.)*"))?`)
	inCode = regexp.MustCompile(`(?:\bsay\(|issue\.T\(|fail\(w, r, [\w.]+, )("(?:[^"\\]|\\.)*")`)
	same1  = []string{"{}", "{}, {}", "{} – {}", "April", "August", "September", "November", "Status", "Test", "Code", "Name", "Format", "ESA", "TMP", "UF", "kg", "L"}
)

// keys are the texts that the pages are made of.
func keys(t *testing.T) []string {
	t.Helper()
	var all []string
	for pattern, find := range map[string]*regexp.Regexp{"pages/*.html": inPage, "*.go": inCode} {
		names, _ := filepath.Glob(pattern)
		for _, name := range names {
			text, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			if strings.HasSuffix(name, "_test.go") {
				continue
			}
			for _, m := range find.FindAllStringSubmatch(string(text), -1) {
				for _, quoted := range m[1:] {
					if key, err := strconv.Unquote(quoted); err == nil {
						all = append(all, key)
					}
				}
			}
		}
	}
	all = append(all, weekdayKeys[:]...)
	for _, step := range steps.All {
		all = append(all, step.Title)
	}
	for month := time.January; month <= time.December; month++ {
		all = append(all, month.String())
	}
	all = append(all, otherwise)
	for _, words := range rowWords {
		all = append(all, words.one, words.add)
	}
	for _, a := range absences {
		all = append(all, a.Label)
	}
	for _, c := range session.Columns {
		if c.Name != "session" && c.Sheet != session.SheetAnswers {
			all = append(all, labelOf(c), c.Hint)
		}
		if c.Kind == session.KindChoice {
			all = append(all, c.Choices...)
		}
	}
	for _, r := range session.AboutRows {
		all = append(all, r.Label, r.Help)
	}
	return all
}

// All that the browser loads is in the program, and small.
func TestAssetsAreSmall(t *testing.T) {
	size := 0
	names, _ := filepath.Glob("pages/*")
	for _, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		size += len(text)
		if lines := strings.Count(string(text), "\n"); strings.HasSuffix(name, ".js") && lines >= 300 || strings.Contains(string(text), "http://") || strings.Contains(string(text), "https://") {
			t.Errorf("%s has %d lines, or an address", name, lines)
		}
	}
	if size == 0 || size > 150<<10 {
		t.Errorf("the files have %d bytes", size)
	}
}

// Every text of the pages has a German one with as many gaps.
func TestPagesSpeakGerman(t *testing.T) {
	all := keys(t)
	for _, key := range all {
		german := issue.German.Text(issue.T(key))
		if german == key && key != "" && !isSame(key) {
			t.Errorf("%q has no German text", key)
		}
		if strings.Count(german, "{}") != strings.Count(key, "{}") {
			t.Errorf("%q has other gaps than %q", german, key)
		}
	}
	if len(all) < 250 {
		t.Errorf("only %d texts were looked at", len(all))
	}
}

func isSame(key string) bool {
	for _, s := range same1 {
		if key == s {
			return true
		}
	}
	return false
}
