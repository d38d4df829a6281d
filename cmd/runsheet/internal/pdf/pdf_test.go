package pdf

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// letters are those that pages need: signs of a log, and German, Polish,
// Turkish, Greek and Cyrillic letters.
const letters = "−5 ≤ 4 ≥ 3 · äöüß ÄÖÜ łşğč – „x“ µ ² ° Ωμ Жю"

func sample(t *testing.T, paper Paper) []byte {
	t.Helper()
	d := New("Zürich − title", "de", paper)
	for range 2 {
		d.AddPage()
		d.Text(20, 20, letters, Font{SizeMM: 3}, 0)
		d.TextRight(paper.WidthMM-20, 30, "bold "+letters, Font{SizeMM: 3, Bold: true}, 0x444444)
		d.Line(Stroke{WidthMM: 0.2, DashMM: 1}, Point{20, 40}, Point{100, 50}, Point{120, 40})
		d.Polygon(Stroke{WidthMM: 0.2}, Point{20, 60}, Point{30, 60}, Point{25, 70})
		d.Fill(0x888888, Point{40, 60}, Point{50, 60}, Point{45, 70})
		d.Rect(Stroke{WidthMM: 0.3}, 60, 60, 10, 10)
		d.FillRect(0xCCCCCC, 80, 60, 10, 10)
		d.Dot(0, 100, 65, 4)
	}
	file, err := d.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	return file
}

// tool runs a program on a file and returns what it prints.
func tool(t *testing.T, file []byte, name string, args ...string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "page.pdf")
	if err := os.WriteFile(path, file, 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(name, append(append([]string{}, args...), path, "-")...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v\n%s", name, err, out)
	}
	return string(out)
}

func TestSameCallsGiveTheSameBytes(t *testing.T) {
	if !bytes.Equal(sample(t, A4), sample(t, A4)) {
		t.Error("two documents of the same calls differ")
	}
}

func TestTextCanBeSelected(t *testing.T) {
	text := tool(t, sample(t, A4), "pdftotext", "-layout")
	if n := strings.Count(text, letters); n != 4 {
		t.Errorf("the text stands %d times, want 4:\n%s", n, text)
	}
}

func TestLanguageTitleAndPaper(t *testing.T) {
	for _, paper := range []Paper{A4, Letter} {
		file := sample(t, paper)
		if !bytes.Contains(file, []byte("/Lang (de)")) {
			t.Error("no language")
		}
		path := filepath.Join(t.TempDir(), "page.pdf")
		if err := os.WriteFile(path, file, 0o600); err != nil {
			t.Fatal(err)
		}
		info, err := exec.Command("pdfinfo", path).Output()
		if err != nil {
			t.Fatal(err)
		}
		for _, want := range []string{"Zürich − title", "Pages:           2", map[string]string{"a4": "(A4)", "letter": "(letter)"}[paper.Name]} {
			if !strings.Contains(string(info), want) {
				t.Errorf("no %q in\n%s", want, info)
			}
		}
	}
}

func TestShows(t *testing.T) {
	for text, want := range map[string]bool{letters: true, "": true, "two\nlines": true, "血圧": false, "שלום": false, "سلام": false, "💧": false, "a\x00b": false} {
		if Shows(text) != want {
			t.Errorf("Shows(%q) = %v", text, !want)
		}
	}
	d := New("", "en", A4)
	d.AddPage()
	d.Text(10, 10, "a 血💧 b", Font{SizeMM: 3}, 0)
	file, err := d.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	if text := tool(t, file, "pdftotext"); !strings.Contains(text, "a ?? b") {
		t.Errorf("characters that the font does not hold print as %q", text)
	}
}

func TestParsePaper(t *testing.T) {
	for name, want := range map[string]Paper{"": A4, "A4": A4, "letter": Letter} {
		if got, err := ParsePaper(name); err != nil || got != want {
			t.Errorf("ParsePaper(%q) = %v, %v", name, got, err)
		}
	}
	if _, err := ParsePaper("a5"); err == nil {
		t.Error("a5 is accepted")
	}
}

// Wrapped lines hold all words in their order and never run over.
func TestWrapKeepsWordsWithinTheWidth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringOf(rapid.RuneFrom([]rune("abcm il\n−ä血"))).Draw(t, "text")
		width := rapid.Float64Range(4, 60).Draw(t, "width")
		font := Font{SizeMM: 3, Bold: rapid.Bool().Draw(t, "bold")}
		lines := font.Wrap(text, width)
		for _, line := range lines {
			if font.WidthMM(line) > width {
				t.Fatalf("line %q is %.2f wide", line, font.WidthMM(line))
			}
		}
		squeeze := strings.NewReplacer(" ", "", "\n", "").Replace
		if squeeze(strings.Join(lines, "")) != squeeze(text) {
			t.Fatalf("lines %q", lines)
		}
	})
}

func TestWrapWidthIsThatOfTheReader(t *testing.T) {
	// The advance of "0" in Go Regular is 1139 of 2048 units.
	if got, want := (Font{SizeMM: 2.048}).WidthMM("00"), 2*1.139; got < want-0.001 || got > want+0.001 {
		t.Errorf("width %.4f, want %.4f", got, want)
	}
}
