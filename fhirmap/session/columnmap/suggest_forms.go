package columnmap

import (
	"slices"
	"strings"

	"runsheet.example/fhirmap/session"
)

// footers suggests rows to pass over: those with words where the others have
// their date, such as a row of means. It stays a comment, since a row passed
// over is a session that nobody sees. A text with a digit in it may be a date
// that was mistyped.
func (d *sketch) footers(s session.Foreign, h headings) {
	if d.dateAt < 0 {
		return
	}
	var words []string
	for _, row := range s.Rows {
		text := row.Cell(d.dateAt).Text
		if row.Number >= h.next && text != "" && !dateForms.MatchString(text) && !strings.ContainsAny(text, "0123456789") && !slices.Contains(words, quoted(text)) {
			words = append(words, quoted(text))
		}
	}
	const most = 6
	if len(words) > 0 && len(words) <= most {
		d.line("# skip_rows = [%s]  # unsure: words where the other rows have a date; rows to pass over?", strings.Join(words, ", "))
		d.unsure++
	}
}

// forms declares how dates, times and numbers are written.
func (d *sketch) forms(h headings, seen []seenColumn) {
	comma, point := false, false
	for _, one := range d.columns {
		at := h.matching(exactly(one.heading))
		if len(at) == 0 {
			continue
		}
		c := seen[at[0]]
		switch one.fields[0] {
		case "date":
			d.dates(c.texts)
		case "start", "end", "time":
			if style := clockStyle(c.texts); style != "" && !d.declares("time_form") {
				d.line("time_form = %s", quoted(style))
			}
		case "status":
			d.status = slices.Compact(slices.Sorted(slices.Values(c.texts)))
		}
	}
	d.absences(h, seen)
	for _, c := range seen {
		comma, point = comma || c.comma, point || c.point
	}
	switch {
	case comma && !point:
		d.line(`decimal_mark = ","  # the only mark in the numbers`)
	case comma && point:
		d.notes = append(d.notes, "unsure: numbers have both points and commas; declare decimal_mark")
		d.unsure++
	}
}

// absences lists the words in columns of numbers that may mean that there is no
// value; the person decides what they mean.
func (d *sketch) absences(h headings, seen []seenColumn) {
	var words []string
	for _, one := range d.columns {
		at := h.matching(exactly(one.heading))
		column, ok := columnOf(one.sheet, one.fields[0])
		if !ok || column.Kind != session.KindNumber || len(at) == 0 || one.unit == "st lb" {
			continue
		}
		for _, text := range seen[at[0]].words {
			if !slices.Contains(words, quoted(text)) {
				words = append(words, quoted(text))
			}
		}
	}
	const most = 12
	if len(words) > 0 && len(words) <= most {
		d.line("# absences = { not_done = [%s] }  # unsure: words among numbers; not_recorded, not_done, unknown or not_applicable?", strings.Join(words, ", "))
		d.unsure++
	}
}

func (d *sketch) dates(texts []string) {
	form, certain, why := dateStyle(texts)
	if form == "" {
		return
	}
	if certain {
		d.line("date_form = %s  # %s", quoted(form), why)
		return
	}
	d.line("# date_form = %s  # unsure: %s", quoted(form), why)
	d.dayFirst = form
	d.unsure++
}

func (d *sketch) declares(key string) bool {
	return slices.ContainsFunc(d.table, func(line string) bool { return strings.HasPrefix(line, key+" ") })
}
