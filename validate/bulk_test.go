//go:build bulk

package validate_test

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"runsheet.example/validate"
)

var bulkMB = flag.Int("mb", 2000, "how many MB of NDJSON TestBulk checks; a tenth of it with -short")

// bulkSize is how much is checked, in bytes.
func bulkSize() int {
	size := *bulkMB * 1_000_000
	if testing.Short() {
		size /= 10
	}
	return size
}

// TestBulk checks 2 GB of NDJSON in one process, single resources and Bundles of
// sessions, and holds its memory to stay flat. It reports the speed beside that
// of merely reading the file and of decoding it with encoding/json. It needs the
// room on disk and some minutes:
//
//	go test -tags bulk -run TestBulk -v -timeout 1h ./validate
func TestBulk(t *testing.T) {
	for _, form := range []struct{ name, what string }{
		{"observations", "Observations, one a line"},
		{"sessions", "transaction Bundles of sessions, one a line"},
	} {
		t.Run(form.name, func(t *testing.T) {
			file := filepath.Join(t.TempDir(), form.name+".ndjson")
			size, lines := writeBulk(t, file, form.name)
			t.Logf("%d %s: %.0f MB", lines, form.what, float64(size)/1e6)
			speeds := &speedTable{t: t, size: size}
			// The first read also brings what fits of the file into memory, the
			// same for all that follow.
			readAll(t, file)
			speeds.time("reading only", func() { readAll(t, file) })
			speeds.time("decoding with encoding/json", func() { decodeAll(t, file) })
			var first string
			for _, jobs := range []int{1, 2} {
				var text string
				most := speeds.time(fmt.Sprintf("validate, all layers but the schema, %d jobs", jobs), func() {
					text = checkBulk(t, file, jobs, lines)
				})
				holdMemoryFlat(t, most)
				if first == "" {
					first = text
				}
				if text != first {
					t.Error("another number of jobs gives another report")
				}
			}
			speeds.print()
		})
	}
}

// checkBulk checks a file in which nothing is wrong and returns the report.
func checkBulk(t *testing.T, file string, jobs, lines int) string {
	found, err := validate.Paths(context.Background(), []string{file}, nil, validate.Options{MaxFindings: 1000, Jobs: jobs})
	if err != nil {
		t.Fatal(err)
	}
	if found.Resources < lines || found.HasErrors() {
		t.Errorf("%d resources in %d lines, errors: %v", found.Resources, lines, found.HasErrors())
	}
	for _, note := range found.NotChecked {
		if !strings.Contains(note, "lines of NDJSON") {
			t.Errorf("not checked: %s", note)
		}
	}
	return rendered(t, found)
}

// writeBulk writes the demo month again and again, each time for another patient
// and with other identifiers, as single Observations or as Bundles.
func writeBulk(t *testing.T, file, form string) (size, lines int) {
	t.Helper()
	month := demoMonth(t, form)
	out, err := os.Create(file)
	if err != nil {
		t.Fatal(err)
	}
	// All are replaced by as many bytes, in place.
	ends := regexp.MustCompile(`-[0-9a-f]{12}"|HHD-00042"|Patient/00123"`).FindAllIndex(month, -1)
	for patient := 1; size < bulkSize(); patient++ {
		for _, end := range ends {
			// The last digits, of a UUID those in hexadecimal: the ones before
			// keep the resources of a patient apart.
			form := "%05d"
			if month[end[0]] == '-' {
				form = "%05x"
			}
			copy(month[end[1]-len(`00000"`):end[1]], fmt.Sprintf(form, patient))
		}
		n, err := out.Write(month)
		if err != nil {
			t.Fatal(err)
		}
		size += n
		lines += bytes.Count(month, []byte("\n"))
	}
	if err := out.Close(); err != nil {
		t.Fatal(err)
	}
	return size, lines
}

