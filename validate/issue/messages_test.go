package issue_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"runsheet.example/validate/issue"
)

// The packages that say something about a log.
var speakers = []string{"../../fhirmap/session", "../../fhirmap/session/check", "../../fhirmap/session/workbook", "../../fhirmap/session/columnmap", "../../cmd/runsheet/internal/export"}

// Every rule that checking a log can raise has German texts, and no text of
// the catalogue is left over from a rule that is gone.
func TestEveryLogRuleIsTranslated(t *testing.T) {
	used := rulesUsed(t)
	if len(used) < 80 {
		t.Fatalf("only %d rules were found in the sources", len(used))
	}
	for _, id := range used {
		r, ok := issue.Lookup(id)
		if !ok {
			continue // a text that only looks like an id
		}
		german, ok := issue.German.Rule(r)
		if !ok {
			t.Errorf("%s has no German texts", id)
			continue
		}
		for _, pair := range [][2]string{{r.What, german.What}, {r.Why, german.Why}, {r.Mend, german.Mend}} {
			if pair[1] == "" || pair[1] == pair[0] || strings.HasSuffix(pair[1], ".") {
				t.Errorf("%s: %q is %q in German", id, pair[0], pair[1])
			}
		}
		if mend, ok := issue.German.Text(r.Mend); !ok || mend != german.Mend {
			t.Errorf("%s: the advice is %q, want %q", id, mend, german.Mend)
		}
	}
	for _, r := range issue.Rules() {
		if _, ok := issue.German.Rule(r); ok && !slices.Contains(used, r.ID) {
			t.Errorf("%s has German texts, but nothing about a log raises it", r.ID)
		}
	}
}

var ruleID = regexp.MustCompile(`^(log|about|map|clin|month)-[a-z-]+$`)

// rulesUsed are the ids of rules named in the sources.
func rulesUsed(t *testing.T) []string {
	t.Helper()
	var ids []string
	eachFile(t, func(_ *token.FileSet, file *ast.File) {
		ast.Inspect(file, func(n ast.Node) bool {
			if text, ok := literal(n); ok && ruleID.MatchString(text) && !slices.Contains(ids, text) {
				ids = append(ids, text)
			}
			return true
		})
	})
	slices.Sort(ids)
	return ids
}

func eachFile(t *testing.T, look func(*token.FileSet, *ast.File)) {
	t.Helper()
	for _, dir := range speakers {
		names, err := filepath.Glob(filepath.Join(dir, "*.go"))
		if err != nil || len(names) == 0 {
			t.Fatalf("%s: no sources: %v", dir, err)
		}
		for _, name := range names {
			if strings.HasSuffix(name, "_test.go") {
				continue
			}
			files := token.NewFileSet()
			file, err := parser.ParseFile(files, name, nil, 0)
			if err != nil {
				t.Fatal(err)
			}
			look(files, file)
		}
	}
}

func literal(n ast.Node) (string, bool) {
	l, ok := n.(*ast.BasicLit)
	if !ok || l.Kind != token.STRING {
		return "", false
	}
	text, err := strconv.Unquote(l.Value)
	return text, err == nil
}

// Where texts of findings stand in the sources: the arguments of these
// functions from the one given on, and these fields and variables.
var (
	saying  = map[string]int{"finding": 1, "at": 1, "atValue": 1, "say": 1, "complain": 2, "require": 2}
	holding = []string{"Details", "details", "Expected", "expected", "Mend", "mend", "what"}
)

// Every text that the sources put into a finding is in the catalogue. What is
// put together at run time counts as a gap.
func TestEveryTextIsTranslated(t *testing.T) {
	texts := 0
	eachFile(t, func(files *token.FileSet, file *ast.File) {
		check := func(e ast.Expr) {
			text, ok := template(e)
			if !ok || !strings.Contains(text, " ") {
				return
			}
			texts++
			text = strings.TrimSuffix(strings.TrimPrefix(text, "; "), "; {}")
			if fragment(text) {
				return
			}
			if _, ok := issue.German.Text(sample(text)); !ok {
				t.Errorf("%s: %q has no German text", files.Position(e.Pos()), text)
			}
		}
		ast.Inspect(file, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.CallExpr:
				if from, ok := saying[called(n)]; ok && len(n.Args) > from {
					for _, arg := range n.Args[from:] {
						check(arg)
					}
				}
			case *ast.AssignStmt:
				for i, to := range n.Lhs {
					if i < len(n.Rhs) && slices.Contains(holding, nameOf(to)) {
						check(n.Rhs[i])
					}
				}
			case *ast.KeyValueExpr:
				if slices.Contains(holding, nameOf(n.Key)) {
					check(n.Value)
				}
			case *ast.CompositeLit:
				if nameOf(n.Type) == "notReadable" {
					for _, part := range n.Elts {
						check(part)
					}
				}
			}
			return true
		})
	})
	if texts < 150 {
		t.Errorf("only %d texts were looked at", texts)
	}
}

// fragment reports what is only added to another text: TestTranslatedTexts has
// the whole ones. Samples of what to write are the same in every language.
func fragment(text string) bool {
	return slices.Contains([]string{"{}", ": {}", " to {}"}, text) || strings.HasPrefix(text, "[")
}

func called(call *ast.CallExpr) string { return nameOf(call.Fun) }

func nameOf(e ast.Expr) string {
	switch e := e.(type) {
	case *ast.Ident:
		return e.Name
	case *ast.SelectorExpr:
		return e.Sel.Name
	}
	return ""
}

