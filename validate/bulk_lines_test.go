package validate

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"testing"
	"testing/iotest"

	"pgregory.net/rapid"
)

// cut is one part that a lineReader gives.
type cut struct {
	data string
	line int
}

func cuts(t rapid.TB, in io.Reader, limit int) []cut {
	t.Helper()
	reader := &lineReader{in: bufio.NewReader(in), limit: limit, line: 1}
	var all []cut
	for {
		data, line, err := reader.next(nil)
		if err != nil {
			t.Fatal(err)
		}
		if len(data) == 0 {
			return all
		}
		all = append(all, cut{string(data), line})
	}
}

// TestLinesAreCutAlike holds that parts are whole lines with the right numbers,
// lose nothing and are the same however the bytes arrive.
func TestLinesAreCutAlike(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var text bytes.Buffer
		for range rapid.IntRange(0, 12).Draw(t, "runs") {
			length := rapid.SampledFrom([]int{0, 1, 10, 1000, partSize - 1, partSize, partSize + 1, 3*partSize + 5}).Draw(t, "length")
			count := rapid.SampledFrom([]int{1, 2, 300}).Draw(t, "count")
			if length > 1000 {
				count = 1
			}
			text.WriteString(strings.Repeat(strings.Repeat("x", length)+"\n", count))
		}
		text.WriteString(strings.Repeat("y", rapid.SampledFrom([]int{0, 1, partSize}).Draw(t, "tail")))
		whole := text.String()
		all := cuts(t, strings.NewReader(whole), maxLine)
		joined, line := "", 1
		for i, c := range all {
			joined += c.data
			if c.line != line {
				t.Fatalf("part %d: line %d, want %d", i, c.line, line)
			}
			if i < len(all)-1 && !strings.HasSuffix(c.data, "\n") {
				t.Fatalf("part %d does not end with a line", i)
			}
			line += strings.Count(c.data, "\n")
		}
		if joined != whole {
			t.Fatalf("%d bytes came out of %d", len(joined), len(whole))
		}
		for name, in := range map[string]io.Reader{
			"halves":        iotest.HalfReader(strings.NewReader(whole)),
			"end with data": iotest.DataErrReader(strings.NewReader(whole)),
		} {
			if !slices.Equal(cuts(t, in, maxLine), all) {
				t.Fatalf("other parts when the bytes arrive as %s", name)
			}
		}
	})
}

// TestLongLinesArePassedOver holds that of a line beyond the limit little more is
// kept than shows it, and that the lines after it keep their numbers.
func TestLongLinesArePassedOver(t *testing.T) {
	const limit = partSize
	for _, length := range []int{limit + 1, 5 * partSize, 5*partSize + 1} {
		long := strings.Repeat("x", length)
		got := cuts(t, strings.NewReader("a\n"+long+"\nb\n"+long), limit)
		kept := strings.Repeat("x", limit+1)
		if want := []cut{{"a\n" + kept + "\n", 1}, {"b\n" + kept, 3}}; !slices.Equal(got, want) {
			t.Errorf("%d bytes: %d parts, %d bytes of them in the first", length, len(got), len(got[0].data))
		}
	}
}

func TestReadingFails(t *testing.T) {
	reader := &lineReader{in: bufio.NewReader(io.MultiReader(strings.NewReader("a\nb"), iotest.ErrReader(io.ErrUnexpectedEOF))), limit: 10, line: 1}
	if _, _, err := reader.next(nil); !errors.Is(err, io.ErrUnexpectedEOF) {
		t.Errorf("error %v", err)
	}
}

// endless gives so many bytes without a line end.
type endless struct{ left int }

func (e *endless) Read(into []byte) (int, error) {
	if e.left == 0 {
		return 0, io.EOF
	}
	n := min(len(into), e.left)
	for i := range into[:n] {
		into[i] = 'x'
	}
	e.left -= n
	return n, nil
}

// TestLongLineTakesNoMemory holds that a line of any length takes as much memory
// as the limit asks for.
func TestLongLineTakesNoMemory(t *testing.T) {
	const limit = 1 << 20
	reader := &lineReader{in: bufio.NewReader(&endless{200 << 20}), limit: limit, line: 1}
	data, _, err := reader.next(nil)
	if err != nil || len(data) != limit+1 || cap(data) > 4*limit {
		t.Errorf("%d bytes in %d, error %v", len(data), cap(data), err)
	}
	if data, _, err = reader.next(nil); err != nil || len(data) > 0 {
		t.Errorf("after it %d bytes, error %v", len(data), err)
	}
}

// TestMarksAndBlankLines holds that a byte order mark, line ends of another system
// and blank lines change no number of a line.
func TestMarksAndBlankLines(t *testing.T) {
	text := "\ufeff{\"resourceType\":\"Patient\",\"active\":true}\r\n\r\n \t\n{\"resourceType\":\"Patient\",\"active\":1}\r\n\n[\n{\"resourceType\":\"Patient\",\"active\":"
	report, err := Paths(t.Context(), []string{"-"}, strings.NewReader(text), Options{})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, f := range report.Findings {
		if f.Rule != "inv-dom-6" {
			got = append(got, fmt.Sprint(f.Line, " ", f.Rule))
		}
	}
	want := []string{"1 json-bom", "4 r4-type", "6 fhir-not-checked", "6 json-syntax", "7 fhir-not-checked", "7 json-syntax"}
	if slices.Sort(got); !slices.Equal(got, want) || report.Resources != 2 {
		t.Errorf("%d resources, got %q, want %q", report.Resources, got, want)
	}
}
