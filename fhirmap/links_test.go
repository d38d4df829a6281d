package fhirmap

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
)

// deviceOf is what each value of a session is read off, "" where a person
// measures or judges. Computed values, the panel and laboratory results have
// no device.
var deviceOf = map[string]string{
	"weight_before": "scales", "weight_after": "scales",
	"pulse_before": "cuff", "pulse_after": "cuff", "reading:pulse": "cuff",
	"bp_before_systolic": "cuff", "bp_after_systolic": "cuff", "reading:bp_systolic": "cuff",
	"bp_before_standing_systolic": "cuff", "bp_after_standing_systolic": "cuff",
	"temperature_before": "", "temperature_after": "", "recovery_time": "", "dry_weight": "",
	"arterial_needle_site": "", "venous_needle_site": "", "first_try": "", "needle_problems": "", "reading:note": "", "event:circuit": "", "event:other": "",
	"drinks": "", "saline": "", "rinseback": "", "urine": "", "event:symptom": "",
	"uf_goal": "machine", "uf_removed": "machine", "dialysate_volume": "machine", "blood_processed": "machine", "treated_time": "machine",
	"blood_flow": "machine", "dialysate_flow": "machine", "dialysate_sodium": "machine", "dialysate_potassium": "machine",
	"dialysate_calcium": "machine", "dialysate_bicarbonate": "machine", "dialysate_lactate": "machine",
	"reading:blood_flow": "machine", "reading:dialysate_flow": "machine", "reading:arterial_line_pressure": "machine",
	"reading:venous_line_pressure": "machine", "reading:transmembrane_pressure": "machine", "reading:uf_rate": "machine",
	"reading:uf_so_far": "machine", "reading:dialysate_conductivity": "machine", "reading:dialysate_temperature": "machine",
	"event:alarm": "machine",
}

// links are the parts of a resource that lead elsewhere.
type links struct {
	Meta                                   struct{ Profile []string }
	Device                                 struct{ Reference string }
	DerivedFrom, HasMember, Target, PartOf []struct {
		Reference  string
		Identifier struct{ Value string }
		Display    string
	}
	Component []struct{ Code codeable }
	Extension []struct{ ValueCodeableConcept codeable }
}

func linksOf(t *testing.T, r Resource) links {
	t.Helper()
	var l links
	if err := json.Unmarshal(r.JSON, &l.Meta); err != nil {
		t.Fatal(err)
	}
	// A Procedure's partOf and a Device's extension have other shapes; nothing
	// of them is read here.
	if r.Type == "Observation" || r.Type == "Provenance" {
		if err := json.Unmarshal(r.JSON, &l); err != nil {
			t.Fatal(err)
		}
	}
	var meta struct{ Meta struct{ Profile []string } }
	if err := json.Unmarshal(r.JSON, &meta); err != nil {
		t.Fatal(err)
	}
	l.Meta = meta.Meta
	return l
}

// Each value names the device it was read off and no other: a pulse from the
// scales or a weight from the dialysis machine would be wrong on every sheet.
func TestEachValueNamesTheDeviceItWasReadOff(t *testing.T) {
	met := map[string]int{}
	for _, s := range mapLog(t, readLog(t, "../testdata/month"), testOptions).Sessions {
		kinds := map[string]string{}
		for _, r := range s.Resources {
			if kind, ok := strings.CutPrefix(r.Role, "device:"); ok {
				kinds[EntryURL(r.Identity)] = kind
			}
		}
		for _, r := range s.Resources {
			if r.Type != "Observation" {
				continue
			}
			role, _, _ := strings.Cut(strings.TrimPrefix(r.Role, "reading:"), ":")
			if strings.HasPrefix(r.Role, "reading:") || strings.HasPrefix(r.Role, "event:") {
				role = r.Role
			}
			want, listed := deviceOf[role]
			if !listed && role != "computed" && role != "lab" && role != "adequacy_panel" && role != "check" {
				t.Errorf("%s is not listed with its device", role)
			}
			if got := kinds[linksOf(t, r).Device.Reference]; listed && got != want {
				t.Errorf("session %s: %s was read off %q, want %q", s.Session.ID, r.Role, got, want)
			}
			met[want]++
		}
	}
	for kind, least := range map[string]int{"scales": 40, "cuff": 300, "machine": 900, "": 100} {
		if met[kind] < least {
			t.Errorf("%d values of device %q were looked at, want %d or more", met[kind], kind, least)
		}
	}
}