var verb = regexp.MustCompile(`%[a-z]`)

// template is the text of an expression with gaps for what is known only at
// run time; ok is false when no part of it is a literal.
func template(e ast.Expr) (string, bool) {
	switch e := e.(type) {
	case *ast.BasicLit:
		return literal(e)
	case *ast.ParenExpr:
		return template(e.X)
	case *ast.BinaryExpr:
		left, ok1 := template(e.X)
		right, ok2 := template(e.Y)
		if !ok1 {
			left = "{}"
		}
		if !ok2 {
			right = "{}"
		}
		return left + right, ok1 || ok2
	case *ast.CallExpr:
		if called(e) != "Sprintf" || len(e.Args) == 0 {
			return "", false
		}
		format, ok := template(e.Args[0])
		if !ok {
			return "", false
		}
		n := 0
		return verb.ReplaceAllStringFunc(format, func(string) string {
			n++
			if n < len(e.Args) {
				// Singular or plural are in the catalogue as they are.
				if call, isCall := e.Args[n].(*ast.CallExpr); isCall && called(call) == "plural" && len(call.Args) == 3 {
					many, _ := template(call.Args[2])
					return many
				}
			}
			return "{}"
		}), true
	}
	return "", false
}

// sample is a text as it may come out, with something in its gaps.
func sample(text string) string { return strings.ReplaceAll(text, "{}", "7") }

// The words for what is measured, and the other words that are put into texts.
func TestWordsInGapsAreTranslated(t *testing.T) {
	words := 0
	eachFile(t, func(files *token.FileSet, file *ast.File) {
		ast.Inspect(file, func(n ast.Node) bool {
			spec, ok := n.(*ast.ValueSpec)
			if !ok || !slices.Contains([]string{"names", "slipWords", "foreignStarts"}, spec.Names[0].Name) || len(spec.Values) == 0 {
				return true
			}
			ast.Inspect(spec.Values[0], func(n ast.Node) bool {
				text, ok := "", false
				switch n := n.(type) {
				case *ast.KeyValueExpr:
					text, ok = literal(n.Value)
				case *ast.CompositeLit:
					if len(n.Elts) == 2 {
						text, ok = literal(n.Elts[1])
					}
				}
				if ok {
					words++
					if _, ok := issue.German.Text(text); !ok {
						t.Errorf("%s: %q has no German word", files.Position(n.Pos()), text)
					}
				}
				return true
			})
			return true
		})
	})
	if words < 60 {
		t.Errorf("only %d words were looked at", words)
	}
}

func TestTranslatedTexts(t *testing.T) {
	for english, want := range map[string]string{
		"the weight before is unusual: higher than most people's":                                          "ungewöhnlicher Wert: Gewicht vorher, höher als bei den meisten Menschen",
		"the weight before is far from the other weights in this log; it looks like pounds, not kilograms": "das liegt weit von den anderen Gewichten in diesem Protokoll: Gewicht vorher; es sieht nach Pfund (lb) aus, nicht nach Kilogramm",
		"the body temperature after cannot be right; it looks like °F, not °C":                             "dieser Wert kann nicht stimmen: Körpertemperatur nachher; es sieht nach °F aus, nicht nach °C",
		"the dialysate used does not fit dialysate flow and time":                                          "das passt nicht zusammen: verbrauchtes Dialysat mit Dialysatfluss und Zeit",
		"the session would end before it starts, or last more than 16 hours; start and end may be swapped": "die Sitzung würde enden, bevor sie beginnt, oder länger als 16 Stunden dauern; Beginn und Ende können vertauscht sein",
		"a time from 18:30 to 22:40": "eine Uhrzeit von 18:30 bis 22:40",
		"usually 35 to 180 kg":       "üblich sind 35 bis 180 kg",
		"perhaps 72.6 kg":            "vielleicht 72.6 kg",
		"2025-11-03 or 2025-03-11":   "2025-11-03 oder 2025-03-11",
		"write it as year-month-day, such as one of the two dates shown, or set Dates you type as text on the sheet About to dmy or mdy": "schreiben Sie es als Jahr-Monat-Tag, wie eines der beiden gezeigten Daten, oder setzen Sie Dates you type as text auf dem Blatt About auf dmy oder mdy",
	} {
		if got, ok := issue.German.Text(english); !ok || got != want {
			t.Errorf("%q is %q, want %q", english, got, want)
		}
	}
	if got, ok := issue.German.Text("no such text"); ok || got != "no such text" {
		t.Errorf("an unknown text became %q", got)
	}
	cell := issue.Cell{File: "a.csv", Row: 4}
	if got := issue.German.Cell(cell); got != "a.csv Zeile 4" || issue.English.Cell(cell) != cell.String() {
		t.Errorf("the place is %q", got)
	}
	if _, err := issue.ParseLanguage("fr"); err == nil {
		t.Error("there is no French yet")
	}
}

// A gap in a German text stands for the gap of the English one.
func FuzzTranslate(f *testing.F) {
	for _, text := range []string{"the weight before is unusual", "usually 1 to 2 kg", "a; b; c", "perhaps perhaps perhaps 1", "{} or {}"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		got, ok := issue.German.Text(text)
		if !ok && got != text {
			t.Errorf("an unknown text was changed: %q became %q", text, got)
		}
		if again, _ := issue.German.Text(text); again != got {
			t.Errorf("%q is %q and %q", text, got, again)
		}
	})
}
