package form_test

import (
	"bytes"
	"os/exec"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"runsheet.example/cmd/runsheet/internal/form"
	"runsheet.example/cmd/runsheet/internal/pdf"
	"runsheet.example/cmd/runsheet/internal/steps"
	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// word is a printed word and its place in points of 1/72 inch.
type word struct {
	page                   int
	left, top, right, base float64
	text                   string
}

var (
	pageStart = regexp.MustCompile(`<page `)
	wordAt    = regexp.MustCompile(`<word xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">([^<]*)</word>`)
)

// printed reads the words of a form with poppler.
func printed(t *testing.T, opts form.Options) (words []word, pages int) {
	t.Helper()
	file, err := form.Bytes(opts)
	if err != nil {
		t.Fatal(err)
	}
	if again, _ := form.Bytes(opts); !bytes.Equal(file, again) {
		t.Error("the same options give other bytes")
	}
	read := exec.Command("pdftotext", "-bbox", "-", "-")
	read.Stdin = bytes.NewReader(file)
	out, err := read.Output()
	if err != nil {
		t.Fatal("pdftotext:", err)
	}
	for i, page := range pageStart.Split(string(out), -1)[1:] {
		for _, m := range wordAt.FindAllStringSubmatch(page, -1) {
			at := func(i int) float64 { f, _ := strconv.ParseFloat(m[i], 64); return f }
			words = append(words, word{i + 1, at(1), at(2), at(3), at(4), m[5]})
		}
		pages++
	}
	return words, pages
}

func TestSessionTakesOnePage(t *testing.T) {
	for _, test := range []struct {
		name  string
		opts  form.Options
		pages int
	}{
		{"A4", form.Options{Paper: pdf.A4}, 2},
		{"Letter in pounds", form.Options{Paper: pdf.Letter, Units: session.USUnits}, 2},
		{"short", form.Options{Paper: pdf.A4, Short: true}, 2},
		{"large print: both sides of a sheet", form.Options{Paper: pdf.A4, LargePrint: true}, 3},
		{"German", form.Options{Paper: pdf.A4, Language: issue.German}, 2},
		{"German on Letter", form.Options{Paper: pdf.Letter, Language: issue.German}, 2},
		{"German large print", form.Options{Paper: pdf.A4, LargePrint: true, Language: issue.German}, 3},
		{"large print on Letter", form.Options{Paper: pdf.Letter, LargePrint: true}, 3},
	} {
		t.Run(test.name, func(t *testing.T) {
			if test.opts.Language == "" {
				test.opts.Language = issue.English
			}
			words, pages := printed(t, test.opts)
			if pages != test.pages {
				t.Errorf("%d pages, want %d", pages, test.pages)
			}
			for i, w := range words {
				if w.left < 9.5*72/25.4 || w.right > (test.opts.Paper.WidthMM-9.5)*72/25.4 || w.base > (test.opts.Paper.HeightMM-8)*72/25.4 {
					t.Errorf("%q is outside the margins", w.text)
				}
				for _, other := range words[i+1:] {
					if w.page == other.page && w.left < other.right-0.5 && other.left < w.right-0.5 && w.top < other.base-2 && other.top < w.base-2 {
						t.Errorf("%q is printed over %q on page %d", w.text, other.text, w.page)
					}
				}
			}
		})
	}
}

// Everything that most people write down has a place, under the words of the
// workbook.
func TestEveryCommonColumnHasAPlace(t *testing.T) {
	words, _ := printed(t, form.Options{Paper: pdf.A4, Language: issue.English})
	var texts []string
	for _, w := range words {
		texts = append(texts, w.text)
	}
	all := strings.Join(texts, " ")
	for _, c := range session.Columns {
		if c.Filled == profiles.BySome || c.Sheet == session.SheetLabs || c.Sheet == session.SheetChecks || c.Sheet == session.SheetAnswers || c.Name == "session" {
			continue
		}
		for _, part := range strings.Fields(steps.Title(c) + " " + steps.Unit(c)) {
			if !strings.Contains(all, part) {
				t.Errorf("%s of %s: %q is not printed", c.Name, c.Sheet, part)
			}
		}
	}
	for _, kind := range profiles.CheckKinds() {
		if !strings.Contains(all, kind.Name) {
			t.Errorf("no place for %s", kind.Name)
		}
	}
	if short, _ := printed(t, form.Options{Paper: pdf.A4, Short: true, Language: issue.English}); len(short) >= len(words) {
		t.Error("the short form has as many words")
	}
	us, _ := printed(t, form.Options{Paper: pdf.A4, Units: session.USUnits, Language: issue.English})
	for _, w := range us {
		if w.text == "(kg)" || w.text == "(°C)" && w.page == 1 {
			t.Errorf("%s in a form in pounds", w.text)
		}
	}
}

// A form in German has no English word.
func TestGermanForm(t *testing.T) {
	english, _ := printed(t, form.Options{Paper: pdf.A4, Language: issue.English})
	german, _ := printed(t, form.Options{Paper: pdf.A4, Language: issue.German})
	same := map[string]bool{}
	for _, w := range english {
		same[w.text] = true
	}
	for _, w := range german {
		if letters := strings.Trim(w.text, "():,.0123456789°/_"); same[w.text] && !slices.Contains([]string{"", "kg", "L", "L/h", "min", "per", "per min", "mL/min", "mmHg", "mS/cm", "C", "TMP", "Status", "ESA", "Dialysator", "ok", "in", "an", "UF", "Temp", "Name", "Alarm"}, letters) {
			t.Errorf("%q is on the German form", w.text)
		}
	}
}

// Every column that a person fills in at a treatment is in exactly one step.
func TestEveryColumnHasOneStep(t *testing.T) {
	for _, c := range session.Columns {
		n := 0
		for _, s := range steps.All {
			if s.Has(c) {
				n++
			}
		}
		if want := map[bool]int{true: 0, false: 1}[c.Name == "session" || c.Sheet == session.SheetAnswers]; n != want {
			t.Errorf("%s of %s is in %d steps", c.Name, c.Sheet, n)
		}
	}
}
