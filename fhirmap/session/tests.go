package session

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// LabTest is a laboratory test that has a field, and the names reports give it
// in English, German, French, Spanish, Dutch and Italian (common practice).
type LabTest struct {
	Field Field
	Names []string
}

// Tests are the laboratory tests that have a field. Any other test is carried
// under the name it has. Urea and BUN (urea nitrogen) are different quantities
// with different codes and are never mixed; names that some use for the one and
// some for the other ("azotemia") are in neither list. PTH without a further
// word is the intact hormone.
var Tests = []LabTest{
	{"urea", []string{"Urea", "Harnstoff", "Urée", "Ureum"}},
	{"bun", []string{"BUN", "Urea nitrogen", "Blood urea nitrogen", "Urea N", "Harnstoff-N", "Harnstoff-Stickstoff"}},
	{"creatinine", []string{"Creatinine", "Creat", "Crea", "Kreatinin", "Krea", "Kreatinine", "Créatinine", "Creatinina"}},
	{"potassium", []string{"Potassium", "K", "Kalium", "Potasio", "Potassio"}},
	{"haemoglobin", []string{"Haemoglobin", "Hemoglobin", "Hb", "Hgb", "Hämoglobin", "Hémoglobine", "Hemoglobina", "Emoglobina"}},
	{"phosphate", []string{"Phosphate", "Phosphorus", "Inorganic phosphate", "Inorganic phosphorus", "PO4", "Phosphat", "Phosphor", "Anorganisches Phosphat", "Phosphore",
		"Fosfato", "Fósforo", "Fosfaat", "Fosfor"}},
	{"bicarbonate", []string{"Bicarbonate", "HCO3", "Bicarb", "Bikarbonat", "Bicarbonato", "Bicarbonaat"}},
	{"sodium", []string{"Sodium", "Na", "Natrium", "Sodio"}},
	{"albumin", []string{"Albumin", "Alb", "Albumine", "Albumina"}},
	{"calcium", []string{"Calcium", "Ca", "Total calcium", "Kalzium", "Calcio"}},
	{"magnesium", []string{"Magnesium", "Mg", "Magnesio"}},
	{"ferritin", []string{"Ferritin", "Ferritine", "Ferritina"}},
	{"crp", []string{"CRP", "C-reactive protein", "C-reaktives Protein", "Protéine C réactive", "Proteína C reactiva", "Proteina C reattiva", "C-reactief proteïne"}},
	{"pth", []string{"PTH", "Intact PTH", "iPTH", "PTH intakt", "Intaktes PTH", "PTH intacte", "PTH intacta", "PTH intatto", "Parathyroid hormone",
		"Intact parathyroid hormone", "Parathormon", "Parathormon intakt", "Parathormone", "Paratormone", "Hormona paratiroidea", "Parathyroïd hormoon"}},
	{"beta2-microglobulin", []string{"Beta2-microglobulin", "B2-microglobulin", "ß2-microglobulin", "B2M", "β2M", "B2MG", "β2MG", "Beta2-Mikroglobulin", "B2-Mikroglobulin",
		"ß2-Mikroglobulin", "Beta2-microglobuline", "B2-microglobuline", "Beta2-microglobulina", "B2-microglobulina"}},
}

// otherTests are names of tests without a field that are spelt nearly like one
// that has one (common practice).
var otherTests = []string{
	"Transferrin", "Transferrine", "Transferrina", "Prealbumin", "Präalbumin", "Uric acid", "Creatine", "Kreatin", "Créatine", "Manganese", "Mangan", "Calcitonin", "Calcitriol",
	"Haptoglobin", "Haptoglobine", "Myoglobin", "Carnitine", "Carnitin",
}

// testName is a name of a test in the letters that are compared and as it is
// written.
type testName struct {
	plain, written string
	field          Field // empty for a test without one
}

var testNames = func() (all []testName) {
	for _, t := range Tests {
		for _, name := range append([]string{string(t.Field)}, t.Names...) {
			all = append(all, testName{plainTest(name), name, t.Field})
		}
	}
	for _, name := range otherTests {
		all = append(all, testName{plain: plainTest(name)})
	}
	return all
}()

// TestField is the field of a test by a name of [Tests], in any case and with
// or without accents, spaces and the word for serum or plasma.
func TestField(name string) (Field, bool) {
	plain := plainTest(name)
	for _, known := range testNames {
		if known.plain == plain {
			return known.field, known.field != ""
		}
	}
	return "", false
}

// nearTest is the name of a test that has a field of which another may be a
// misspelling, or "" where there is none or several are as near. Abbreviations
// of up to three letters are too many to tell one from another.
func nearTest(name string) string {
	plain := plainTest(name)
	if len(plain) < 4 {
		return ""
	}
	var best testName
	bestAt := len(plain)
	for _, known := range testNames {
		d := editDistance(plain, known.plain)
		switch {
		case d > max(1, len(known.plain)/3) || d > bestAt:
		case d < bestAt:
			best, bestAt = known, d
		case best.field != known.field:
			best = testName{}
		}
	}
	return best.written
}

// plainTest is a name's letters and digits in lower case without accents, and
// without the word for what was examined.
func plainTest(name string) string {
	var words []string
	for _, word := range strings.FieldsFunc(norm.NFKD.String(strings.ToLower(name)), func(r rune) bool {
		return !unicode.In(r, unicode.Letter, unicode.Digit, unicode.Mn)
	}) {
		plain := strings.Map(func(r rune) rune {
			if unicode.Is(unicode.Mn, r) {
				return -1
			}
			return r
		}, word)
		switch plain {
		case "serum", "plasma":
		default:
			words = append(words, plain)
		}
	}
	return strings.Replace(strings.Join(words, ""), "β", "beta", 1)
}
