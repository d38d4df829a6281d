package measure

import (
	"strconv"
	"strings"
	"time"

	"runsheet.example/calc"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// collector gathers the inputs of the methods for one session.
type collector struct {
	log *session.Log
	at  int
	s   *session.Session
	// records are the log's records of this treatment up to this one; more
	// than one if it was restarted.
	records []int
	inputs  map[string]Input
	// scratch is the map passed to methods; see numbers.
	scratch calc.Inputs
	values  []Value
	// whyNoDose is set if blood samples exist but are not usable; sampled if
	// they are usable; late if the second one is equilibrated.
	whyNoDose     string
	sampled, late bool
	// dosing is set during the computation of the dose, which belongs to the
	// whole treatment; notes then apply to each of its values.
	dosing bool
	notes  []string
	adult  map[string]bool // for a child, keys whose values come from a method derived in adults
	// shortest and longest are the treated minutes of the sessions counted for
	// the week.
	shortest, longest float64
}

// expectedInputs is the typical number of inputs of a full session.
const expectedInputs = 40

func newCollector(log *session.Log, at int) *collector {
	return &collector{
		log: log, at: at, s: log.Sessions[at], records: parts(log, at), adult: map[string]bool{},
		inputs: make(map[string]Input, expectedInputs), scratch: make(calc.Inputs, expectedInputs),
	}
}

// enteredFields are the measurements of the sessions file that methods use
// under the same key.
var enteredFields = []session.Field{
	"weight_before", "weight_after", "uf_removed", "drinks", "saline", "rinseback", "urine",
	"dialysate_volume", "blood_processed", "blood_flow", "dialysate_flow",
}

func (c *collector) gather() {
	for _, f := range enteredFields {
		c.entered(string(f), f, c.s.Value(f))
	}
	if in, _ := treatedTime(c.s); in.Key != "" {
		c.inputs[in.Key] = in
	}
	c.dryWeight()
	c.person()
	c.previous()
	c.prescribed()
}

func (c *collector) entered(key string, field session.Field, v session.Value) {
	if !v.OK() || v.Comparator != "" {
		return
	}
	number, text, ok := convert(v, calc.Spec(key).Unit)
	if !ok {
		return
	}
	c.inputs[key] = Input{Key: key, Number: number, Unit: calc.Spec(key).Unit, Text: text, Origin: Entered, Field: field, Cells: []issue.Cell{v.Cell}}
}

func (c *collector) stated(key string, v session.Value) {
	if !v.OK() {
		return
	}
	number, text, ok := convert(v, calc.Spec(key).Unit)
	if !ok {
		return
	}
	c.inputs[key] = Input{Key: key, Number: number, Unit: calc.Spec(key).Unit, Text: text, Origin: Stated, Cells: []issue.Cell{v.Cell}}
}

func (c *collector) counted(key string, number float64, cells ...issue.Cell) {
	c.inputs[key] = Input{
		Key: key, Number: number, Unit: calc.Spec(key).Unit,
		Text: strconv.FormatFloat(number, 'f', -1, 64), Origin: Stated, Cells: cells,
	}
}

// treatedTime is the machine's treatment time if entered, otherwise the time
// between start and end, which counts pauses as treatment; fromClock reports
// the latter.
func treatedTime(s *session.Session) (in Input, fromClock bool) {
	const key, unit = "treated_time", "min"
	if v := s.Value(key); v.OK() {
		number, text, ok := convert(v, unit)
		if !ok {
			return Input{}, false
		}
		return Input{Key: key, Number: number, Unit: unit, Text: text, Origin: Entered, Field: key, Cells: []issue.Cell{v.Cell}}, false
	}
	if !s.Start.OK() || !s.End.OK() {
		return Input{}, false
	}
	minutes := s.End.Time.Sub(s.Start.Time).Minutes()
	return Input{
		Key: key, Number: minutes, Unit: unit, Text: strconv.FormatFloat(minutes, 'f', -1, 64),
		Origin: Entered, Field: key, Cells: []issue.Cell{s.Start.Cell, s.End.Cell},
	}, true
}

// dryWeight is the one entered with the session, otherwise the latest one
// entered in an earlier session since the prescription, otherwise the
// prescription's.
func (c *collector) dryWeight() {
	v, ok := DryWeight(c.log, c.at)
	if ok {
		c.entered("dry_weight", "dry_weight", v)
	}
}

// DryWeight returns the dry weight in force at a session of the log. A
// prescription named by the session takes precedence over the usual one only
// if it has its own dry weight.
func DryWeight(log *session.Log, at int) (session.Value, bool) {
	s := log.Sessions[at]
	prescription, prescribed := log.About.PrescriptionOn(s.Date.Time)
	if followed, _ := log.About.PrescriptionFor(s); followed.Values["dry_weight"].Cell != prescription.Values["dry_weight"].Cell {
		prescription.ValidFrom, prescription.Values = s.Date, followed.Values
	}
	for i := at; i >= 0; i-- {
		earlier := log.Sessions[i]
		if prescribed && earlier.Date.Time.Before(prescription.ValidFrom.Time) {
			break
		}
		if v := earlier.Value("dry_weight"); v.OK() {
			return v, true
		}
	}
	v := prescription.Values["dry_weight"]
	return v, prescribed && v.OK()
}

// person sets height, sex and the age in whole years on the session's day.
func (c *collector) person() {
	about := c.log.About
	c.stated("height", about.HeightCm)
	if about.Sex.OK() {
		number := calc.SexFemale
		if about.Sex.Text == "male" {
			number = calc.SexMale
		}
		c.inputs["sex"] = Input{Key: "sex", Number: number, Unit: "1", Text: about.Sex.Text, Origin: Stated, Cells: []issue.Cell{about.Sex.Cell}}
	}
	if years, ok := about.AgeOn(c.s.Date); ok {
		c.counted("age", float64(years), about.BirthDate.Cell)
	}
}

// previous sets the days between the starts of this treatment and the one
// before, and the weight after that one. It ignores a skipped session. A
// broken one, or one without that weight, ends the search, because the gain
// would span it. A restarted treatment has no gain since its first part.
func (c *collector) previous() {
	at, found := doneBefore(c.log, c.records[0])
	if !found {
		return
	}
	before := c.log.Sessions[at]
	if before.Broken || !before.Date.OK() {
		return
	}
	this, last := c.log.Sessions[c.records[0]], c.log.Sessions[parts(c.log, at)[0]]
	days := roundTo(begin(this).Sub(begin(last)).Hours()/24, intervalDecimals)
	c.counted("preceding_interval", days, last.Start.Cell, this.Start.Cell)
	v := before.Value("weight_after")
	if !v.OK() || len(c.records) > 1 {
		return
	}
	if number, text, ok := convert(v, "kg"); ok {
		c.inputs["previous_weight_after"] = Input{
			Key: "previous_weight_after", Number: number, Unit: "kg", Text: text,
			Origin: Previous, Field: "weight_after", Session: before, Cells: []issue.Cell{v.Cell},
		}
	}
}

// intervalDecimals are the decimals of an interval in days: one and a half
// minutes.
const intervalDecimals = 3

// daysBetween counts calendar days, regardless of clock changes.
func daysBetween(from, to time.Time) int {
	utc := func(t time.Time) time.Time { return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC) }
	return int(utc(to).Sub(utc(from)).Hours() / 24)
}

func (c *collector) prescribed() {
	p, ok := c.log.About.PrescriptionFor(c.s)
	if !ok {
		return
	}
	if c.prescribedDialyser(p) {
		c.stated("dialyser_koa", p.Values["dialyser_koa"])
	}
	c.stated("residual_urea_clearance", p.ResidualUreaClearance)
}

// prescribedDialyser reports whether the session used the dialyser of the
// prescribed KoA: a session with another one has an unknown KoA.
func (c *collector) prescribedDialyser(p session.Prescription) bool {
	own := c.s.Texts["dialyser"]
	return !own.OK() || p.Dialyser.OK() && strings.EqualFold(own.Text, p.Dialyser.Text)
}
