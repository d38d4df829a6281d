package columnmap

import (
	"regexp"
	"slices"
	"strings"

	"runsheet.example/fhirmap/session"
)

var stoneForm = regexp.MustCompile(`(?i)^\d{1,3}\s*st`)

// settleUnit compares the unit of the heading with what the numbers look like.
func (c *classifier) settleUnit(field session.Field) {
	written, named := writtenUnit(c.out.sheet, field, c.out.heading)
	switch {
	case field == "treated_time" && c.seen.mostly(c.seen.clocks) && len(c.seen.texts) > 0:
		c.out.unit = "h:mm"
		c.out.why = append(c.out.why, "the cells are hours and minutes")
		return
	case strings.HasPrefix(string(field), "weight") && c.seen.mostly(count(c.seen.words, stoneForm)) && len(c.seen.texts) > 0:
		c.out.unit = "st lb"
		c.out.why = append(c.out.why, "the cells are stones and pounds")
		return
	}
	numbers := c.seen.numbers
	for _, p := range c.seen.pairs {
		numbers = append(numbers, p[0])
	}
	fits, judged := unitsThatFit(field, numbers)
	switch {
	case named && !judged:
		c.out.unit = written
		c.out.why = append(c.out.why, "the unit "+written+" is in the heading")
		c.out.sure = min(c.out.sure, likely)
	case named && slices.ContainsFunc(fits, func(u string) bool { return sameUnit(c.out.sheet, field, u, written) }):
		c.out.unit = written
		c.out.why = append(c.out.why, "the unit "+written+" is in the heading, and the numbers are usual in it")
	case named:
		c.out.unit = written
		c.out.doubt("the heading says %s, but the numbers are unusual in that unit", written)
	case !judged:
		c.out.doubt("no unit is in the heading, and there are no numbers to tell it by")
	case len(fits) == 1:
		c.out.unit = fits[0]
		c.out.why = append(c.out.why, "of the units only "+fits[0]+" makes the numbers usual")
		if column, _ := columnOf(c.out.sheet, field); column.Unit != "/min" && column.Unit != "mm[Hg]" {
			c.out.sure = min(c.out.sure, likely) // these two have one unit everywhere
		}
	case len(fits) > 1:
		c.out.unit = fits[0]
		c.out.doubt("no unit is in the heading, and the numbers would be usual in %s", strings.Join(fits, " or "))
	default:
		c.out.doubt("the numbers are unusual for it in every unit")
	}
}

func count(texts []string, form *regexp.Regexp) int {
	n := 0
	for _, text := range texts {
		if form.MatchString(text) {
			n++
		}
	}
	return n
}

// sameUnit compares two ways to write a unit.
func sameUnit(sheet session.Sheet, field session.Field, a, b string) bool {
	x, first, err1 := session.ColumnIn(sheet, field, a)
	y, second, err2 := session.ColumnIn(sheet, field, b)
	return err1 == nil && err2 == nil && x.Name == y.Name && first.Code() == second.Code() && first.Converted() == second.Converted()
}

// labUnit takes the unit of a laboratory value from the heading only: two
// laboratories use two units for the same test.
func (c *classifier) labUnit() {
	for _, m := range unitInHeading.FindAllStringSubmatch(c.out.heading, -1) {
		switch strings.ToLower(strings.ReplaceAll(m[1], " ", "")) {
		case "mmol/l", "mg/dl", "g/dl", "g/l", "umol/l", "µmol/l", "μmol/l", "meq/l", "mg/l", "ppm":
			c.out.unit = m[1]
			c.out.why = append(c.out.why, "the unit "+m[1]+" is in the heading")
			c.out.sure = min(c.out.sure, likely)
			return
		}
	}
	c.out.doubt("no unit is in the heading")
}

func columnOf(sheet session.Sheet, field session.Field) (session.Column, bool) {
	for _, c := range session.Columns {
		if c.Sheet == sheet && c.Field == field {
			return c, true
		}
	}
	return session.Column{}, false
}
