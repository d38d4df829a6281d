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
var speakers = []string{"../../fhirmap/session", "../../fhirmap/session/check", "../../fhirmap/session/workbook", "../../fhirmap/session/columnmap", "../../cmd/runsheet/internal/export", "../../cmd/runsheet/internal/cli", "../../cmd/runsheet/internal/form", "../../cmd/runsheet/internal/questionnaire", "../../cmd/runsheet/internal/visit", "../../cmd/runsheet/internal/audit"}

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
		if mend := issue.German.Text(issue.T(r.Mend)); mend != german.Mend {
			t.Errorf("%s: the advice is %q, want %q", id, mend, german.Mend)
		}
	}
	for _, r := range issue.Rules() {
		if _, ok := issue.German.Rule(r); ok && !slices.Contains(used, r.ID) {
			t.Errorf("%s has German texts, but nothing about a log raises it", r.ID)
		}
	}
}

var ruleID = regexp.MustCompile(`^(log|about|map|clin|month|audit)-[a-z-]+$`)

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

// Where keys stand in the sources: these arguments of these functions, what
// these variables are set to, what these functions return, and the values of
// these tables and structs.
var (
	keyAt = map[string][]int{
		"T": {0}, "OneOrMany": {1, 2}, "finding": {1}, "at": {1}, "atValue": {1}, "say": {1, 2}, "complain": {2, 3},
		"require": {2}, "missing": {2}, "wantedTime": {3}, "inside": {3}, "below": {1}, "wholeYear": {0}, "after": {0},
	}
	keysIn   = []string{"details", "what", "slipWords", "words", "foreignStarts", "ureaUnits"}
	returned = []string{"sorted", "slipped"}
	keyed    = []string{"notReadable", "dateReading", "numberReading", "rendered"}
)

// keysUsed are the keys of texts in the sources by where they stand. It reports
// a key that is put together at run time: no catalogue can have it.
func keysUsed(t *testing.T) map[string]token.Position {
	t.Helper()
	keys, constants := map[string]token.Position{}, constantsOf(t)
	eachFile(t, func(files *token.FileSet, file *ast.File) {
		use := func(e ast.Expr) {
			text, ok := constant(e, constants)
			switch sum, isSum := e.(*ast.BinaryExpr); {
			case !ok && isSum && sum.Op == token.ADD:
				t.Errorf("%s: the key is put together at run time", files.Position(e.Pos()))
			case ok && strings.Contains(strings.ReplaceAll(text, "{}", ""), " ") && wordy.MatchString(text):
				keys[text] = files.Position(e.Pos())
			}
		}
		ast.Inspect(file, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.CallExpr:
				for _, at := range keyAt[nameOf(n.Fun)] {
					if at < len(n.Args) {
						use(n.Args[at])
					}
				}
			case *ast.AssignStmt:
				for i, to := range n.Lhs {
					if i < len(n.Rhs) && slices.Contains(keysIn, nameOf(to)) {
						use(n.Rhs[i])
					}
				}
			case *ast.FuncDecl:
				if slices.Contains(returned, n.Name.Name) {
					ast.Inspect(n, func(n ast.Node) bool {
						if back, ok := n.(*ast.ReturnStmt); ok && len(back.Results) == 1 {
							use(back.Results[0])
						}
						return true
					})
				}
			case *ast.ValueSpec:
				if len(n.Values) > 0 && slices.Contains(keysIn, n.Names[0].Name) {
					eachConstant(n.Values[0], use)
				}
			case *ast.CompositeLit:
				if slices.Contains(keyed, nameOf(n.Type)) {
					eachConstant(n, use)
				}
			}
			return true
		})
	})
	return keys
}

// wordy is a key that begins with a word or a gap; others are samples of what to
// write, or only join texts.
var wordy = regexp.MustCompile(`^({}[ ,]*)*[A-Za-zβ0-9]`)

// constantsOf are the constant strings of the sources by name.
func constantsOf(t *testing.T) map[string]string {
	t.Helper()
	all := map[string]string{}
	eachFile(t, func(_ *token.FileSet, file *ast.File) {
		ast.Inspect(file, func(n ast.Node) bool {
			if spec, ok := n.(*ast.ValueSpec); ok && len(spec.Values) == 1 {
				if text, ok := literal(spec.Values[0]); ok {
					all[spec.Names[0].Name] = text
				}
			}
			return true
		})
	})
	return all
}

