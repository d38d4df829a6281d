package fhirmap

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"runsheet.example/calc"
	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/manifest"
)

var update = flag.Bool("update", false, "rewrite the golden files")

func readLog(t *testing.T, dir string) *session.Log {
	t.Helper()
	log, findings, err := session.ReadFolder(dir, session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range findings {
		if f.Severity == issue.Error {
			t.Fatalf("%s: %v %s %s", dir, f.Cells, f.Details, f.Value)
		}
	}
	return log
}

var testOptions = Options{Tool: Tool{Name: "runsheet", Version: "test"}}

func mapLog(t *testing.T, log *session.Log, opts Options) *Month {
	t.Helper()
	month, err := Map(log, opts)
	if err != nil {
		t.Fatal(err)
	}
	return month
}

func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), got); diff != "" {
		t.Errorf("%s (-want +got, -update rewrites):\n%s", path, diff)
	}
}

// The summary shows every resource of the small log in one line; the whole
// JSON of one resource of each kind stands beside it.
func TestSmallLogGolden(t *testing.T) {
	month := mapLog(t, readLog(t, "testdata/small"), testOptions)
	var summary strings.Builder
	whole := map[string]string{}
	for _, s := range month.Sessions {
		fmt.Fprintf(&summary, "session %s %s\n", s.Session.ID, s.Session.Status)
		for _, r := range s.Resources {
			summary.WriteString("  " + line(t, r) + "\n")
			if kind := kindOf(r); whole[kind] == "" {
				whole[kind] = indent(t, r.JSON)
			}
		}
	}
	golden(t, "small.summary.txt", summary.String())
	var all strings.Builder
	for _, kind := range []string{"Device", "Procedure", "Observation", "computed", "MedicationAdministration", "Provenance"} {
		all.WriteString(whole[kind] + "\n")
	}
	golden(t, "small.resources.json.txt", all.String())
}

func kindOf(r Resource) string {
	if strings.HasPrefix(r.Role, "computed:sp_kt_v") {
		return "computed"
	}
	return r.Type
}

func indent(t *testing.T, data json.RawMessage) string {
	t.Helper()
	var out strings.Builder
	encoder := json.NewEncoder(&out)
	encoder.SetIndent("", "  ")
	encoder.SetEscapeHTML(false)
	if err := encoder.Encode(data); err != nil {
		t.Fatal(err)
	}
	return strings.TrimSpace(out.String())
}

func line(t *testing.T, r Resource) string {
	t.Helper()
	var body struct {
		Status            string
		Code              codeable
		EffectiveDateTime string
		EffectivePeriod   struct{ Start, End string }
		ValueQuantity     struct {
			Value      json.Number
			Comparator string
			Code       string
		}
		ValueString          string
		ValueCodeableConcept codeable
		DataAbsentReason     codeable
		Component            []struct {
			Code             codeable
			ValueQuantity    struct{ Value json.Number }
			DataAbsentReason codeable
		}
	}
	if err := json.Unmarshal(r.JSON, &body); err != nil {
		t.Fatal(err)
	}
	parts := []string{r.Type, r.Role, body.Status, body.Code.codes()}
	if body.EffectiveDateTime != "" {
		parts = append(parts, "@"+body.EffectiveDateTime)
	}
	if body.EffectivePeriod.Start != "" {
		parts = append(parts, "@"+body.EffectivePeriod.Start+".."+body.EffectivePeriod.End)
	}
	if q := body.ValueQuantity; q.Value != "" {
		parts = append(parts, "= "+q.Comparator+q.Value.String()+" "+q.Code)
	}
	parts = append(parts, body.ValueString, body.ValueCodeableConcept.codes(), body.DataAbsentReason.codes())
	for _, c := range body.Component {
		parts = append(parts, "["+c.Code.codes()+" "+c.ValueQuantity.Value.String()+c.DataAbsentReason.codes()+"]")
	}
	parts = append(parts, fmt.Sprint(r.Cells))
	return strings.Join(strings.Fields(strings.Join(parts, " ")), " ")
}

