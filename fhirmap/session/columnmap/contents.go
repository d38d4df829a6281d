package columnmap

import (
	"regexp"
	"slices"
	"strconv"
	"strings"

	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
)

// contents is what the cells of a column look like.
type contents struct {
	texts   []string // filled cells, at most as many as are looked at
	numbers []float64
	pairs   [][2]float64
	splits  string // the text between the two numbers of a pair
	dates   int
	clocks  int
	// withWords are texts that are none of the above.
	words []string
	comma bool
	point bool
}

// mostCells is how many cells of a column are looked at.
const mostCells = 400

var (
	plainForm = regexp.MustCompile(`^[-+\x{2212}]?\d+(?:[.,]\d+)?$`)
	pairForm  = regexp.MustCompile(`^(\d{2,3})\s*([/\-|])\s*(\d{2,3})$`)
	dateForms = regexp.MustCompile(`^(?:\p{L}{2,}\.?,?\s*)?\d{1,4}[-/. ]\s?(?:\d{1,2}|\p{L}{3,}\.?)(?:[-/. ]\s?\d{2,4})?\.?$`)
	timeForms = regexp.MustCompile(`(?i)^\d{1,2}(?::\d{2}(?::\d{2})?|h\d{2}|\.\d{2})\s*(?:[ap]\.?m\.?|uhr|uur|h)?$`)
)

func lookAt(texts []string) contents {
	var c contents
	for _, text := range texts {
		if standsForNothing(text) {
			continue
		}
		c.texts = append(c.texts, text)
		switch {
		case plainForm.MatchString(text):
			c.number(text)
		case pairForm.MatchString(text):
			m := pairForm.FindStringSubmatch(text)
			high, _ := strconv.ParseFloat(m[1], 64)
			low, _ := strconv.ParseFloat(m[3], 64)
			c.pairs, c.splits = append(c.pairs, [2]float64{high, low}), m[2]
		case timeForms.MatchString(text):
			c.clocks++
		case dateForms.MatchString(text):
			c.dates++
		default:
			c.words = append(c.words, text)
		}
	}
	return c
}

func (c *contents) number(text string) {
	c.comma = c.comma || strings.Contains(text, ",")
	c.point = c.point || strings.Contains(text, ".")
	number, err := strconv.ParseFloat(strings.NewReplacer(",", ".", "\u2212", "-").Replace(text), 64)
	if err == nil {
		c.numbers = append(c.numbers, number)
	}
}

func (c contents) mostly(n int) bool { return len(c.texts) > 0 && n*5 >= len(c.texts)*4 }

// scale is a unit a field may be written in, with what turns its numbers into
// the unit of the field's limits.
type scale struct {
	written        string
	factor, offset float64
}

// scales are the units to try, by the unit of the limits.
var scales = map[string][]scale{
	"kg":     {{"kg", 1, 0}, {"lb", 0.45359237, 0}},
	"L":      {{"L", 1, 0}, {"mL", 0.001, 0}},
	"mm[Hg]": {{"mmHg", 1, 0}, {"kPa", 7.50062, 0}},
	"Cel":    {{"°C", 1, 0}, {"°F", 5.0 / 9, -160.0 / 9}},
	"mL/min": {{"mL/min", 1, 0}, {"L/h", 1000.0 / 60, 0}, {"L/min", 1000, 0}},
	"L/h":    {{"L/h", 1, 0}, {"mL/h", 0.001, 0}},
	"min":    {{"min", 1, 0}, {"h", 60, 0}},
	"mmol/L": {{"mmol/L", 1, 0}, {"mEq/L", 1, 0}},
}

// tinyShare of the highest usual amount is hardly written down.
const tinyShare = 0.02

// unitsThatFit are the units in which nearly all numbers of a column would be
// usual for a field.
func unitsThatFit(field session.Field, numbers []float64) (units []string, judged bool) {
	limit, known := profiles.Adult.LimitOf(string(field))
	if !known || len(numbers) == 0 {
		return nil, false
	}
	tried, ok := scales[limit.Unit]
	if !ok {
		tried = []scale{{limit.Unit, 1, 0}}
	}
	for _, s := range tried {
		fits := 0
		for _, n := range numbers {
			scaled := n*s.factor + s.offset
			// Amounts begin at nothing, so a thousandth of one would be usual too.
			tiny := limit.SoftLow == 0 && scaled != 0 && scaled < tinyShare*limit.SoftHigh
			if !limit.Unusual(scaled) && !tiny {
				fits++
			}
		}
		if fits*5 >= len(numbers)*4 {
			units = append(units, s.written)
		}
	}
	return units, true
}

