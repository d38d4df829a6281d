package session

import (
	"cmp"
	"io/fs"
	"net/url"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/pelletier/go-toml/v2/unstable"

	"runsheet.example/validate/issue"
)

// readAboutFile reads log.toml into the log; name is "" when there is none.
func (r *reader) readAboutFile(files fs.FS, name string) error {
	if name == "" {
		return nil
	}
	text, ok, err := r.text(files, name)
	if err != nil || !ok {
		r.allBroken = true
		return err
	}
	r.readAboutText(name, text, func(string) bool { return false })
	return nil
}

// readAboutText reads the text of log.toml without the tables that others
// reports.
func (r *reader) readAboutText(name string, text []byte, others func(table string) bool) {
	tables, findings := parseTOML(name, text)
	for _, f := range findings {
		r.about(f)
	}
	if !r.allBroken {
		tables = slices.DeleteFunc(tables, func(t *AboutPart) bool { return others(t.Name) })
		r.readAbout(spot{cell: issue.Cell{File: name}}, tables)
	}
}

// about records a finding in log.toml; an error there concerns every session.
func (r *reader) about(f issue.Finding) {
	r.allBroken = r.allBroken || f.Severity == issue.Error
	r.add(f, nil)
}

// aboutReader reads the values of one table of log.toml.
type aboutReader struct {
	*reader
	*AboutPart
}

// readAbout reads the tables in an order that lets the later ones use the
// declared zone, date style and decimal mark.
func (r *reader) readAbout(at spot, tables []*AboutPart) {
	r.named(at.cell.File, at.cell.Sheet, "log")
	single := map[string]*AboutPart{}
	for _, name := range []string{"log", "patient", "clinic"} {
		at.cell.Heading = name
		single[name] = &AboutPart{Name: name, Cell: at.cell, line: at.line, column: at.column}
	}
	for _, t := range tables {
		if _, ok := single[t.Name]; ok {
			single[t.Name] = t
		}
	}
	r.readLogTable(aboutReader{r, single["log"]})
	r.readPatient(aboutReader{r, single["patient"]})
	clinic := aboutReader{r, single["clinic"]}
	r.log.About.Clinic = clinic.words("name")
	r.log.About.EncryptTo = clinic.words("encrypt_to")
	for _, key := range []string{"question_1", "question_2", "question_3"} {
		if q := clinic.words(key); q.OK() {
			r.log.About.Questions = append(r.log.About.Questions, q.Text)
		}
	}
	for _, t := range tables {
		a := aboutReader{r, t}
		switch t.Name {
		case "prescription":
			r.log.About.Prescriptions = append(r.log.About.Prescriptions, a.prescription())
		case "access":
			if access, ok := a.access(lone(tables, "access")); ok {
				r.log.About.Accesses = append(r.log.About.Accesses, access)
			}
		case "device":
			r.log.About.Devices = append(r.log.About.Devices, a.device())
		}
		a.reportUnknown()
	}
	slices.SortStableFunc(r.log.About.Prescriptions, func(a, b Prescription) int { return a.ValidFrom.Time.Compare(b.ValidFrom.Time) })
	slices.SortStableFunc(r.log.About.Accesses, func(a, b Access) int { return a.ValidFrom.Time.Compare(b.ValidFrom.Time) })
	r.sameDays()
}

// sameDays reports prescriptions of one name, and accesses, that begin on one
// day: which of them a session used is not known.
func (r *reader) sameDays() {
	first := map[string]Moment{}
	report := func(what, name string, m Moment) {
		if !m.OK() {
			return
		}
		key := what + "\x1f" + strings.ToLower(name) + "\x1f" + m.Time.Format(time.DateOnly)
		before, twice := first[key]
		if !twice {
			first[key] = m
			return
		}
		f := spot{cell: m.Cell}.finding("about-same-day", "two entries of this kind begin on the same day")
		f.Value, f.Cells = m.Text, append(f.Cells, before.Cell)
		r.about(f)
	}
	for _, p := range r.log.About.Prescriptions {
		report("prescription", p.Name.Text, p.ValidFrom)
	}
	for _, a := range r.log.About.Accesses {
		report("access", "", a.ValidFrom)
	}
}

// lone reports whether there is one table of a name at most.
func lone(tables []*AboutPart, name string) bool {
	n := 0
	for _, t := range tables {
		if t.Name == name {
			n++
		}
	}
	return n <= 1
}