// What each kind of resource claims, and what it refers to, once for each kind
// of role: a resource of the wrong profile or derived from the wrong one would
// be read by a receiver as something else.
func TestLinksGolden(t *testing.T) {
	opts := testOptions
	opts.ClaimProfiles, opts.CreatePatient = "https://example.org", true
	month := mapLog(t, monthSampledOn(t, "2025-10-31"), opts)
	roles := map[string]string{}
	for _, s := range month.Records() {
		for _, r := range s.Resources {
			roles[r.Identity], roles[EntryURL(r.Identity)], roles["urn:uuid:"+r.Identity] = r.Role, r.Role, r.Role
		}
	}
	seen := map[string]bool{}
	var out strings.Builder
	for _, s := range month.Records() {
		for _, r := range s.Resources {
			if seen[r.Role] && r.Role != roleWeek {
				continue
			}
			seen[r.Role] = true
			fmt.Fprintf(&out, "%s %s", r.Type, r.Role)
			l := linksOf(t, r)
			add := func(name string, words ...string) {
				if len(words) > 0 {
					fmt.Fprintf(&out, "; %s %s", name, strings.Join(words, ", "))
				}
			}
			for _, p := range l.Meta.Profile {
				add("profile", p[strings.LastIndexByte(p, '/')+1:])
			}
			from := make([]string, 0, len(l.DerivedFrom))
			for _, ref := range l.DerivedFrom {
				from = append(from, strings.TrimSpace(roles[ref.Reference]+roles[ref.Identifier.Value]+" "+ref.Display))
			}
			if r.Role == roleWeek {
				slices.Sort(from)
				from = counted(from)
			}
			add("derived from", from...)
			if len(l.HasMember) > 0 {
				add("members", fmt.Sprint(len(l.HasMember)))
			}
			if len(l.Target) > 0 {
				add("targets", fmt.Sprintf("%d of %d", len(l.Target), len(s.Resources)))
				for _, target := range l.Target {
					if strings.HasPrefix(roles[target.Reference], "device:") || roles[target.Reference] == "" || roles[target.Reference] == "patient" {
						t.Errorf("%s is about %q", r.Role, roles[target.Reference])
					}
				}
			}
			for _, c := range l.Component {
				add("component", c.Code.codes())
			}
			for _, e := range l.Extension {
				add("extension", e.ValueCodeableConcept.codes())
			}
			if r.Condition != "identifier="+profiles.RecordIdentifier+"|urn:uuid:"+r.Identity {
				add("condition", r.Condition)
			}
			out.WriteString("\n")
		}
	}
	golden(t, "links.txt", out.String())
}

// counted writes equal neighbours once, with their number.
func counted(words []string) []string {
	var out []string
	for i := 0; i < len(words); {
		j := i
		for j < len(words) && words[j] == words[i] {
			j++
		}
		out = append(out, fmt.Sprintf("%d × %s", j-i, words[i]))
		i = j
	}
	return out
}

// A Provenance is found again by its time and the session's Procedure; under
// its own id it needs no condition, and without one no Provenance is written.
func TestConditionOfTheProvenance(t *testing.T) {
	log := readLog(t, "testdata/small")
	for mode, want := range map[string]string{
		ConditionalProvenance: "recorded=2025-10-06T20%3A10%3A00Z&target:Procedure.identifier=" + profiles.RecordIdentifier + "|urn:uuid:PROCEDURE",
		PutProvenance:         "",
	} {
		opts := testOptions
		opts.Provenance = mode
		s := mapLog(t, log, opts).Sessions[0]
		last := s.Resources[len(s.Resources)-1]
		procedure := s.Resources[slices.IndexFunc(s.Resources, func(r Resource) bool { return r.Type == "Procedure" })]
		if got := strings.ReplaceAll(last.Condition, procedure.Identity, "PROCEDURE"); last.Type != "Provenance" || got != want {
			t.Errorf("%s: %s with condition %q, want %q", mode, last.Type, got, want)
		}
		if hasID := strings.Contains(string(last.JSON), `"id":"`+last.Identity+`"`); hasID != (mode == PutProvenance) {
			t.Errorf("%s: the Provenance has its id: %v", mode, hasID)
		}
	}
	opts := testOptions
	opts.Provenance = NoProvenance
	for _, r := range mapLog(t, log, opts).Sessions[0].Resources {
		if r.Type == "Provenance" {
			t.Error("a Provenance was written unasked")
		}
	}
}