type codeable struct {
	Coding []struct{ Code string }
	Text   string
}

func (c codeable) codes() string {
	var codes []string
	for _, coding := range c.Coding {
		codes = append(codes, coding.Code)
	}
	if len(codes) == 0 && c.Text != "" {
		return "'" + c.Text + "'"
	}
	return strings.Join(codes, ",")
}

// A value typed 72.0 leaves as 72.0, and one typed 63.40 as 63.40.
func TestDecimalsLeaveAsWritten(t *testing.T) {
	month := mapLog(t, readLog(t, "testdata/small"), testOptions)
	text := string(month.Sessions[0].Resources[indexOf(month, 0, "weight_before")].JSON)
	if !strings.Contains(text, `"valueQuantity":{"value":63.40,"unit":"kg"`) {
		t.Errorf("63.40 did not leave as written: %s", text)
	}
	found := 0
	for _, s := range mapLog(t, readLog(t, "../testdata/month"), testOptions).Sessions {
		for _, r := range s.Resources {
			for _, role := range []string{"weight_before", "weight_after"} {
				if r.Role != role {
					continue
				}
				v := s.Session.Value(session.Field(role))
				if v.OK() && !strings.Contains(string(r.JSON), `"value":`+v.Text+`,`) {
					t.Errorf("%s was written %q, but left otherwise: %s", role, v.Text, r.JSON)
				}
				if strings.HasSuffix(v.Text, ".0") {
					found++
				}
			}
		}
	}
	if found == 0 {
		t.Error("the demo month has no weight that ends in .0, so nothing was tested")
	}
}

func indexOf(m *Month, at int, role string) int {
	for i, r := range m.Sessions[at].Resources {
		if r.Role == role {
			return i
		}
	}
	return -1
}

// Identity never depends on values: a corrected weight keeps every identity
// and changes only what rests on it.
func TestCorrectionKeepsIdentity(t *testing.T) {
	log := readLog(t, "testdata/small")
	before := mapLog(t, log, testOptions)
	v := log.Sessions[0].Values["weight_before"]
	v.Decimal, _ = session.ParseDecimal("63.5", '.')
	v.Text = "63.5"
	log.Sessions[0].Values["weight_before"] = v
	after := mapLog(t, log, testOptions)

	changed := map[string]bool{}
	for i, s := range before.Sessions {
		for j, r := range s.Resources {
			other := after.Sessions[i].Resources[j]
			if r.Identity != other.Identity || r.Role != other.Role || r.Condition != other.Condition {
				t.Errorf("%s was %s, is %s", r.Role, r.Identity, other.Identity)
			}
			if string(r.JSON) != string(other.JSON) {
				changed[r.Role] = true
			}
		}
	}
	want := map[string]bool{
		"weight_before": true, "computed:uf_expected:uf-expected": true,
		"computed:uf_discrepancy:uf-discrepancy": true, "provenance": true,
	}
	if diff := cmp.Diff(want, changed); diff != "" {
		t.Errorf("what a corrected weight changes (-want +got):\n%s", diff)
	}
}

// A session added in front leaves every byte of the raw records of the others
// as it was: only their computed values may look back.
func TestOtherSessionsStayAsTheyAre(t *testing.T) {
	whole := mapLog(t, readLog(t, "../testdata/month"), Options{Tool: testOptions.Tool, Options: manifest.Options{NoComputed: true}})
	log := readLog(t, "../testdata/month")
	log.Sessions = log.Sessions[3:]
	part := mapLog(t, log, Options{Tool: testOptions.Tool, Options: manifest.Options{NoComputed: true}})
	for i, s := range part.Sessions {
		for j, r := range s.Resources {
			other := whole.Sessions[i+3].Resources[j]
			if r.Role == "dry_weight" {
				continue // carried over from earlier sessions by design
			}
			if string(r.JSON) != string(other.JSON) {
				t.Errorf("session %s, %s differs", s.Session.ID, r.Role)
			}
		}
	}
}