func (r *reader) readLogTable(a aboutReader) {
	r.written = a
	about := &r.log.About
	if v, ok := a.get("format"); !ok || v.Text != "1" {
		a.complain("format", "about-format", "the format of the log is not the one this program reads", issue.Literal("1"))
	}
	about.LogID = a.plain("id")
	if _, err := uuid.Parse(about.LogID); err != nil {
		a.complain("id", "about-log-id", "the log has no id, or one that is not a UUID", issue.T("a UUID as the template writes it"))
	}
	about.DateStyle = a.oneOf("date_style", dateStyles).Text
	about.TimeForm, _ = ParseClockForm(a.oneOf("time_form", clockFormNames).Text)
	switch mark := a.oneOf("decimal_mark", []string{".", ","}); mark.Text {
	case ".", ",":
		about.DecimalMark = rune(mark.Text[0])
	}
	if about.Language = a.plain("language"); about.Language != "" && !slices.Contains(issue.Languages(), about.Language) {
		f := a.place("language").finding("about-value", "this is not one of the words for {}", "language")
		f.Severity, f.Value, f.Expected = issue.Warning, about.Language, issue.Literal(strings.Join(issue.Languages(), ", "))
		r.about(f)
		about.Language = ""
	}
	about.TimeZone = a.plain("time_zone")
	loc, err := loadZone(about.TimeZone)
	if err != nil {
		a.complain("time_zone", "about-time-zone", "the time zone is missing or not one of the IANA list", zoneLike(about.TimeZone))
		return
	}
	r.log.Location = loc
}

func (r *reader) readPatient(a aboutReader) {
	about := &r.log.About
	r.readIdentifier(a)
	about.PatientName = a.plain("name")
	about.Sex = a.oneOf("sex", []string{"male", "female"})
	about.BirthDate = a.date("birth_date")
	about.HeightCm = a.number("height_cm", "cm")
	var missing []string
	for _, key := range []string{"sex", "birth_date", "height_cm"} {
		if !a.has(key) {
			missing = append(missing, key)
		}
	}
	if len(missing) > 0 {
		f := a.AboutPart.at().finding("about-empty", "body water cannot be computed without {}", strings.Join(missing, ", "))
		r.about(f)
	}
}

// readIdentifier reads whose log it is. An identifier that is not complete
// keeps a log from being sent, not from being checked.
func (r *reader) readIdentifier(a aboutReader) {
	about := &r.log.About
	about.PatientSystem, about.PatientValue = a.plain("identifier_system"), a.plain("identifier_value")
	switch {
	case about.PatientSystem != "" && !absoluteURI(about.PatientSystem):
		a.complain("identifier_system", "about-identifier", "the name of the numbering does not begin like a web address or with urn:, so the log cannot be sent", issue.T("the name that the clinic gives, such as urn:oid:2.25.1 or https://hospital.example/ids"))
	case about.PatientSystem == "":
		a.complain("identifier_system", "about-identifier", "it is not said whose numbering the patient's number is from, so the log cannot be sent", issue.Text{})
	case about.PatientValue == "":
		a.complain("identifier_value", "about-identifier", "the patient's number is missing, so the log cannot be sent", issue.Text{})
	default:
		return
	}
	about.Local = true
	about.PatientSystem, about.PatientValue = "urn:uuid:"+strings.ToLower(about.LogID), "self"
}

// get takes a value and notes that the log knows its name. An empty text is
// the same as no entry.
func (a aboutReader) get(key string) (*AboutEntry, bool) {
	v, ok := a.entry(key)
	if !ok {
		return nil, false
	}
	v.used = true
	return v, v.Text != "" || len(v.items) > 0
}

// has reports whether something is written for a key.
func (a aboutReader) has(key string) bool {
	v, ok := a.entry(key)
	return ok && strings.TrimSpace(v.Text) != ""
}

// place is the position of a key, or of its table if the key is absent.
func (a aboutReader) place(key string) spot {
	if v, ok := a.entry(key); ok {
		return v.at()
	}
	at := a.AboutPart.at()
	at.cell.Heading = a.Name + "." + key
	return at
}

func (a aboutReader) complain(key, rule, details string, expected issue.Text, args ...any) {
	f := a.place(key).finding(rule, details, args...)
	f.Expected = expected
	if v, ok := a.entry(key); ok {
		f.Value = v.String()
	}
	a.about(f)
}

// words reads a text.
func (a aboutReader) words(key string) Text {
	v, ok := a.get(key)
	if !ok {
		return Text{Cell: a.place(key).cell}
	}
	t := Text{Text: strings.TrimSpace(v.Text), Absence: Present, Cell: v.Cell}
	if v.kind != unstable.String {
		a.complain(key, "about-value", "this must be a text between quotes", issue.Text{})
		t.Absence = Unreadable
	}
	if !isPlain(t.Text) {
		a.complain(key, "log-control", controlSeen, issue.Text{})
		t.Absence = Unreadable
	}
	if ofSpreadsheet.MatchString(t.Text) {
		a.complain(key, "log-text-changed", changedText, issue.T("what is printed or shown"))
	}
	return t
}

