package session

import (
	"slices"
	"strings"

	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// realigned is a row put back under its headings: from the cell at on its cells
// were moved. unread is a cell that is not read any more, -1 for none, and
// misfits how badly the cells fit now.
type realigned struct {
	at, unread int
	cells      []string
	misfits    float64
}

// realign puts the cells of the current row back under their headings where a
// separator too many or too few, or a cell put in or taken out, has moved them.
// The session is not sent.
func (s *sheetReader) realign() {
	if s.row.fault != nil || s.mapped != nil {
		return
	}
	var f issue.Finding
	joined, split := s.splitCell()
	back, shifted := s.shifted()
	switch {
	case split && (!shifted || joined.misfits <= back.misfits):
		back = joined
		s.cells, s.split = back.cells, back.unread
		f = s.splitFinding(back.at)
	case shifted:
		f = s.shiftedFinding(back)
		s.cells, s.split = back.cells, back.unread
	default:
		return
	}
	s.moved = &f
}

// splitCell finds the cell that a separator without quotation marks splits in
// two, in a row with one cell too many: the one after whose repair all later
// cells fit their columns best. It reports false if no single cell is best.
func (s *sheetReader) splitCell() (best realigned, ok bool) {
	if s.delimiter == 0 || len(s.cells) != len(s.headings)+1 {
		return best, false
	}
	for i := range s.headings {
		if strings.TrimSpace(s.cells[i]) == "" || strings.TrimSpace(s.cells[i+1]) == "" {
			continue
		}
		misfits := 0.0
		joined := s.joinedAt(i)
		for _, c := range s.columns {
			switch {
			case c.position != i:
				misfits += s.misfit(c, strings.TrimSpace(joined[c.position]))
			case c.Kind == KindID:
				misfits++ // no name has a separator in it
			case c.Kind != KindText:
				misfits += 2 * s.misfit(c, strings.Replace(strings.TrimSpace(joined[i]), ",", string(markOr(s.mark)), 1))
			}
		}
		if best.cells == nil || misfits < best.misfits {
			best, ok = realigned{i, i, joined, misfits}, true
		} else if misfits == best.misfits {
			ok = false
		}
	}
	if !ok || best.misfits >= s.misfits() {
		return best, false
	}
	before, row := slices.Clone(s.filled), s.cells
	s.cells = best.cells
	best.misfits += s.unlike(before)
	s.cells, s.filled = row, before
	return best, true
}

func (s *sheetReader) splitFinding(at int) issue.Finding {
	f := s.spot(at).finding("log-row-too-long", "a comma in this cell splits it in two, so the cells after it are shifted")
	if s.delimiter != ',' {
		f.Details = issue.T("a separator in this cell splits it in two, so the cells after it are shifted")
		f.Mend = issue.T("put the cell between quotation marks")
	}
	f.Value = s.text(at)
	if d, err := ParseDecimal(f.Value, ','); err == nil {
		f.Expected = issue.Literal(d.String())
	}
	return f
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

// misfits is how badly the cells fit their columns as written.
func (s *sheetReader) misfits() float64 {
	sum := 0.0
	if len(s.cells) > len(s.headings) && s.text(len(s.headings)) != "" {
		sum = 1 // for the cell too many
	}
	_, misfits := s.misfitting()
	return sum + misfits
}

// shifted finds the cell from which on all cells of the row are one column too
// far left or right.
func (s *sheetReader) shifted() (back realigned, ok bool) {
	before, row := slices.Clone(s.filled), s.cells
	s.cells = slices.Concat(row, make([]string, max(0, len(s.headings)-len(row))))
	if s.unlike(before) > 0 {
		back, ok = s.movedBack(before, s.delimiter != 0 && len(row) < len(s.headings))
	}
	s.cells = row
	return back, ok
}

// shiftedFinding is at the first of the cells that were moved, the empty cell
// before it, or the cell before it that is two run together.
func (s *sheetReader) shiftedFinding(back realigned) issue.Finding {
	f := s.spot(back.at).finding("log-row-shifted", "from here on the cells of this row stand one column too far to the right")
	if f.Value = s.text(back.at); back.unread >= 0 {
		f.Details = issue.T("two cells have run together in this one, so those after it stand one column too far to the left")
	} else if f.Value != "" {
		f.Details = issue.T("from here on the cells of this row stand one column too far to the left")
	}
	return f
}

// movedBack finds the cell from which on the cells of the row, or a part of
// them, moved by one column all fit: several are impossible as written, two are after
// a cell that is empty and was filled in the row before, or some do not fit and the
// row has a cell too many, or other cells filled than the row before. Where a separator
// is lost, two cells may have run together.
func (s *sheetReader) movedBack(before []bool, lost bool) (best realigned, ok bool) {
	const several, two, longer, part = 3, 2, 1.0, 1.5
	const together = 0.25 // weighs against leaving a cell unread that fits
	n, as, beyond := len(s.headings), s.cells, ""
	if len(as) > n {
		beyond = as[n]
	}
	hard, _ := s.misfitting()
	misfits := s.misfits()
	least := misfits / 2
	whole := hard >= several || len(as) == n+1 && misfits >= longer
	try := func(i, unread int, cells []string, rest float64) {
		s.cells, s.split = cells, unread
		now, soft := s.misfitting()
		rest += soft + s.unlike(before)
		if now == 0 && rest < least {
			best, least, ok = realigned{i, unread, cells, rest}, rest, true
		}
	}
	full := func(i int) bool { return strings.TrimSpace(as[i]) != "" }
	without := func(i int) []string { return slices.Delete(slices.Clone(as[:n]), i, i+1) }
	shortened := !full(n-1) && beyond == ""
	for i := 0; i < n && (whole || hard >= two); i++ {
		switch {
		case !full(i) && i+1 < n && full(i+1) && (whole || len(before) == n && before[i]):
			try(i, -1, append(without(i), beyond), 0)
		case !whole:
		case full(i) && shortened:
			try(i, -1, slices.Insert(without(n-1), i, ""), 0)
		}
		if whole && full(i) && lost && i+1 < n {
			try(i, i, slices.Insert(without(n-1), i+1, ""), together)
		}
	}
	for i := 0; i < n && misfits >= part && len(before) == n; i++ { // a part alone, in a row else filled like the one before
		for to := 0; to < n && !full(i) && before[i]; to++ {
			if full(to) && !before[to] && filled(s.row.Cells[min(i, to):min(len(s.row.Cells), max(i, to)+1)]) >= several {
				s.cells = slices.Insert(without(i), to, "")
				if s.unlike(before) == 0 {
					try(min(i, to), -1, s.cells, 0)
				}
			}
		}
	}
	s.cells, s.split = as, -1
	s.unlike(before)
	return best, ok
}

// unlike is the share of cells that are filled here and not in the row before,
// or the other way round, so that of equals the one most like it is taken; of
// the first row all are.
func (s *sheetReader) unlike(before []bool) float64 {
	s.filled = s.filled[:0]
	n := 0
	for i, cell := range s.cells[:len(s.headings)] {
		full := strings.TrimSpace(cell) != ""
		if i >= len(before) || full != before[i] {
			n++
		}
		s.filled = append(s.filled, full)
	}
	return float64(n) / float64(len(s.headings))
}

// misfitting counts the cells that are impossible under their headings, and
// adds up how badly all of them fit, without one that is left unread.
func (s *sheetReader) misfitting() (impossible int, sum float64) {
	for _, c := range s.columns {
		if c.position == s.split {
			continue
		}
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
		if c.Required && (c.Kind == KindChoice || c.Kind == KindText || c.Kind == KindID) {
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
			written, _ := factorOf(c.Unit)
			limited, _ := factorOf(limit.Unit)
			switch number := d.Float64() * written / limited; {
			case known && limit.Impossible(number):
				return 1.5
			case known && limit.Unusual(number), (c.Unit == "mm[Hg]" || c.Unit == "/min") && strings.Contains(d.String(), "."): // no cuff shows decimals
				return 0.5
			}
		}
	case KindUnit:
		_, err := ParseDecimal(text, markOr(s.mark))
		fits = err != nil
	case KindTime:
		fits = s.readClock(text, "").ok
	case KindDate:
		fits = s.readDate(text, "").rule != "log-date"
	case KindChoice:
		fits = len(c.Choices) == 0 || slices.ContainsFunc(c.Choices, func(choice string) bool { return strings.EqualFold(choice, text) })
	}
	if fits {
		return 0
	}
	return 1
}