// constant is the value of a string that is known before run time.
func constant(e ast.Expr, constants map[string]string) (string, bool) {
	switch e := e.(type) {
	case *ast.BasicLit:
		return literal(e)
	case *ast.BinaryExpr:
		left, ok1 := constant(e.X, constants)
		right, ok2 := constant(e.Y, constants)
		return left + right, ok1 && ok2
	}
	text, ok := constants[nameOf(e)]
	return text, ok
}

// eachConstant calls use with the values in a composite literal.
func eachConstant(e ast.Expr, use func(ast.Expr)) {
	list, ok := e.(*ast.CompositeLit)
	if !ok {
		use(e)
		return
	}
	for _, value := range list.Elts {
		if pair, ok := value.(*ast.KeyValueExpr); ok {
			if field, ok := pair.Key.(*ast.Ident); ok && !slices.Contains(keysIn, field.Name) {
				continue
			}
			value = pair.Value
		}
		if _, ok := value.(*ast.CallExpr); !ok {
			eachConstant(value, use)
		}
	}
}

func nameOf(e ast.Expr) string {
	switch e := e.(type) {
	case *ast.Ident:
		return e.Name
	case *ast.SelectorExpr:
		return e.Sel.Name
	}
	return ""
}

// Every key that the sources about a log use has a German text with as many
// gaps.
func TestEveryKeyIsTranslated(t *testing.T) {
	keys := keysUsed(t)
	for key, at := range keys {
		german, ok := issue.GermanTexts[key]
		if !ok {
			t.Errorf("%s: %q has no German text", at, key)
		}
		if strings.Count(german, "{}") != strings.Count(key, "{}") {
			t.Errorf("%q has other gaps than %q", german, key)
		}
	}
	if len(keys) < 250 {
		t.Errorf("only %d keys were looked at", len(keys))
	}
}

func TestTexts(t *testing.T) {
	pulse, weight := issue.T("pulse"), issue.T("weight before")
	for _, test := range []struct {
		text            issue.Text
		english, german string
	}{
		{issue.T("the {} is unusual: {}", weight, issue.T("higher than most people's")),
			"the weight before is unusual: higher than most people's", "ungewöhnlicher Wert: Gewicht vorher, höher als bei den meisten Menschen"},
		{issue.T("the {} cannot be right", weight).And(issue.T("they may be swapped")),
			"the weight before cannot be right; they may be swapped", "dieser Wert kann nicht stimmen: Gewicht vorher; sie können vertauscht sein"},
		{issue.Or([]string{"2025-11-03", "2025-03-11", "pulse"}), "2025-11-03 or 2025-03-11 or pulse", "2025-11-03 oder 2025-03-11 oder pulse"},
		{issue.T("perhaps {}", "pulse"), "perhaps pulse", "vielleicht pulse"},
		{issue.T("perhaps {}", pulse), "perhaps pulse", "vielleicht Puls"},
		{issue.T("perhaps {}", "{} or {}"), "perhaps {} or {}", "vielleicht {} or {}"},
		{issue.Literal("pulse"), "pulse", "pulse"},
		{issue.Literal(""), "", ""},
		{issue.T("no such text"), "no such text", "no such text"},
		{issue.Text{Key: "{} in log.toml", Args: []any{"log.toml"}, InWorkbook: true}, "log.toml on the sheet About", "log.toml auf dem Blatt About"},
		{issue.Text{Key: "perhaps {}", Args: []any{issue.T("decimal_mark")}, InWorkbook: true}, "perhaps Decimal mark", "vielleicht Decimal mark"},
	} {
		if english, german := test.text.String(), issue.German.Text(test.text); english != test.english || german != test.german {
			t.Errorf("%v is %q and %q, want %q and %q", test.text, english, german, test.english, test.german)
		}
	}
	cell := issue.Cell{File: "a.csv", Row: 4}
	if got := issue.German.Cell(cell); got != "a.csv Zeile 4" || issue.English.Cell(cell) != cell.String() {
		t.Errorf("the place is %q", got)
	}
	if _, err := issue.ParseLanguage("fr"); err == nil {
		t.Error("there is no French yet")
	}
}
