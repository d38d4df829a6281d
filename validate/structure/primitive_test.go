package structure_test

import (
	"encoding/json"
	"strings"
	"testing"
)

// Formats and ranges are those of FHIR R4 4.0.1, datatypes.
func TestPrimitives(t *testing.T) {
	for _, c := range []struct {
		ending, rule string // of the type in value[x], and of what breaks it
		good, bad    []string
	}{
		{"Date", "r4-date",
			[]string{`"2026"`, `"2026-02"`, `"2024-02-29"`, `"2000-02-29"`, `"0001-01-01"`, `"9999-12-31"`},
			[]string{`"26"`, `"2026-13"`, `"2026-00"`, `"2026-02-29"`, `"1900-02-29"`, `"2026-04-31"`, `"2026-01-00"`, `"0000"`,
				`"2026-1-1"`, `"2026-01-01T10:00:00Z"`, `"2026-01-01 "`, `" 2026"`, `"2026-"`, `"20260101"`, `"２０２６"`}},
		{"DateTime", "r4-datetime",
			[]string{`"2026"`, `"2026-02"`, `"2026-02-28"`, `"2026-01-01T00:00:00Z"`, `"2026-01-01T23:59:59.123456789+14:00"`,
				`"2016-12-31T23:59:60Z"`, `"2026-01-01T07:00:00-13:59"`},
			[]string{`"2026-01-01T24:00:00Z"`, `"2026-01-01T07:00Z"`, `"2026-01-01T07:00:00"`, `"2026-01-01T07:00:00+0100"`,
				`"2026-01-01T07:00:00+14:01"`, `"2026-01-01T07:00:00+15:00"`, `"2026-01-01T07:00:00z"`, `"2026-01-01t07:00:00Z"`,
				`"2026-01T07:00:00Z"`, `"2026-01-01T07:60:00Z"`, `"2026-01-01T07:00:61Z"`, `"2026-01-01T07:00:00.Z"`, `"2026-01-01T"`,
				`"2026-02-30T07:00:00Z"`, `"2026-01-01T07:00:00+01:60"`, `"2026-01-01 07:00:00Z"`}},
		{"Instant", "r4-instant",
			[]string{`"2026-01-01T07:00:00Z"`, `"2026-01-01T07:00:00.5+01:00"`},
			[]string{`"2026-01-01"`, `"2026"`, `"2026-01-01T07:00:00"`, `"2026-13-01T07:00:00Z"`}},
		{"Time", "r4-time",
			[]string{`"00:00:00"`, `"23:59:60"`, `"07:30:00.25"`},
			[]string{`"24:00:00"`, `"07:30"`, `"7:30:00"`, `"07:30:00Z"`, `"07:30:00."`}},
		{"Integer", "r4-integer",
			[]string{`0`, `-1`, `2147483647`, `-2147483648`, `-0`},
			[]string{`2147483648`, `-2147483649`, `1.0`, `1e2`, `99999999999999999999999`}},
		{"PositiveInt", "r4-integer", []string{`1`, `2147483647`}, []string{`0`, `-1`, `2147483648`, `1.5`}},
		{"UnsignedInt", "r4-integer", []string{`0`, `1`, `2147483647`}, []string{`-1`, `2147483648`}},
		{"Decimal", "", []string{`0`, `-0.10`, `1.50e-7`, `1E400`, `123456789012345678901234567890.1`}, nil},
		{"Boolean", "r4-type", []string{`true`, `false`}, []string{`"true"`, `1`}},
		{"Id", "r4-id",
			[]string{`"a"`, `"A-1.b"`, `"` + strings.Repeat("x", 64) + `"`},
			[]string{`"a b"`, `"a_b"`, `"é"`, `"` + strings.Repeat("x", 65) + `"`}},
		{"Oid", "r4-oid",
			[]string{`"urn:oid:1.2.3"`, `"urn:oid:2.16.840.1.113883"`, `"urn:oid:1.0"`},
			[]string{`"1.2.3"`, `"urn:oid:3.1"`, `"urn:oid:1"`, `"urn:oid:1."`, `"urn:oid:1.02"`, `"urn:oid:1..2"`, `"urn:oid:1.a"`}},
		{"Uuid", "r4-uuid",
			[]string{`"urn:uuid:98ebcb82-034f-4a54-aedd-74d0cfc15a04"`},
			[]string{`"98ebcb82-034f-4a54-aedd-74d0cfc15a04"`, `"urn:uuid:98EBCB82-034f-4a54-aedd-74d0cfc15a04"`,
				`"urn:uuid:98ebcb82034f4a54aedd74d0cfc15a04"`, `"urn:uuid:98ebcb82-034f-4a54-aedd-74d0cfc15a0g"`,
				`"urn:uuid:98ebcb82-034f-4a54-aedd0-74d0cfc15a0"`, `"urn:uuid:98ebcb82-034f-4a54-aedd-74d0cfc15a0-"`,
				`"urn:uuid:98ebcb82-034f-4a54-aedd-74d0cfc15a0"`}},
		{"Code", "r4-code",
			[]string{`"a"`, `"a b"`, `"mm[Hg]"`, `"a\tb"`},
			[]string{`" a"`, `"a "`, `"a  b"`, `" "`, `"a\n"`}},
		{"Uri", "r4-uri",
			[]string{`"http://example.org/a?b=c#d"`, `"urn:oid:1.2"`, `"#a"`, `"relative/path"`},
			[]string{`"http://a b"`, `" http://a"`, `"http://a\tb"`}},
		{"Url", "r4-uri", []string{`"mailto:a@example.org"`}, []string{`"a b"`}},
		{"Canonical", "r4-uri", []string{`"http://example.org/q|1.0"`, `"urn:uuid:98ebcb82-034f-4a54-aedd-74d0cfc15a04|4.0.1"`}, []string{`"a b"`}},
		{"Uri", "r4-urn", nil, []string{`"urn:uuid:98EBCB82-034F-4A54-AEDD-74D0CFC15A04"`, `"urn:oid:x.y"`, `"urn:uuid:1|2"`}},
		{"Base64Binary", "r4-base64",
			[]string{`"AAAA"`, `"AA=="`, `"AAA="`, `"AAAA BBBB"`, `"AAAA\r\nAA=="`, `"+/+/"`},
			[]string{`"AAA"`, `"A"`, `"A==="`, `"AA=A"`, `"!!!!"`, `" "`, `"AA-_"`}},
		{"String", "r4-string-blank", []string{`"x"`, `" x "`, `"é\n\t"`}, []string{`" "`, `"\n\t"`}},
		{"String", "r4-string-control", nil, []string{`"a\u0007b"`, `"a\u0000b"`, `"\u001f"`}},
		{"Markdown", "r4-empty", []string{`"*x*"`}, []string{`""`}},
	} {
		for _, value := range c.good {
			if got := describe(check(extension(c.ending, value))); got != "" {
				t.Errorf("%s %s: got %s", c.ending, value, got)
			}
		}
		for _, value := range c.bad {
			found := check(extension(c.ending, value))
			if len(found) != 1 || found[0].Rule != c.rule || found[0].Expression != "Basic.extension[0].value" {
				t.Errorf("%s %s: got %s, want %s", c.ending, value, describe(found), c.rule)
			}
		}
	}
}

