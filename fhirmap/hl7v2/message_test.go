package hl7v2

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"runsheet.example/fhirmap"
)

// What a person wrote never contains a delimiter, nor a character that ends a
// segment or frames a message on the line; and different texts stay different,
// except the forms of a line break.
func TestEscape(t *testing.T) {
	for text, want := range map[string]string{
		`a|b^c&d~e\f`: `a\F\b\S\c\T\d\R\e\E\f`, "a\r\nb\nc\rd": `a\.br\b\.br\c\.br\d`,
		"\x0b\x1c\t": `\X0B\\X1C\\X09\`, "Müller 血": "Müller 血", `\F\`: `\E\F\E\`,
	} {
		if got := escape(text); got != want {
			t.Errorf("%q: %s, want %s", text, got, want)
		}
	}
	back := strings.NewReplacer(`\E\`, `\`, `\F\`, `|`, `\S\`, `^`, `\T\`, `&`, `\R\`, `~`, `\.br\`, "\n", `\X09\`, "\t", `\X00\`, "\x00")
	rapid.Check(t, func(rt *rapid.T) {
		text := rapid.StringOf(rapid.SampledFrom([]rune("aFSTRE.br\\|^&~\n\t\x00ü"))).Draw(rt, "text")
		got := escape(text)
		if strings.ContainsAny(got, "|^&~\r\n\x00\x0b\x1c") || back.Replace(got) != text {
			rt.Errorf("%q: %s", text, got)
		}
	})
}

func TestTimestamp(t *testing.T) {
	for fhir, want := range map[string]string{
		"": "", "2025-11-03": "20251103", "2025-11-03T17:40:00Z": "20251103174000+0000",
		"2025-10-25T22:50:00+01:00": "20251025225000+0100", "2025-10-25T22:50:00-03:30": "20251025225000-0330",
	} {
		if got := timestamp(fhir); got != want {
			t.Errorf("%s: %s, want %s", fhir, got, want)
		}
	}
}

func TestAuthority(t *testing.T) {
	for system, want := range map[string]string{
		"urn:oid:1.2.3": "&1.2.3&ISO", "https://clinic.example/numbers?a=1&b=2": `&https://clinic.example/numbers?a=1\T\b=2&URI`,
		"urn:uuid:0ee84880-ea27-4eaa-a5d9-a0c472f1caf2": "&0ee84880-ea27-4eaa-a5d9-a0c472f1caf2&UUID",
	} {
		if got := authority(system, "&"); got != want {
			t.Errorf("%s: %s, want %s", system, got, want)
		}
	}
}

// session is the record of a session with few values.
func sessionRecord(observations ...string) Record {
	const procedure = "8ef2bd28-12d5-5b6c-9d57-2b51fadfe60f"
	r := Record{Identity: procedure, Resources: []fhirmap.Resource{{
		Type: "Procedure", Identity: procedure, Role: "procedure",
		JSON: []byte(`{"resourceType":"Procedure","status":"completed","code":{"coding":[{"system":"http://snomed.info/sct","code":"302497006"}]},"performedPeriod":{"start":"2025-11-03T18:22:00Z","end":"2025-11-03T21:23:00Z"}}`),
	}}}
	for i, o := range observations {
		id := string(rune('a'+i)) + "f4699cb-a062-5284-87c6-8480399b7716"
		r.Resources = append(r.Resources, fhirmap.Resource{Type: "Observation", Identity: id, Role: "weight_after", JSON: []byte(`{"resourceType":"Observation",` + o + `}`)})
	}
	return r
}

func weight(code, number string) string {
	return `"status":"final","code":{"coding":[{"system":"http://loinc.org","code":"` + code + `"}],"text":"Weight"},"effectiveDateTime":"2025-11-03","valueQuantity":{"value":` + number + `,"unit":"kg","code":"kg"}`
}

func segments(t *testing.T, r Record) (Message, []string) {
	t.Helper()
	m, err := New(Log{ID: "0ee84880-ea27-4eaa-a5d9-a0c472f1caf2", System: "urn:oid:1.2.3", Value: "42"}, r)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, line := range strings.Split(strings.TrimSuffix(string(m.Text), "\r"), "\r") {
		if strings.HasPrefix(line, "OB") {
			out = append(out, line)
		}
	}
	return m, out
}

