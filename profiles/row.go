package profiles

import "slices"

// Field names one measured or written thing, in the vocabulary that the log,
// the computations and the records share. It goes into the identity of
// resources, so a field is never renamed.
type Field string

// At is the field of a value drawn before or after dialysis; other words
// leave it as it is.
func (f Field) At(when string) Field {
	if when == "before" || when == "after" {
		return f + Field("_"+when)
	}
	return f
}

// Languages are the languages that findings, pages and forms are written in, by
// their tags (RFC 5646), in the order of [Words]. English comes first.
var Languages = []string{"en", "de"}

// Words are a text in each of the [Languages].
type Words []string

// In is the text in a language, "" if there is none.
func (w Words) In(language string) string {
	if i := slices.Index(Languages, language); i >= 0 && i < len(w) {
		return w[i]
	}
	return ""
}

// English is the text in English, which is the key of the others.
func (w Words) English() string { return w.In("en") }

// Row is all that is known of one field. A row that only has columns adds a
// column to a field that has its row elsewhere.
type Row struct {
	Field Field
	// Name is what findings call it.
	Name Words
	// Limits are its limits by age, weight and session; see [LimitOf].
	Limits limits
	// Heard are words for it in the headings of foreign sheets, in lower case
	// without accents, in English, German, French, Spanish, Dutch and Italian
	// (common practice). A word of up to three letters must stand alone, as
	// must one marked by =; a longer one may be part of a compound.
	Heard []string
	// Tests are the names that laboratories give it in these languages. Urea
	// and urea nitrogen are different quantities and are never mixed; a name
	// that some use for the one and some for the other ("azotemia") is of
	// neither. PTH without a further word is the intact hormone.
	Tests []string
	// Columns are where a log has it.
	Columns []Column
	// Checks are the words of a log for it before a treatment.
	Checks []CheckKind
	// Codes are its codes in a record. Rows of one field differ in the units
	// they take.
	Codes []Measurement
}

// CheckKind is one kind of check before a treatment.
type CheckKind struct {
	// Name is the word of the log; Also are others that are understood.
	Name  string
	Also  []string
	Field Field
	// Units are the UCUM codes that a value of it may be in.
	Units []string
	// Sign marks a sign of trouble: yes is not ok, and no is ok.
	Sign bool
	// For is its purpose, Source the source of that.
	For, Source string
}

// sections are the rows in the order of the sheets of a log, then those that
// no sheet has.
var sections = []struct {
	sheet Sheet
	rows  []Row
}{
	{SheetSessions, sessionRows}, {SheetChecks, checkRows}, {SheetReadings, readingRows}, {SheetMedicines, medicineRows},
	{SheetLabs, labRows}, {SheetEvents, eventRows}, {SheetAnswers, answerRows}, {"", statedRows}, {"", computedRows},
}

// What the rows hold, each in their order.
var (
	rows         = complete()
	measurements = each(func(r Row) []Measurement { return r.Codes })
	columns      = each(func(r Row) []Column { return r.Columns })
	checkKinds   = each(func(r Row) []CheckKind { return r.Checks })
	limitsOf     = func() map[string]limits {
		of := map[string]limits{}
		for _, r := range rows {
			if r.Limits.all != nil {
				of[string(r.Field)] = r.Limits
			}
		}
		return of
	}()
)

// Rows returns the table. The caller must not change it or what it holds.
func Rows() []Row { return rows }

// Measurements returns the codes of all rows.
func Measurements() []Measurement { return measurements }

// Columns returns every column of the log, in the order the template writes
// them.
func Columns() []Column { return columns }

// CheckKinds returns what is commonly looked at before a treatment, in the
// order in which it is done.
func CheckKinds() []CheckKind { return checkKinds }

// RowOf returns the row of a field.
func RowOf(field Field) (Row, bool) {
	at := slices.IndexFunc(rows, func(r Row) bool { return r.Field == field })
	if at < 0 {
		return Row{}, false
	}
	return rows[at], true
}

// complete writes into the parts of each row what they take from it.
func complete() []Row {
	var all []Row
	for _, section := range sections {
		var names []string
		for _, r := range section.rows {
			for i := range r.Codes {
				r.Codes[i].Field = string(r.Field)
			}
			for i := range r.Checks {
				r.Checks[i].Field = r.Field
				for _, m := range r.Codes {
					r.Checks[i].Units = append(r.Checks[i].Units, m.Units...)
				}
				names = append(names, r.Checks[i].Name)
			}
			for i := range r.Columns {
				r.Columns[i].Sheet, r.Columns[i].Field = section.sheet, r.Field
			}
			all = append(all, r)
		}
		if at := slices.IndexFunc(section.rows, func(r Row) bool { return r.Field == "what" }); section.sheet == SheetChecks {
			section.rows[at].Columns[0].Choices = names
		}
	}
	return all
}

func each[T any](of func(Row) []T) []T {
	var all []T
	for _, r := range rows {
		all = append(all, of(r)...)
	}
	return all
}
