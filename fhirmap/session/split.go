package session

import (
	"slices"
	"strings"

	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// splitCell finds the cell that a separator without quotation marks splits in
// two, in a row with one cell too many: the one that, put together again, lets
// all cells behind it fit their columns best. It reports the separator once,
// puts the cells back under their headings, and leaves the cell itself unread.
// It reports false when no one cell stands out.
func (s *sheetReader) splitCell() bool {
	if s.delimiter == 0 || len(s.cells) != len(s.headings)+1 {
		return false
	}
	best, least, twice := -1, 0.0, false
	for i := range s.headings {
		if strings.TrimSpace(s.cells[i+1]) == "" {
			continue
		}
		misfits := 0.0
		joined := s.joinedAt(i)
		for _, c := range s.columns {
			if c.position != i {
				misfits += s.misfit(c, strings.TrimSpace(joined[c.position]))
			} else if c.Kind != KindText {
				misfits += 2 * s.misfit(c, strings.Replace(strings.TrimSpace(joined[i]), ",", string(markOr(s.mark)), 1))
			}
		}
		if best < 0 || misfits < least {
			best, least, twice = i, misfits, false
		} else if misfits == least {
			twice = true
		}
	}
	if twice || least >= s.misfits() {
		return false
	}
	s.cells, s.split = s.joinedAt(best), best
	f := s.spot(best).finding("log-row-too-long", "a comma in this cell splits it in two, so the cells after it are shifted")
	if s.delimiter != ',' {
		f.Details = issue.T("a separator in this cell splits it in two, so the cells after it are shifted")
		f.Mend = issue.T("put the cell between quotation marks")
	}
	f.Value = s.text(best)
	if d, err := ParseDecimal(f.Value, ','); err == nil {
		f.Expected = issue.Literal(d.String())
	}
	s.add(f)
	return true
}

// lastWords is the place of the last cell of the current row of a CSV file, where
// that is one for words.
func (s *sheetReader) lastWords() spot {
	for _, c := range s.columns {
		if c.position == len(s.cells)-1 && c.Kind == KindText && !c.Required && s.delimiter != 0 && s.text(c.position) != "" {
			return s.spot(c.position)
		}
	}
	return spot{}
}

// restOf reports a row that is the rest of the row before, which ended early
// with words: a line break without quotation marks around it split the two.
func (s *sheetReader) restOf(ended spot) bool {
	end := ended.cell.Column
	if end == 0 || s.row.fault != nil || s.text(0) == "" || len(s.cells) > 1 && end+len(s.cells)-1 != len(s.headings) {
		return false
	}
	return !slices.ContainsFunc(s.columns, func(c boundColumn) bool {
		text := s.text(c.position)
		return c.Required && c.position > 0 && text != "" && s.misfit(c, text) == 0
	})
}

func (s *sheetReader) brokenNote(ended spot) issue.Finding {
	f := ended.finding("log-quote", "a line break in this cell splits the row in two")
	f.Value, f.Mend = s.text(0), issue.T("put the whole cell in quotation marks, or take the line break out")
	f.Cells = append(f.Cells, s.spot(0).cell)
	return f
}

// joinedAt are the cells of the row with two of them put together.
func (s *sheetReader) joinedAt(i int) []string {
	joined := slices.Concat(s.cells[:i+1], s.cells[i+2:])
	joined[i] += string(s.delimiter) + s.cells[i+1]
	return joined
}

// misfits is how badly the cells fit their columns as they stand.
func (s *sheetReader) misfits() float64 {
	sum := 0.0
	if len(s.cells) > len(s.headings) && s.text(len(s.headings)) != "" {
		sum = 1 // for the cell too many
	}
	_, misfits := s.misfitting()
	return sum + misfits
}

// shifted finds the cell from which on all cells of the row stand one column
// too far left or right: several are impossible where they stand, and none is
// one column further. It reports the first of them, or the empty cell before
// it, once, and puts the cells back. The session is not sent.
func (s *sheetReader) shifted() {
	const several = 3
	n := len(s.headings)
	if s.mapped != nil || len(s.cells) < n {
		return
	}
	before := slices.Clone(s.filled)
	if s.otherCells(before) == 0 {
		return
	}
	as, beyond := s.cells, ""
	if len(as) > n {
		beyond = as[n]
	}
	hard, soft := s.misfitting()
	best, least := -1, soft/2
	var back []string
	for i := 0; i < n && hard >= several; i++ {
		empty := func(at int) bool { return strings.TrimSpace(as[at]) == "" }
		switch {
		case empty(i) && i+1 < n && !empty(i+1):
			s.cells = append(slices.Delete(slices.Clone(as[:n]), i, i+1), beyond)
		case !empty(i) && empty(n-1) && beyond == "":
			s.cells = slices.Insert(slices.Clone(as[:n-1]), i, "")
		default:
			continue
		}
		now, rest := s.misfitting()
		rest += float64(s.otherCells(before)) / float64(n) // of equals, the one most like the row before
		if now == 0 && rest < least {
			best, least, back = i, rest, s.cells
		}
	}
	s.cells = as
	s.otherCells(before)
	if best < 0 {
		return
	}
	f := s.spot(best).finding("log-row-shifted", "from here on the cells of this row stand one column too far to the right")
	if f.Value = s.text(best); f.Value != "" {
		f.Details = issue.T("from here on the cells of this row stand one column too far to the left")
	}
	s.cells = back
	s.add(f)
}

// otherCells counts the cells that are filled here and not in the row before,
// or the other way round; all of the first row are.
func (s *sheetReader) otherCells(before []bool) (n int) {
	s.filled = s.filled[:0]
	for i, cell := range s.cells[:len(s.headings)] {
		full := strings.TrimSpace(cell) != ""
		if i >= len(before) || full != before[i] {
			n++
		}
		s.filled = append(s.filled, full)
	}
	return n
}

// misfitting counts the cells that are impossible under their headings, and
// adds up how badly all of them fit.
func (s *sheetReader) misfitting() (impossible int, sum float64) {
	for _, c := range s.columns {
		misfit := s.misfit(c, s.text(c.position))
		if sum += misfit; misfit >= 1 {
			impossible++
		}
	}
	return impossible, sum
}

// misfit is 1 for a text that is none of its column and for a needed word that
// is not there, more or less for a number that is impossible or unusual.
func (s *sheetReader) misfit(c boundColumn, text string) float64 {
	if _, absent := absenceOf(text); absent {
		if c.Required && c.Kind == KindChoice {
			return 1
		}
		return 0
	}
	fits := true
	switch c.Kind {
	case KindText:
		if c.Field == "time_zone" {
			_, err := loadZone(text)
			fits = err == nil
		}
	case KindNumber:
		d, err := ParseDecimal(text, markOr(s.mark))
		if fits = err == nil; fits {
			limit, known := profiles.LimitOf(string(c.Field))
			known = known && c.written.code == ""
			switch number := d.Float64() * perLitreHour(c.Unit) / perLitreHour(limit.Unit); {
			case known && limit.Impossible(number):
				return 1.5
			case known && limit.Unusual(number):
				return 0.5
			}
		}
	case KindTime:
		fits = s.readClock(text, "").ok
	case KindDate:
		fits = readDate(text, "").rule != "log-date"
	case KindChoice:
		fits = len(c.Choices) == 0 || slices.ContainsFunc(c.Choices, func(choice string) bool { return strings.EqualFold(choice, text) })
	}
	if fits {
		return 0
	}
	return 1
}