var unitInHeading = regexp.MustCompile(`[(\[]\s*([^)\]]{1,12})\s*[)\]]`)

// writtenUnit is the unit that a heading names, in brackets or as its last
// word, as the field can be written in it.
func writtenUnit(sheet session.Sheet, field session.Field, heading string) (string, bool) {
	var candidates []string
	for _, m := range unitInHeading.FindAllStringSubmatch(heading, -1) {
		candidates = append(candidates, m[1])
	}
	if words := strings.Fields(heading); len(words) > 1 {
		candidates = append(candidates, words[len(words)-1])
		candidates = append(candidates, words[max(0, len(words)-2)]+" "+words[len(words)-1])
	}
	for _, text := range candidates {
		if _, _, err := session.ColumnIn(sheet, field, text); err == nil && strings.TrimSpace(text) != "" {
			return text, true
		}
	}
	return "", false
}

// withoutUnit is a heading without the text in brackets.
func withoutUnit(heading string) string { return unitInHeading.ReplaceAllString(heading, " ") }

// dateStyle finds out how the dates of a column are written: the form to
// declare, and whether that is certain.
func dateStyle(texts []string) (form string, certain bool, why string) {
	dayFirst, monthFirst, two, iso, total := 0, 0, 0, 0, 0
	separator := ""
	for _, text := range texts {
		m := numericDate.FindStringSubmatch(text)
		switch {
		case isoDate.MatchString(text):
			iso++
		case namedDate.MatchString(text):
			form = namedForm(text)
		case m != nil:
			a, _ := strconv.Atoi(m[1])
			b, _ := strconv.Atoi(m[3])
			separator = m[2]
			if a > 12 {
				dayFirst++
			}
			if b > 12 {
				monthFirst++
			}
			if len(m[5]) == 2 {
				two++
			}
		}
		total++
	}
	switch {
	case iso > 0 && iso*2 > total:
		return "", true, "dates are year first"
	case form != "":
		return form, true, "months are written as words"
	case dayFirst > 0 && monthFirst == 0:
		return numberForm("d", "m", separator, two > 0), true, "some days are beyond 12, so the day comes first"
	case monthFirst > 0 && dayFirst == 0:
		return numberForm("m", "d", separator, two > 0), true, "some days are beyond 12, so the month comes first"
	case separator == ".":
		return numberForm("d", "m", separator, two > 0), false, "day and month could be the other way round; with points the day mostly comes first"
	default:
		return numberForm("d", "m", separator, two > 0), false, "day and month could be the other way round, and nothing in the sheet says which"
	}
}

var (
	isoDate     = regexp.MustCompile(`^\d{4}-\d{2}-\d{2}`)
	numericDate = regexp.MustCompile(`^(\d{1,2})([-/.])(\d{1,2})([-/.])(\d{4}|\d{2})$`)
	namedDate   = regexp.MustCompile(`^(?:(\p{L}+[.,]*)\s+)?(\d{1,2})([. -]+)(\p{L}{3,}\.?)([. -]+)(\d{4}|\d{2})$`)
)

func numberForm(first, second, separator string, two bool) string {
	year := "yyyy"
	if two {
		year = "yy"
	}
	if separator == "" {
		separator = "/"
	}
	return strings.Repeat(first, 2) + separator + strings.Repeat(second, 2) + separator + year
}

func namedForm(text string) string {
	m := namedDate.FindStringSubmatch(text)
	form := "d" + m[3] + "mmm" + m[5] + strings.Repeat("y", len(m[6]))
	if m[1] != "" {
		form = "w " + form
	}
	return form
}

// clockStyle is the form of times to declare.
func clockStyle(texts []string) string {
	for _, text := range texts {
		plain := strings.ToLower(text)
		switch {
		case strings.Contains(plain, ":"):
			return ""
		case regexp.MustCompile(`^\d{1,2}h\d{2}`).MatchString(plain):
			return "18h30"
		case regexp.MustCompile(`^\d{1,2}\.\d{2}`).MatchString(plain):
			return "18.30"
		}
	}
	return ""
}

func median(numbers []float64) float64 {
	if len(numbers) == 0 {
		return 0
	}
	sorted := slices.Sorted(slices.Values(numbers))
	return sorted[len(sorted)/2]
}
