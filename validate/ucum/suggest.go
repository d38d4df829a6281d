package ucum

import "strings"

// maxGuessLength limits suggestions to codes of a length that a person writes.
const maxGuessLength = 100

// spellings maps units as people write them, in lower case, to their codes.
// The list is common practice, from units met in records of care.
var spellings = [...]struct{ written, code string }{
	{"mmhg", "mm[Hg]"}, {"mm hg", "mm[Hg]"}, {"cmh2o", "cm[H2O]"}, {"mmh2o", "mm[H2O]"}, {"bpm", "/min"},
	{"beats/min", "/min"}, {"breaths/min", "/min"}, {"rpm", "/min"}, {"°c", "Cel"}, {"degc", "Cel"},
	{"celsius", "Cel"}, {"deg c", "Cel"}, {"°f", "[degF]"}, {"degf", "[degF]"}, {"fahrenheit", "[degF]"},
	{"deg f", "[degF]"}, {"iu", "[iU]"}, {"ie", "[iU]"}, {"miu", "m[iU]"}, {"uiu", "u[iU]"}, {"kiu", "k[iU]"},
	{"mcg", "ug"}, {"gm", "g"}, {"gms", "g"}, {"gram", "g"}, {"grams", "g"}, {"kgs", "kg"}, {"kilo", "kg"},
	{"kilos", "kg"}, {"lb", "[lb_av]"}, {"lbs", "[lb_av]"}, {"pound", "[lb_av]"}, {"pounds", "[lb_av]"},
	{"oz", "[oz_av]"}, {"in", "[in_i]"}, {"inch", "[in_i]"}, {"inches", "[in_i]"}, {"ft", "[ft_i]"},
	{"mls", "mL"}, {"cc", "mL"}, {"litre", "L"}, {"litres", "L"}, {"liter", "L"}, {"liters", "L"}, {"sec", "s"},
	{"secs", "s"}, {"second", "s"}, {"seconds", "s"}, {"mins", "min"}, {"minute", "min"}, {"minutes", "min"},
	{"hr", "h"}, {"hrs", "h"}, {"hour", "h"}, {"hours", "h"}, {"day", "d"}, {"days", "d"}, {"week", "wk"},
	{"weeks", "wk"}, {"month", "mo"}, {"months", "mo"}, {"yr", "a"}, {"year", "a"}, {"years", "a"},
	{"percent", "%"}, {"ml/min/1.73 m2", "mL/min/{1.73_m2}"}, {"ml/min/1.73m2", "mL/min/{1.73_m2}"},
	{"ml/min/1.73 m²", "mL/min/{1.73_m2}"}, {"ml/min/1.73m²", "mL/min/{1.73_m2}"},
}

// typography maps characters outside UCUM's ASCII to their equivalents.
var typography = strings.NewReplacer(
	"µ", "u", "μ", "u", "·", ".", "⋅", ".", "×", ".", "²", "2", "³", "3", "⁻", "-", "¹", "1",
	"−", "-", " per ", "/", " ", "", "\u00a0", "",
)

// suggest guesses a valid code for an invalid one, or returns "".
func suggest(code string) string {
	if len(code) > maxGuessLength {
		return ""
	}
	trimmed := strings.TrimSpace(code)
	if meant := spelling(strings.ToLower(trimmed)); meant != "" {
		return meant
	}
	guess := respell(typography.Replace(trimmed))
	p := parser{code: guess, guessing: true}
	if guess == code || p.parse() != nil {
		return ""
	}
	if _, perhaps, ok := Suspicious(guess); ok {
		return perhaps
	}
	return guess
}

// spelling looks up a unit in lower case, "" if it is not in the list.
func spelling(lower string) string {
	for _, s := range spellings {
		if s.written == lower {
			return s.code
		}
	}
	return ""
}

// respell replaces every unknown symbol of a code by the one it resembles, and
// inserts a point between a number and a unit.
func respell(code string) string {
	var out strings.Builder
	p := parser{code: code, guessing: true}
	for p.at < len(code) {
		start := p.at
		if err := p.symbol(); err == nil && p.at > start {
			if start > 0 && isDigit(code[start-1]) {
				out.WriteByte('.')
			}
			out.WriteString(respellSymbol(code[start:p.at]))
			continue
		}
		if p.at = start; code[start] == '{' && p.annotation() == nil {
			out.WriteString(code[start:p.at])
			continue
		}
		out.WriteByte(code[start])
		p.at = start + 1
	}
	return out.String()
}

func respellSymbol(symbol string) string {
	if _, unit := resolve(symbol); unit != nil {
		return symbol
	}
	lower := strings.ToLower(symbol)
	if meant := spelling(lower); meant != "" && meant[0] != '/' {
		return meant
	}
	if _, unit := resolve(lower); unit != nil {
		return lower
	}
	for _, written := range []string{symbol, "[" + symbol + "]"} {
		if code := ignoringCase(written); code != "" {
			return code
		}
	}
	return symbol
}

// ignoringCase finds the only atom, or prefix and metric atom, that equals a
// symbol regardless of case.
func ignoringCase(symbol string) string {
	found := ""
	for i := range atoms {
		a := &atoms[i]
		candidate := ""
		switch n := len(symbol) - len(a.code); {
		case n == 0 && strings.EqualFold(symbol, a.code):
			candidate = a.code
		case n > 0 && a.metric && strings.EqualFold(symbol[n:], a.code) && find(prefixes[:], symbol[:n]) != nil:
			candidate = symbol[:n] + a.code
		default:
			continue
		}
		if found != "" {
			return ""
		}
		found = candidate
	}
	return found
}