func (a aboutReader) plain(key string) string {
	if t := a.words(key); t.OK() {
		return t.Text
	}
	return ""
}

// oneOf reads a text that must be one of a list.
func (a aboutReader) oneOf(key string, choices []string) Text {
	t := a.words(key)
	if !t.OK() {
		return Text{Absence: t.Absence, Cell: t.Cell}
	}
	plain := strings.ToLower(t.Text)
	if choice, ok := Chosen(choices, t.Text); ok {
		plain = choice
	}
	if !slices.Contains(choices, plain) {
		expected := cmp.Or(Nearest(plain, choices), strings.Join(choices, ", "))
		a.complain(key, "about-value", "this is not one of the words for {}", issue.Literal(expected), issue.T(key))
		return Text{Absence: Unreadable, Cell: t.Cell}
	}
	t.Text = plain
	return t
}

// uri reads the name of a system of identifiers, which in FHIR is a URI.
func (a aboutReader) uri(key string) Text {
	t := a.words(key)
	if !t.OK() {
		return t
	}
	if !absoluteURI(t.Text) {
		a.complain(key, "about-value", "this is not an absolute URI", issue.T("a URI such as urn:oid:2.25.1 or https://hospital.example/ids, from the clinic"))
		return Text{Absence: Unreadable, Cell: t.Cell}
	}
	return t
}

func absoluteURI(text string) bool {
	u, err := url.Parse(text)
	return err == nil && u.Scheme != "" && !strings.ContainsAny(text, " \t")
}

// number reads a number as written: bare, with a point as TOML has it, or
// between quotes with the declared decimal mark.
func (a aboutReader) number(key, unit string) Value {
	v, ok := a.get(key)
	if !ok {
		return Value{Unit: unit, Cell: a.place(key).cell}
	}
	value := Value{Text: strings.TrimSpace(v.Text), Unit: unit, Cell: v.Cell, Absence: Unreadable}
	mark := byte('.')
	if v.kind == unstable.String && a.log.About.DecimalMark != 0 {
		mark = byte(a.log.About.DecimalMark)
	}
	isNumber := v.kind == unstable.Integer || v.kind == unstable.Float || v.kind == unstable.String
	d, err := ParseDecimal(value.Text, mark)
	if err != nil || !isNumber || d.Negative() {
		wrong := numberReading{}.refuse(value.Text, mark, unit)
		if err == nil {
			wrong = numberReading{details: "this is not a plain number"}
		}
		a.complain(key, "about-number", wrong.details, wrong.expected)
		return value
	}
	value.Decimal, value.Absence = d, Present
	return value
}

// date reads a day, bare or between quotes, in ISO form or the declared style.
func (a aboutReader) date(key string) Moment {
	v, ok := a.get(key)
	if !ok {
		return Moment{DateOnly: true, Cell: a.place(key).cell}
	}
	m := Moment{Text: strings.TrimSpace(v.Text), DateOnly: true, Cell: v.Cell, Absence: Unreadable}
	day := readDate(m.Text, a.log.About.DateStyle)
	if !day.usable() || v.kind != unstable.LocalDate && v.kind != unstable.String {
		a.complain(key, "about-date", "this cannot be read as a date", day.expected)
		return m
	}
	m.Time, m.Absence = midnightOf(day.day, a.log.Location), Present
	if m.Time.Year() > lastYear || m.Time.Year() < 1900 {
		a.complain(key, "about-date", "the year cannot be right", issue.Text{})
		m.Absence = Unreadable
	}
	return m
}

// reportUnknown lists the keys of a table that were not read.
func (a aboutReader) reportUnknown() {
	known := knownKeys(a.Name)
	if known == nil {
		if a.Name != "" || len(a.Entries) > 0 {
			f := a.AboutPart.at().finding("about-unknown", "the log does not know a table of this name")
			f.Value = a.Name
			f.Expected = issue.Literal(Nearest(a.Name, tableNames))
			a.about(f)
		}
		return
	}
	for _, e := range a.Entries {
		if !e.used {
			a.complain(e.Key, "about-unknown", "the log does not know this name", issue.Literal(Nearest(e.Key, known)))
		}
	}
}

func dayNames() map[string]time.Weekday {
	names := map[string]time.Weekday{}
	for day := time.Sunday; day <= time.Saturday; day++ {
		full := strings.ToLower(day.String())
		names[full], names[full[:3]] = day, day
	}
	return names
}
