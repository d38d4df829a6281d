package workbook

import (
	"fmt"
	"strings"
	"time"
)

// The day numbers of a workbook (ECMA-376 part 1, 18.17.4). In the epoch of
// 1900 the numbers before 1 March 1900 count a 29 February that never was;
// no date of a log lies there, so such days are read as the numbers they are.
var (
	epoch1900      = time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)
	epoch1904      = time.Date(1904, 1, 1, 0, 0, 0, 0, time.UTC)
	firstSerialDay = time.Date(1900, 3, 1, 0, 0, 0, 0, time.UTC)
)

const secondsPerDay = 24 * 60 * 60

// renderClock writes a time of day, with seconds only when there are any.
func renderClock(seconds int) string {
	h, m, s := seconds/3600, seconds/60%60, seconds%60
	if s == 0 {
		return fmt.Sprintf("%02d:%02d", h, m)
	}
	return fmt.Sprintf("%02d:%02d:%02d", h, m, s)
}

// shape is what a number format makes of a number.
type shape struct {
	date, clock bool
	// elapsed means that hours go on beyond 24, as [h]:mm shows them.
	elapsed bool
	// decimals is how many decimals the format always shows.
	decimals int
	// rounds means that no more than most decimals are shown.
	rounds bool
	most   int
	// suffix are words that the format shows after the number, such as lb.
	suffix string
	// percent formats show a hundred times the number.
	percent bool
}

// builtIn are the shapes of the number formats that have no text in the file
// (ECMA-376 part 1, 18.8.30). Some are shown by the language of the program;
// whether they are dates is the same in all.
func builtIn(id int) shape {
	switch {
	case id == 2 || id == 4 || id == 39 || id == 40 || id == 43 || id == 44 || id == 7 || id == 8:
		return shape{decimals: 2, rounds: true, most: 2}
	case id == 1 || id == 3 || id == 37 || id == 38 || id == 41 || id == 42:
		return shape{rounds: true}
	case id == 9:
		return shape{percent: true}
	case id == 10:
		return shape{percent: true, decimals: 2}
	case id >= 14 && id <= 17, id >= 27 && id <= 31, id == 36, id >= 50 && id <= 54, id == 57, id == 58:
		return shape{date: true}
	case id >= 18 && id <= 21, id >= 32 && id <= 35, id == 45, id == 47, id == 55, id == 56:
		return shape{clock: true}
	case id == 22:
		return shape{date: true, clock: true}
	case id == 46:
		return shape{clock: true, elapsed: true}
	default:
		return shape{}
	}
}

// shapeOf reads the text of a number format: its first part, which is for
// positive numbers, without quoted words, escaped letters, and bracketed
// languages, colours and conditions.
func shapeOf(format string) shape {
	var s shape
	marks := bare(format, &s)
	lower := strings.ToLower(marks)
	if strings.Contains(lower, "general") || strings.Contains(lower, "@") {
		return shape{}
	}
	lower = strings.NewReplacer("am/pm", "h", "a/p", "h").Replace(lower)
	s.date = strings.ContainsAny(lower, "dy") || strings.Contains(lower, "m") && !strings.ContainsAny(lower, "hs") && !s.elapsed
	s.clock = s.elapsed || strings.ContainsAny(lower, "hs")
	if s.date || s.clock {
		return s
	}
	s.percent = strings.Contains(lower, "%")
	if strings.ContainsAny(lower, "e/") {
		return s // scientific notation and fractions have no fixed decimals
	}
	whole, fraction, _ := strings.Cut(lower, ".")
	s.decimals = len(fraction) - len(strings.TrimLeft(fraction, "0"))
	s.most = len(fraction) - len(strings.TrimLeft(fraction, "0#?"))
	s.rounds = strings.ContainsAny(whole+fraction, "0#?") && !strings.HasSuffix(strings.TrimRight(lower, " "), ",")
	return s
}

// literal takes a letter that the format shows as it is after the number.
func (s *shape) literal(afterNumber bool, letter rune) {
	if afterNumber {
		s.suffix += string(letter)
	}
}

// bare is the first part of a format with only the letters that mean
// something.
func bare(format string, s *shape) string {
	var out strings.Builder
	runes := []rune(format)
	for i := 0; i < len(runes); i++ {
		switch c := runes[i]; c {
		case ';':
			return out.String()
		case '"':
			for i++; i < len(runes) && runes[i] != '"'; i++ {
				s.literal(out.Len() > 0, runes[i])
			}
		case '\\':
			if i++; i < len(runes) {
				s.literal(out.Len() > 0, runes[i])
			}
		case '_', '*':
			i++
		case '[':
			end := i
			for end < len(runes) && runes[end] != ']' {
				end++
			}
			word := strings.ToLower(string(runes[i+1 : min(end, len(runes))]))
			if word != "" && strings.Trim(word, "h") == "" || word != "" && strings.Trim(word, "m") == "" || word != "" && strings.Trim(word, "s") == "" {
				s.elapsed = true
			}
			i = end
		default:
			out.WriteRune(c)
		}
	}
	return out.String()
}