// Of a series of readings the first and the last stay where only they are
// asked for, and all of a series of two.
func TestFirstAndLastReading(t *testing.T) {
	log := readLog(t, "../testdata/month")
	opts := testOptions
	opts.Series = FirstAndLast
	part, whole := mapLog(t, log, opts), mapLog(t, log, testOptions)
	times := func(s SessionRecord) []string {
		var out []string
		for _, r := range s.Resources {
			if r.Role == "reading:bp_systolic" {
				var body struct{ EffectiveDateTime string }
				if err := json.Unmarshal(r.JSON, &body); err != nil {
					t.Fatal(err)
				}
				out = append(out, body.EffectiveDateTime)
			}
		}
		return out
	}
	longer := 0
	for i, s := range whole.Sessions {
		all, ends := times(s), times(part.Sessions[i])
		if len(all) > 2 {
			longer++
			all = []string{all[0], all[len(all)-1]}
		}
		if !slices.Equal(all, ends) {
			t.Errorf("session %s: %v, want %v", s.Session.ID, ends, all)
		}
	}
	if longer == 0 {
		t.Error("no session has more than two readings")
	}
}

// Without free texts only words of lists stay, and what our own tables name.
func TestWithoutWordsKeepsListedWords(t *testing.T) {
	text := func(s string) session.Text { return session.Text{Text: s} }
	log := &session.Log{Sessions: []*session.Session{{
		Reason: text("my sister visited"),
		Texts: map[session.Field]session.Text{
			"needle_gauge": text("15"), "notes": text("slept badly"), "prescription": text("short day"), "needle_problems": text("my own way"),
		},
		Checks: []*session.Check{
			{What: text("disinfection"), Result: text("ok"), ByWhom: text("helper"), Words: text("ten minutes")},
			{What: text("tape on the hose"), Result: text("dry as ever"), ByWhom: text("aunt May")},
		},
		Medicines: []*session.Medicine{{Name: text("Heparin")}, {Name: text("aunt May's drops")}},
		Events: []*session.Event{
			{What: text("Cramp "), Action: text("called aunt May"), AlarmNumber: text("0417")},
			{What: text("quarrel"), AlarmNumber: text("A17")},
		},
	}}}
	s := withoutWords(log).Sessions[0]
	got := []string{
		s.Reason.Text, s.Texts["needle_gauge"].Text, s.Texts["notes"].Text, s.Texts["prescription"].Text, s.Texts["needle_problems"].Text,
		s.Checks[0].What.Text, s.Checks[0].Result.Text, s.Checks[0].ByWhom.Text, s.Checks[0].Words.Text,
		s.Checks[1].What.Text, s.Checks[1].Result.Text, s.Checks[1].ByWhom.Text,
		s.Medicines[0].Name.Text, s.Medicines[1].Name.Text,
		s.Events[0].What.Text, s.Events[0].Action.Text, s.Events[0].AlarmNumber.Text, s.Events[1].What.Text, s.Events[1].AlarmNumber.Text,
	}
	want := []string{
		"", "15", "", "short day", "",
		"disinfection", "ok", "helper", "",
		withheld, "", "",
		"Heparin", withheld,
		"Cramp ", "", "0417", withheld, "",
	}
	if !slices.Equal(got, want) {
		t.Errorf("got  %q\nwant %q", got, want)
	}
	if again := withoutWords(&session.Log{Sessions: []*session.Session{{Texts: map[session.Field]session.Text{"needle_gauge": text("15 blunt")}}}}); again.Sessions[0].Texts["needle_gauge"].Text != "" {
		t.Error("words beside a gauge stay")
	}
	if log.Sessions[0].Events[0].Action.Text == "" {
		t.Error("the log itself was changed")
	}
}

// XHTML allows no control characters but tab and line feed, and not the two
// non-characters at the end of the plane.
func TestPrintable(t *testing.T) {
	if got := printable("a\x00b\x1f\tc\nd \ufffe\uffff\u00e9"); got != "ab\tc\nd \u00e9" {
		t.Errorf("%q", got)
	}
}