// A later message repeats the record: corrected values are C, values that are
// gone or have another code are D, the others as before. Its id differs, also
// where it restores what the first message said.
func TestLaterMessages(t *testing.T) {
	first, got := segments(t, sessionRecord(weight("29463-7", "70.40"), weight("29463-7", "71"), weight("8335-2", "71")))
	want := []string{
		"OBR|1||8ef2bd28-12d5-5b6c-9d57-2b51fadfe60f^^8ef2bd28-12d5-5b6c-9d57-2b51fadfe60f^UUID|302497006^^SCT|||20251103182200+0000|20251103212300+0000||||||||||||||20251103212300+0000|||F",
		"OBX|1|NM|29463-7^Weight^LN^weight_after^Weight^L|af4699cba0625284|70.40|kg^kg^UCUM|||||F|||20251103",
		"OBX|2|NM|29463-7^Weight^LN^weight_after^Weight^L|bf4699cba0625284|71|kg^kg^UCUM|||||F|||20251103",
		"OBX|3|NM|8335-2^Weight^LN^weight_after^Weight^L|cf4699cba0625284|71|kg^kg^UCUM|||||F|||20251103",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	later := sessionRecord(weight("29463-7", "70.50"), weight("3141-9", "71"))
	later.Later = &Later{Number: 2, At: time.Date(2025, 12, 1, 8, 0, 0, 0, time.UTC), Corrected: map[string]bool{later.Resources[1].Identity: true, later.Resources[2].Identity: true}}
	for identity, keys := range first.Keys {
		later.Later.Before = append(later.Later.Before, Keyed{identity, keys})
	}
	second, got := segments(t, later)
	want = []string{
		"OBR|1||8ef2bd28-12d5-5b6c-9d57-2b51fadfe60f^^8ef2bd28-12d5-5b6c-9d57-2b51fadfe60f^UUID|302497006^^SCT|||20251103182200+0000|20251103212300+0000||||||||||||||20251201080000+0000|||C",
		"OBX|1|NM|29463-7^Weight^LN^weight_after^Weight^L|af4699cba0625284|70.50|kg^kg^UCUM|||||C|||20251103",
		"OBX|2|NM|3141-9^Weight^LN^weight_after^Weight^L|bf4699cba0625284|71|kg^kg^UCUM|||||C|||20251103",
	}
	withdrawn := map[string]bool{"29463-7^^LN|bf4699cba0625284|||||||D": true, "8335-2^^LN|cf4699cba0625284|||||||D": true}
	if diff := cmp.Diff(want, got[:3]); diff != "" || len(got) != 5 {
		t.Errorf("%s%q", diff, got)
	}
	for _, line := range got[3:] {
		if !withdrawn[strings.TrimPrefix(strings.TrimPrefix(line, "OBX|3||"), "OBX|4||")] {
			t.Errorf("unexpected %s", line)
		}
	}
	restored := sessionRecord(weight("29463-7", "70.40"), weight("29463-7", "71"), weight("8335-2", "71"))
	restored.Later = &Later{Number: 3, At: later.Later.At}
	third, _ := segments(t, restored)
	if first.ID == second.ID || first.ID == third.ID || second.ID == third.ID {
		t.Errorf("ids %s, %s, %s", first.ID, second.ID, third.ID)
	}
	restored.Later.At = time.Now()
	if again, _ := segments(t, restored); again.ID != third.ID {
		t.Error("the id depends on the clock")
	}
	gone := Record{Identity: later.Identity, Later: &Later{Number: 4, At: later.Later.At, Before: []Keyed{{later.Identity, first.Keys[later.Identity]}, {later.Resources[1].Identity, first.Keys[later.Resources[1].Identity]}}}}
	if _, got := segments(t, gone); len(got) != 2 || !strings.Contains(got[0], "|302497006^^SCT|") || !strings.HasSuffix(got[0], "|X") || !strings.HasSuffix(got[1], "|D") {
		t.Errorf("withdrawn session: %q", got)
	}
}

// Components with one code have different keys.
func TestSameCodeTwice(t *testing.T) {
	component := `{"code":{"coding":[{"system":"urn:oid:1","code":"x"}]},"valueInteger":1}`
	_, got := segments(t, sessionRecord(`"status":"final","code":{"text":"Week"},"component":[`+strings.Join([]string{component, component, component}, ",")+`]`))
	for i, sub := range []string{"af4699cba0625284", "af4699cba0625284.2", "af4699cba0625284.3"} {
		if !strings.Contains(got[i+1], "|"+sub+"|1|") {
			t.Errorf("%s in %s", sub, got[i+1])
		}
	}
}

// An element that no message carries ends the export instead of being left out
// unseen.
func TestUnknownElement(t *testing.T) {
	for _, r := range []Record{
		sessionRecord(`"status":"final","code":{"text":"x"},"valueBoolean":true`),
		{Identity: "8ef2bd28-12d5-5b6c-9d57-2b51fadfe60f"},
	} {
		if m, err := New(Log{}, r); err == nil {
			t.Errorf("written: %q", m.Text)
		}
	}
}