// demoMonth exports the demo month as lines.
func demoMonth(t *testing.T, form string) []byte {
	t.Helper()
	folder := filepath.Join(t.TempDir(), "month")
	args := []string{"run", "./cmd/runsheet", "export", filepath.Join("testdata", "month"), "-o", folder}
	if form == "observations" {
		args = append(args, "--as", "ndjson", "--patient", "Patient/00123")
	}
	export := exec.Command("go", args...)
	export.Dir = ".."
	if out, err := export.CombinedOutput(); err != nil {
		t.Fatalf("export: %v\n%s", err, out)
	}
	if form == "observations" {
		return fileText(t, filepath.Join(folder, "Observation.ndjson"))
	}
	files, err := filepath.Glob(filepath.Join(folder, "session-*.json"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no sessions, error %v", err)
	}
	var all bytes.Buffer
	for _, file := range files {
		if err := json.Compact(&all, fileText(t, file)); err != nil {
			t.Fatal(err)
		}
		all.WriteByte('\n')
	}
	return all.Bytes()
}

func fileText(t *testing.T, path string) []byte {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// speedTable gathers what each way of going through a file takes.
type speedTable struct {
	t    *testing.T
	size int
	rows []string
}

// time runs some work and returns the most memory in each quarter of its time,
// in MB.
func (s *speedTable) time(what string, work func()) (most [4]int) {
	runtime.GC()
	debug.FreeOSMemory()
	memory := watchMemory()
	start, cpu := time.Now(), cpuTime()
	work()
	took, used := time.Since(start), cpuTime()-cpu
	most = quarters(memory())
	megabytes := float64(s.size) / 1e6
	s.rows = append(s.rows, fmt.Sprintf("%-50s %7.1f %7.0f %9.1f %7.0f   %4d %4d %4d %4d",
		what, took.Seconds(), megabytes/took.Seconds(), used.Seconds(), megabytes/used.Seconds(), most[0], most[1], most[2], most[3]))
	return most
}

func (s *speedTable) print() {
	s.t.Logf("%-50s %7s %7s %9s %7s   %s\n%s", "", "s", "MB/s", "s of cpu", "MB/s", "most MB of memory by quarter", strings.Join(s.rows, "\n"))
}

func readAll(t *testing.T, file string) {
	in := open(t, file)
	defer in.Close()
	buffer := make([]byte, 1<<16)
	for {
		if _, err := in.Read(buffer); errors.Is(err, io.EOF) {
			return
		} else if err != nil {
			t.Fatal(err)
		}
	}
}

func decodeAll(t *testing.T, file string) {
	in := open(t, file)
	defer in.Close()
	decoder := json.NewDecoder(bufio.NewReaderSize(in, 1<<16))
	decoder.UseNumber()
	for {
		var value any
		if err := decoder.Decode(&value); errors.Is(err, io.EOF) {
			return
		} else if err != nil {
			t.Fatal(err)
		}
	}
}

func open(t *testing.T, file string) *os.File {
	t.Helper()
	in, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	return in
}

// watchMemory looks ten times a second at how much memory the process holds.
func watchMemory() (stop func() []int) {
	var samples []int
	done, ended := make(chan bool), make(chan bool)
	go func() {
		defer close(ended)
		tick := time.NewTicker(100 * time.Millisecond)
		defer tick.Stop()
		for {
			select {
			case <-done:
				return
			case <-tick.C:
				samples = append(samples, residentKB())
			}
		}
	}()
	return func() []int {
		close(done)
		<-ended
		return samples
	}
}

var resident = regexp.MustCompile(`VmRSS:\s+(\d+) kB`)

// residentKB is the memory that the process holds, as the system counts it
// where it says so.
func residentKB() int {
	if status, err := os.ReadFile("/proc/self/status"); err == nil {
		if found := resident.FindSubmatch(status); found != nil {
			if kb, err := strconv.Atoi(string(found[1])); err == nil {
				return kb
			}
		}
	}
	var stats runtime.MemStats
	runtime.ReadMemStats(&stats)
	return int(stats.Sys / 1024)
}

// quarters is the most memory in each quarter of the looks at it, in MB.
func quarters(samples []int) (most [4]int) {
	for i, kb := range samples {
		quarter := i * 4 / len(samples)
		most[quarter] = max(most[quarter], kb/1024)
	}
	return most
}

// The most memory a check may take, in MB, and how much more in the last quarter
// than in the one before: the collector of garbage does not always come at the
// same time.
const (
	mostMemory = 120
	moreMemory = 10
)

// holdMemoryFlat holds that memory stays as it is once the tables of what is
// compared are as large as they ever get, which takes up to half of the file.
func holdMemoryFlat(t *testing.T, most [4]int) {
	t.Helper()
	if testing.Short() {
		return // the tables are still growing
	}
	if most[3] > most[2]+moreMemory || slices.Max(most[:]) > mostMemory {
		t.Errorf("memory grows with the size of the file: %v MB", most)
	}
}
