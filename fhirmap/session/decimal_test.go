package session

import "testing"

func TestParseDecimalKeepsWhatWasWritten(t *testing.T) {
	tests := []struct {
		in   string
		mark byte
		want string
	}{
		{"72.0", '.', "72.0"},
		{"72,50", ',', "72.50"},
		{"-180", '.', "-180"},
		{"\u2212180", '.', "-180"},
		{"+3.5", '.', "3.5"},
		{"007", '.', "7"},
		{".5", '.', "0.5"},
		{"-0.0", '.', "-0.0"},
		{"0", '.', "0"},
	}
	for _, tt := range tests {
		got, err := ParseDecimal(tt.in, tt.mark)
		if err != nil || got.String() != tt.want {
			t.Errorf("ParseDecimal(%q, %q) = %q, %v; want %q", tt.in, tt.mark, got, err, tt.want)
		}
	}
	for _, bad := range []string{"", "-", "1e3", "1,200.5", "72.", "7 2", "72kg", "--3", "-+3", "0x10", "1.2.3", "1234567890123456789", "٣"} {
		if got, err := ParseDecimal(bad, '.'); err == nil {
			t.Errorf("ParseDecimal(%q) = %q, want an error", bad, got)
		}
	}
}

func FuzzParseDecimal(f *testing.F) {
	for _, s := range []string{"72.0", "-180", "1e5", "\u22121,5"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		d, err := ParseDecimal(s, '.')
		if err != nil {
			return
		}
		again, err := ParseDecimal(d.String(), '.')
		if err != nil || again != d {
			t.Fatalf("%q read as %q, which reads as %q, %v", s, d, again, err)
		}
	})
}