func TestSameLogSameBytes(t *testing.T) {
	one := mapLog(t, readLog(t, "../testdata/month"), testOptions)
	two := mapLog(t, readLog(t, "../testdata/month"), testOptions)
	for i := range one.Records() {
		a, errA := one.Records()[i].Transaction()
		b, errB := two.Records()[i].Transaction()
		if errA != nil || errB != nil || string(a) != string(b) {
			t.Fatalf("session %d differs between two exports (%v, %v)", i, errA, errB)
		}
	}
}

// Every identity and every condition stands once in a Bundle: two entries
// with the same condition would both be created, or one be dropped.
func TestIdentitiesAreUnique(t *testing.T) {
	month := mapLog(t, readLog(t, "../testdata/month"), testOptions)
	perSession := map[string]string{}
	for _, s := range month.Sessions {
		ids, conditions := map[string]bool{}, map[string]bool{}
		for _, r := range s.Resources {
			if ids[r.Identity] || conditions[r.Condition] {
				t.Errorf("session %s: %s %s stands twice", s.Session.ID, r.Type, r.Role)
			}
			ids[r.Identity], conditions[r.Condition] = true, true
			if r.Type != "Device" {
				if other, twice := perSession[r.Identity]; twice {
					t.Errorf("%s is in sessions %s and %s", r.Role, other, s.Session.ID)
				}
				perSession[r.Identity] = s.Session.ID
			}
		}
	}
}

// Every input of every computed value is named in the record: by derivedFrom
// or by a component.
func TestComputedValuesNameTheirInputs(t *testing.T) {
	seen := map[string]bool{}
	for _, s := range mapLog(t, monthSampledOn(t, "2025-10-31"), testOptions).Sessions {
		for _, r := range s.Resources {
			if !strings.HasPrefix(r.Role, "computed:") {
				continue
			}
			var body struct {
				DerivedFrom []json.RawMessage
				Component   []json.RawMessage
				Method      codeable
			}
			if err := json.Unmarshal(r.JSON, &body); err != nil {
				t.Fatal(err)
			}
			code := body.Method.Coding[0].Code
			id := code[:strings.LastIndexByte(code, '-')]
			method, ok := calc.MethodByID(id)
			if !ok {
				t.Fatalf("%s: no method %s", r.Role, id)
			}
			seen[id] = true
			required := 0
			for _, in := range method.Inputs {
				if !in.Optional {
					required++
				}
			}
			if named := len(body.DerivedFrom) + len(body.Component); named < required {
				t.Errorf("%s names %d inputs, its method needs %d", r.Role, named, required)
			}
		}
	}
	for _, id := range []string{"spktv-daugirdas2-gfac", "ektv-rate-av", "stdktv-fhn-uf-kru", "dialysate-kt-v", "watson-male", "idwg", "uf-rate-per-kg"} {
		if !seen[id] {
			t.Errorf("the demo month has no value of %s", id)
		}
	}
}

// monthSampledOn is the demo month with its urea drawn on another day: on 29
// October less than a whole week is known of it.
func monthSampledOn(t *testing.T, day string) *session.Log {
	t.Helper()
	dir := t.TempDir()
	if err := os.CopyFS(dir, os.DirFS("../testdata/month")); err != nil {
		t.Fatal(err)
	}
	labs := filepath.Join(dir, "labs.csv")
	text, err := os.ReadFile(labs)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(labs, bytes.ReplaceAll(text, []byte("2025-10-29"), []byte(day)), 0o600); err != nil {
		t.Fatal(err)
	}
	return readLog(t, dir)
}

