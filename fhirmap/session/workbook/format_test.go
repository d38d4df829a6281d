package workbook

import (
	"testing"

	"pgregory.net/rapid"
)

// Formats as programs write them, with what they make of a number. The
// built-in ones are ECMA-376 part 1, 18.8.30.
func TestShapeOfFormats(t *testing.T) {
	date, clock, both := shape{date: true}, shape{clock: true}, shape{date: true, clock: true}
	tests := []struct {
		format string
		want   shape
	}{
		{"General", shape{}}, {"@", shape{}}, {"0", shape{rounds: true}},
		{"0.0", shape{decimals: 1, rounds: true, most: 1}}, {"0.00", shape{decimals: 2, rounds: true, most: 2}}, {"#,##0.00", shape{decimals: 2, rounds: true, most: 2}},
		{"0.0##", shape{decimals: 1, rounds: true, most: 3}}, {"0.00;[Red]-0.00", shape{decimals: 2, rounds: true, most: 2}}, {`0.0" kg"`, shape{decimals: 1, rounds: true, most: 1, suffix: " kg"}},
		{`0.00\ "m"`, shape{decimals: 2, rounds: true, most: 2, suffix: " m"}}, {"0%", shape{percent: true, rounds: true}}, {"0.0%", shape{percent: true, decimals: 1, rounds: true, most: 1}},
		{"0.00E+00", shape{}}, {"# ?/?", shape{}},
		{"yyyy-mm-dd", date}, {"dd/mm/yyyy", date}, {"[$-809]ddd d mmm yyyy", date}, {"mmm", date},
		{"[$-F800]dddd\\,\\ mmmm\\ dd\\,\\ yyyy", shape{date: true, suffix: ",  , "}}, {"tt.MM.yyyy", date},
		{"hh:mm", clock}, {"h:mm AM/PM", clock}, {"hh:mm:ss", clock}, {"mm:ss", clock}, {"[$-409]h:mm AM/PM;@", clock},
		{"[h]:mm", shape{clock: true, elapsed: true}}, {"[mm]:ss", shape{clock: true, elapsed: true}},
		{"dd/mm/yyyy hh:mm", both}, {"m/d/yy h:mm", both},
		{"[Red]0.0", shape{decimals: 1, rounds: true, most: 1}}, {"[", shape{}}, {`"`, shape{}}, {`\`, shape{}},
	}
	for _, tt := range tests {
		if got := shapeOf(tt.format); got != tt.want {
			t.Errorf("format %q is %+v, want %+v", tt.format, got, tt.want)
		}
	}
}

func TestRender(t *testing.T) {
	b := &book{texts: []cellString{{text: "shared"}}}
	for _, s := range []shape{
		{}, {decimals: 1}, {decimals: 2}, {date: true}, {clock: true}, {date: true, clock: true}, {clock: true, elapsed: true}, {percent: true},
	} {
		b.formats = append(b.formats, cellFormat{shape: s})
	}
	tests := []struct {
		name string
		cell rawCell
		want string
	}{
		{"as typed", rawCell{value: "72.6"}, "72.6"},
		{"with the residue that programs store", rawCell{value: "72.599999999999994"}, "72.6"},
		{"the zero is in the format", rawCell{value: "72", style: 1}, "72.0"},
		{"no digit is dropped", rawCell{value: "72.65", style: 1}, "72.65"},
		{"minus", rawCell{value: "-180", style: 2}, "-180.00"},
		{"exponent", rawCell{value: "1.5E-3"}, "0.0015"},
		{"large exponent", rawCell{value: "1E+21"}, "1000000000000000000000"},
		{"not a number", rawCell{value: "NaN"}, "NaN"},
		{"sum of typed numbers", rawCell{value: "1.3999999999999915", formula: true, filled: true}, "1.4"},
		{"date", rawCell{value: "45964", style: 3}, "2025-11-03"},
		{"1 March 1900", rawCell{value: "61", style: 3}, "1900-03-01"},
		{"the day that never was", rawCell{value: "60", style: 3}, "60"},
		{"time", rawCell{value: "0.77083333333333304", style: 4}, "18:30"},
		{"time with seconds", rawCell{value: "0.77100694444444", style: 4}, "18:30:15"},
		{"last second rounds up to midnight", rawCell{value: "45963.9999999999", style: 5}, "2025-11-03 00:00"},
		{"date and time", rawCell{value: "45964.770833333336", style: 5}, "2025-11-03 18:30"},
		{"date with a time that is not shown", rawCell{value: "45964.5", style: 3}, "2025-11-03 12:00"},
		{"time with a date that is not shown", rawCell{value: "45964.5", style: 4}, "2025-11-03 12:00"},
		{"hours beyond a day", rawCell{value: "1.2083333333333333", style: 6}, "29:00"},
		{"24:00", rawCell{value: "1", style: 4}, "24:00"},
		{"half past one after midnight, counted on", rawCell{value: "1.0625", style: 4}, "25:30"},
		{"a time typed without its colon", rawCell{value: "1830", style: 4}, "1830"},
		{"a time typed with a point", rawCell{value: "18.3", style: 4}, "18.3"},
		{"negative date", rawCell{value: "-3", style: 3}, "-3"},
		{"percent", rawCell{value: "0.453", style: 7}, "45.3%"},
		{"text", rawCell{kind: "s", value: "0"}, "shared"},
		{"text in place", rawCell{kind: "inlineStr", value: "72.0"}, "72.0"},
		{"yes", rawCell{kind: "b", value: "1"}, "TRUE"},
		{"ISO date", rawCell{kind: "d", value: "2025-11-03T00:00:00"}, "2025-11-03"},
		{"ISO date and time", rawCell{kind: "d", value: "2025-11-03T18:30:00Z"}, "2025-11-03 18:30"},
		{"unknown format", rawCell{value: "72.6", style: 99}, "72.6"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := b.render(tt.cell); got.text != tt.want || got.trouble != "" {
				t.Errorf("%+v, want %q", got, tt.want)
			}
		})
	}
	b.from1904 = true
	if got := b.render(rawCell{value: "44502", style: 3}).text; got != "2025-11-03" {
		t.Errorf("in the epoch of 1904 it is %s", got)
	}
}

func TestEscapes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.OneOf(rapid.String(), rapid.StringMatching(`(_x00[0-9A-F]{2}_|_x|_|\x01|a){0,6}`)).Draw(t, "text")
		if got := unescape(escape(text)); got != text {
			t.Errorf("%q comes back as %q from %q", text, got, escape(text))
		}
	})
	if got := unescape("_xD83D__xDE00_"); got != "\U0001F600" {
		t.Errorf("a letter of two escapes is %q", got)
	}
}
