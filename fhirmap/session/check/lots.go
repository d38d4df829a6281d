package check

import (
	"maps"
	"slices"
	"strings"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// lookAlike puts the digit for letters that are taken for it.
var lookAlike = strings.NewReplacer("O", "0", "Q", "0", "I", "1", "L", "1", "Z", "2", "S", "5", "B", "8")

// printed is what is printed on a package, with the session that used it.
type printed struct {
	session *session.Session
	text    session.Text
	key     string
}

// suppliesUsed compares the lots of each kind of supply with each other, and the
// dates of each lot.
func (c *checker) suppliesUsed() {
	const lot, date = "this lot differs in one place from the lot of the other rows", "the other rows have another date for this lot"
	columns := map[string][]printed{}
	for _, s := range c.inRows() {
		for _, row := range s.Checks {
			if row.Lot.OK() && !c.suspect[row.Lot.Cell] {
				key := strings.ToUpper(row.Lot.Text)
				column := lot + row.What.Text
				columns[column] = append(columns[column], printed{s, row.Lot, key})
				if column = date + row.What.Text + key; !row.LastDay.IsZero() && !c.suspect[row.Expires.Cell] {
					columns[column] = append(columns[column], printed{s, row.Expires, row.LastDay.Format(time.DateOnly)})
				}
			}
		}
	}
	for _, column := range slices.Sorted(maps.Keys(columns)) {
		if strings.HasPrefix(column, lot) {
			c.likeAnother(columns[column], lot, slipOfLot)
		} else {
			c.likeAnother(columns[column], date, func([]printed, int, []int) bool { return true })
		}
	}
}

// slipOfLot reports a lot that looks the same as the one in other rows, or is one
// slip of the pen from the one before and after it: boxes are used up one after
// the other, so that a new lot does not occur between rows of an old one.
func slipOfLot(rows []printed, i int, others []int) bool {
	written, meant := rows[i].key, rows[others[0]].key
	return lookAlike.Replace(written) == lookAlike.Replace(meant) ||
		others[0] < i && others[len(others)-1] > i && oneSlip(written, meant)
}

// likeAnother finds a text that occurs once and is a slip of a frequent one.
func (c *checker) likeAnother(rows []printed, details string, slip func(rows []printed, i int, others []int) bool) {
	places := map[string][]int{}
	for i, one := range rows {
		places[one.key] = append(places[one.key], i)
	}
	for i, one := range rows {
		for _, other := range slices.Sorted(maps.Keys(places)) {
			others := places[other]
			if len(places[one.key]) > 1 || len(others) < fewest || !slip(rows, i, others) {
				continue
			}
			f := at("clin-unlike-own", details, one.text.Cell)
			f.Value, f.Expected = one.text.Text, issue.T("perhaps {}", rows[others[0]].text.Text)
			f.Mend = issue.T("look at the packages; if they are right, leave the cells")
			f.Cells = append(f.Cells, rows[others[0]].text.Cell)
			c.add(f, one.session)
			break
		}
	}
}
