package workbook

import (
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// A workbook in German has its headings, hints, choices, questions and first
// sheet in German. What is chosen and written in it reads like the English.
func TestGermanWorkbook(t *testing.T) {
	locale, err := ParseLocale("de")
	if err != nil {
		t.Fatal(err)
	}
	data, err := Bytes(Options{LogID: "3f0f4d43-3f35-4d0e-8f5c-6a1f1d1b7a55", Locale: locale, Language: issue.German})
	if err != nil {
		t.Fatal(err)
	}
	data = edited(t, data, func(f *excelize.File) error {
		for cell, text := range map[string]string{"A3": "a", "B3": "2025-11-03", "C3": "18:30", "D3": "21:30", "F3": "gemacht", "I3": "72,6"} {
			if err := f.SetCellStr("Sessions", cell, text); err != nil {
				return err
			}
		}
		for at := 1; at < 12; at++ {
			name, _ := f.GetCellValue("Before you start", cellName(at, nameRow))
			text := map[string]string{"session": "a", "time": "17:50", "what": "Gesamtchlor", "result": "nicht ok"}[name]
			if err := f.SetCellStr("Before you start", cellName(at, firstRow), text); err != nil {
				return err
			}
		}
		for row := 3; row < 80; row++ {
			if key, _ := f.GetCellValue("About", cellName(1, row)); key == "patient.sex" {
				return f.SetCellStr("About", cellName(4, row), "weiblich")
			}
		}
		return nil
	})
	for _, hidden := range []bool{true, false} {
		if !hidden { // the row of exact names is gone
			data = edited(t, data, func(f *excelize.File) error { return f.RemoveRow("Sessions", nameRow) })
		}
		log, findings, err := Read(data, "november.xlsx", session.Options{})
		if err != nil || len(log.Sessions) != 1 {
			t.Fatalf("%v, %d sessions, %v", err, len(log.Sessions), findings)
		}
		s := log.Sessions[0]
		if s.Status != session.Done || s.Value("weight_before").Decimal.String() != "72.6" || log.About.Sex.Text != "female" {
			t.Errorf("status %q, weight %s, sex %q", s.Status, s.Value("weight_before").Decimal, log.About.Sex.Text)
		}
		for _, f := range findings {
			if strings.HasPrefix(f.Rule, "log-heading") || f.Rule == "log-choice" || f.Rule == "about-value" || f.Rule == "about-unknown" {
				t.Errorf("%s: %s %q", f.Rule, f.Details, f.Value)
			}
		}
		if hidden && (len(s.Checks) != 1 || s.Checks[0].Kind.Field != "check_chlorine" || s.Checks[0].Result.Text != "not ok") {
			t.Errorf("checks: %+v", s.Checks)
		}
	}
}

// Nothing of a German workbook but names of sheets and words that both
// languages share is English: every text of the English one is translated.
func TestWorkbookIsTranslatedWhole(t *testing.T) {
	texts := func(language issue.Language) map[string]string {
		data, err := Bytes(Options{LogID: "3f0f4d43-3f35-4d0e-8f5c-6a1f1d1b7a55", Language: language, Locale: locales[0]})
		if err != nil {
			t.Fatal(err)
		}
		f, err := excelize.OpenReader(strings.NewReader(string(data)))
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		all := map[string]string{}
		for _, sheet := range f.GetSheetList() {
			rows, err := f.GetRows(sheet)
			if err != nil {
				t.Fatal(err)
			}
			for i, row := range rows {
				for j, text := range row {
					if sheet == sheetAbout && (j == 0 || j >= 3 && i > 2) || i+1 == nameRow && sheet != sheetGuide && sheet != sheetAbout {
						continue // exact names, and answers
					}
					all[sheet+"!"+cellName(j+1, i+1)] = text
				}
			}
			comments, err := f.GetComments(sheet)
			if err != nil {
				t.Fatal(err)
			}
			for _, c := range comments {
				for _, run := range c.Paragraph {
					all[sheet+"! hint "+c.Cell] += run.Text
				}
			}
			validations, err := f.GetDataValidations(sheet)
			if err != nil {
				t.Fatal(err)
			}
			for _, v := range validations {
				if v.Error != nil {
					all[sheet+"! error "+v.Sqref] = *v.Error
				}
			}
		}
		return all
	}
	same := map[string]bool{"": true, "2025-11-03a": true, "18:30": true, "21:25": true, "Status": true, "Code": true, "Name": true, "Format": true, "ESA": true, "Dialysator": true, "Test": true, "TMP (mmHg)": true}
	german := texts(issue.German)
	for at, english := range texts(issue.English) {
		if german[at] == english && !same[strings.TrimSpace(english)] {
			t.Errorf("%s is %q in both", at, english)
		}
	}
}

// No two columns of a sheet have one heading, and no two choices of a column one
// word, in any language.
func TestHeadingsAndChoicesDifferInEachLanguage(t *testing.T) {
	for _, tag := range issue.Languages() {
		l := issue.Language(tag)
		seen := map[string]string{}
		for _, c := range session.Columns {
			heading := string(c.Sheet) + " " + session.PlainTitle(session.TitleIn(l, c))
			if seen[heading] != "" {
				t.Errorf("%s: %s and %s are both %q", tag, seen[heading], c.Name, heading)
			}
			seen[heading] = c.Name
			words := map[string]bool{}
			for _, choice := range c.Choices {
				word := strings.ToLower(l.Text(issue.T(choice)))
				if back, ok := session.Chosen(c.Choices, word); words[word] || ok && back != choice || !ok && word != strings.ToLower(choice) {
					t.Errorf("%s: %s of %s is %q, read as %q", tag, choice, c.Name, word, back)
				}
				words[word] = true
			}
		}
	}
	w := &writer{opts: Options{Language: issue.German}}
	for _, c := range session.Columns {
		if c.Field != "test" {
			continue
		}
		for _, name := range w.choicesOf(c) {
			if _, ok := session.TestField(name); !ok {
				t.Errorf("the test %q is offered and not read", name)
			}
		}
	}
}