// A promised dose without its second sample is there, without a number and
// with the reason; a session without samples promises nothing.
func TestPromisedDoseWithoutSampleSaysWhy(t *testing.T) {
	month := mapLog(t, readLog(t, "testdata/small"), testOptions)
	at := indexOf(month, 2, "computed:sp_kt_v:spktv-daugirdas2-gfac")
	if at < 0 {
		t.Fatal("no spKt/V for the session with one sample")
	}
	text := string(month.Sessions[2].Resources[at].JSON)
	for _, want := range []string{`"status":"cancelled"`, `"code":"unknown"`, "not recorded: urea after dialysis"} {
		if !strings.Contains(text, want) {
			t.Errorf("missing %s in %s", want, text)
		}
	}
	var body struct{ ValueQuantity *json.RawMessage }
	if err := json.Unmarshal([]byte(text), &body); err != nil || body.ValueQuantity != nil {
		t.Errorf("a dose that cannot be computed has a number (%v): %s", err, text)
	}
}

// A dose for which all was recorded, and which still has no number, says that
// it is none and not that it is unknown.
func TestDoseThatIsNoNumberSaysSo(t *testing.T) {
	log := readLog(t, "testdata/small")
	for _, lab := range log.Sessions[0].Labs {
		if lab.When.Text == "after" {
			lab.Value.Decimal, _ = session.ParseDecimal("19.6", '.') // as before
		}
	}
	month := mapLog(t, log, testOptions)
	if text := string(month.Sessions[0].Resources[indexOf(month, 0, "computed:urea_reduction_ratio:urr")].JSON); !strings.Contains(text, `"code":"not-a-number"`) {
		t.Error(text)
	}
}

// A value that leaves an intake out is preliminary; urine left out does not make
// it so.
func TestLeftOutMakesPreliminary(t *testing.T) {
	for saline, want := range map[bool]string{false: "preliminary", true: "final"} {
		log := readLog(t, "testdata/small")
		s := log.Sessions[0]
		if saline {
			s.Values["saline"] = s.Values["drinks"]
		}
		month := mapLog(t, log, testOptions)
		if text := string(month.Sessions[0].Resources[indexOf(month, 0, "computed:uf_expected:uf-expected")].JSON); !strings.Contains(text, `"status":"`+want+`"`) {
			t.Errorf("saline %v: %s", saline, text)
		}
	}
}

// What has no time of its own has the day of its session, or, where that went on
// into the next day, the whole of it.
func TestEventsWithoutATime(t *testing.T) {
	log := readLog(t, "testdata/small")
	s := log.Sessions[0]
	s.Events[0].At = session.Moment{}
	for overnight, want := range []string{`"effectiveDateTime":"2025-10-06"`, `"effectivePeriod":{"start":"2025-10-06T18:00:00+01:00","end":"2025-10-07T18:00:00+01:00"}`} {
		if overnight > 0 {
			s.End.Time = s.Start.Time.AddDate(0, 0, 1)
		}
		month := mapLog(t, log, testOptions)
		if text := string(month.Sessions[0].Resources[indexOf(month, 0, "event:symptom")].JSON); !strings.Contains(text, want) {
			t.Errorf("%d days later: %s", overnight, text)
		}
	}
}

// Codes that were not verified or that mean something else never leave.
func TestForbiddenCodesNeverLeave(t *testing.T) {
	forbidden := []string{
		"93737-7", "99712-2", "18262-6", "18263-4", "68489-4", "70951-9", "71340-4", "70960-0", "70963-4", "70964-2",
		"71341-2", "72073-0", "17759-2", "17760-0", "101683-1", "60985-9", "252076005", "386534000", "71420008", "45633005", "34897002",
	}
	for _, m := range profiles.Measurements() {
		for _, c := range m.Codings {
			for _, bad := range forbidden {
				if c.Code == bad {
					t.Errorf("%s carries %s", m.Field, bad)
				}
			}
		}
	}
}