func extension(ending, value string) string {
	return `{"resourceType":"Basic","code":{"text":"x"},"extension":[{"url":"http://example.org/e","value` + ending + `":` + value + `}]}`
}

func TestLongText(t *testing.T) {
	most := strings.Repeat("é", 1<<20)
	if got := describe(check(extension("String", `"`+most+`"`))); got != "" {
		t.Errorf("1,048,576 characters: %s", got)
	}
	if got := describe(check(extension("String", `"`+most+`x"`))); got != "r4-string-length Basic.extension[0].value" {
		t.Errorf("one more: %s", got)
	}
}

func TestNarrative(t *testing.T) {
	const in = `<div xmlns="http://www.w3.org/1999/xhtml">`
	for _, c := range []struct{ div, want string }{
		{in + `ok</div>`, ""},
		{` <div xmlns='http://www.w3.org/1999/xhtml' class="a">ok</div> `, ""},
		{in + `<p title="a &amp; b">1 &lt; 2 &#160;&#xA0;</p><br/><hr /><table><tbody><tr><td colspan="2">x</td></tr></tbody></table></div>`, ""},
		{in + `<img src="#i" alt="x"/></div>`, ""},
		{in + `<!-- note -->x<![CDATA[ < ]]></div>`, ""},
		{in + `<a href="http://example.org/">x</a><a name="y">z</a></div>`, ""},
		{in + `<p style="color: red">x</p></div>`, ""},
		{`ok`, "r4-narrative"},
		{`<p xmlns="http://www.w3.org/1999/xhtml">ok</p>`, "r4-narrative"},
		{`<div>ok</div>`, "r4-narrative"},
		{`<div xmlns="http://example.org/">ok</div>`, "inv-txt-1"},
		{`<divx xmlns="http://www.w3.org/1999/xhtml">ok</divx>`, "inv-txt-1"},
		{in + `ok`, "r4-narrative"},
		{in + `<p>ok</div>`, "r4-narrative"},
		{in + `<p>ok</b></p></div>`, "r4-narrative"},
		{in + `ok</div><div>more</div>`, "r4-narrative"},
		{in + `1 < 2</div>`, "r4-narrative"},
		{in + `a & b</div>`, "r4-narrative"},
		{in + `a&nbsp;b</div>`, "r4-narrative"},
		{in + `a&#0;b</div>`, "r4-narrative"},
		{in + `a&#xZ;b</div>`, "r4-narrative"},
		{in + `<p title=x>ok</p></div>`, "r4-narrative"},
		{in + `<p title>ok</p></div>`, "r4-narrative"},
		{in + `<p title="x>ok</p></div>`, "r4-narrative"},
		{in + `<p id="x" id="y">ok</p></div>`, "r4-narrative"},
		{in + `<p id="x"class="y">ok</p></div>`, "r4-narrative"},
		{in + `<?php x ?>ok</div>`, "r4-narrative"},
		{`<!DOCTYPE html>` + in + `ok</div>`, "r4-narrative"},
		{in + `<!-- ok</div>`, "r4-narrative"},
		{in + strings.Repeat("<b>", 300) + "x" + strings.Repeat("</b>", 300) + `</div>`, "r4-narrative"},
		{in + `  </div>`, "inv-txt-2"},
		{in + `<!-- x --></div>`, "inv-txt-2"},
		{in + `<br/></div>`, "inv-txt-2"},
		{in + `<script>x</script></div>`, "inv-txt-1"},
		{in + `<P>x</P></div>`, "inv-txt-1"},
		{in + `<iframe src="x"/>x</div>`, "inv-txt-1 inv-txt-1"},
		{in + `<form><input name="x"/>x</form></div>`, "inv-txt-1 inv-txt-1 inv-txt-1"},
		{in + `<p onclick="x()">x</p></div>`, "inv-txt-1"},
		{in + `<a href="javascript:x()">x</a></div>`, "inv-txt-1"},
		{in + `<a href=" Java&#x53;cript:x()">x</a></div>`, "inv-txt-1"},
		{in + `<p xlink:href="x">x</p></div>`, "inv-txt-1"},
		{in + `<font color="red">x</font></div>`, "inv-txt-1 inv-txt-1"},
		{in + `<object data="x">x</object></div>`, "inv-txt-1 inv-txt-1"},
	} {
		quoted, err := json.Marshal(c.div)
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, f := range check(`{"resourceType":"Basic","code":{"text":"x"},"text":{"status":"generated","div":` + string(quoted) + `}}`) {
			if f.Expression != "Basic.text.`div`" {
				t.Errorf("%s: expression %s", c.div, f.Expression)
			}
			got = append(got, f.Rule)
		}
		if s := strings.Join(got, " "); s != c.want {
			t.Errorf("%s: got %q, want %q", c.div[:min(len(c.div), 120)], s, c.want)
		}
	}
}