// carriedElsewhere are columns whose cells shape other resources: the time,
// code, unit or grouping of a value, rather than a value.
var carriedElsewhere = map[string]bool{
	"session": true, "status": true, "clock_change": true, "before_at": true, "after_at": true, "time": true,
	"kind": true, "dose_unit": true, "rate_unit": true, "until": true, "code_system": true, "code": true,
	"drawn_date": true, "drawn_time": true, "when": true, "test": true, "unit": true,
}

// Every filled cell of the demo month is behind some resource: nothing the
// person wrote is dropped.
func TestNoCellIsDropped(t *testing.T) {
	const dir = "../testdata/month"
	used := map[issue.Cell]bool{}
	for _, s := range mapLog(t, readLog(t, dir), testOptions).Sessions {
		for _, r := range s.Resources {
			for _, c := range r.Cells {
				used[c] = true
			}
		}
	}
	cells := 0
	for _, sheet := range []string{"sessions", "checks", "readings", "medicines", "labs", "events"} {
		file, err := os.Open(filepath.Join(dir, sheet+".csv"))
		if err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(file).ReadAll()
		file.Close()
		if err != nil {
			t.Fatal(err)
		}
		for i, row := range rows[1:] {
			for j, text := range row {
				heading := rows[0][j]
				if text = strings.TrimSpace(text); text == "" || text == "-" || carriedElsewhere[heading] {
					continue
				}
				cells++
				if c := (issue.Cell{File: sheet + ".csv", Row: i + 2, Column: j + 1, Heading: heading}); !used[c] {
					t.Errorf("%s is in no resource", c)
				}
			}
		}
	}
	if cells < 1000 {
		t.Errorf("only %d cells looked at", cells)
	}
}

// A server may replace whatever equals a fullUrl: references follow, and
// identifiers and conditions must stay as they are.
func TestIdentitySurvivesReplacedLinks(t *testing.T) {
	month := mapLog(t, readLog(t, "testdata/small"), testOptions)
	for _, s := range month.Records() {
		data, err := s.Transaction()
		if err != nil {
			t.Fatal(err)
		}
		text := string(data)
		for j, r := range s.Resources {
			text = strings.ReplaceAll(text, EntryURL(r.Identity), fmt.Sprintf("%s/%d", r.Type, j))
		}
		for _, r := range s.Resources {
			if r.Type == "Provenance" {
				continue // known by patient and time
			}
			if !strings.Contains(text, `"ifNoneExist":"`+r.Condition+`"`) || !strings.Contains(text, `"value":"urn:uuid:`+r.Identity+`"`) {
				t.Errorf("session %s: the identity of %s is gone", s.Session.ID, r.Role)
			}
		}
		if strings.Contains(text, `"reference":"urn:uuid:`) {
			t.Errorf("session %s refers to something that is no entry", s.Session.ID)
		}
	}
}

// Two values of one quantity by different methods have one code; their texts
// tell them apart.
func TestTextsOfOneQuantityDiffer(t *testing.T) {
	several := 0
	for _, s := range mapLog(t, monthSampledOn(t, "2025-10-31"), testOptions).Sessions {
		seen := map[string]string{}
		for _, r := range s.Resources {
			var o struct {
				Code, Method struct{ Text string }
				Text         struct{ Div string }
				Effective    json.RawMessage `json:"effectiveDateTime"`
			}
			if err := json.Unmarshal(r.JSON, &o); err != nil {
				t.Fatal(err)
			}
			if !strings.HasPrefix(r.Role, roleComputed) {
				continue
			}
			key := o.Code.Text + string(o.Effective)
			if before, twice := seen[key]; twice {
				t.Errorf("%s and %s both have the text %q", before, r.Role, o.Code.Text)
			}
			if seen[key] = r.Role; strings.Contains(o.Code.Text, ", method ") {
				several++
				if !strings.Contains(o.Text.Div, o.Code.Text) {
					t.Errorf("the narrative %s does not hold %q", o.Text.Div, o.Code.Text)
				}
			}
		}
	}
	if several == 0 {
		t.Error("the log has no quantity by two methods")
	}
}
