//go:build bulk

package validate_test

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strconv"
	"testing"
	"time"

	"runsheet.example/validate"
)

// bulkSize is how much is checked, in bytes; a tenth of it with -short.
func bulkSize() int {
	if testing.Short() {
		return 200_000_000
	}
	return 2_000_000_000
}

// TestBulk checks 2 GB of NDJSON in one process and holds its memory to stay
// flat. It reports the speed beside that of merely reading the file and of
// decoding it with encoding/json. It needs the room on disk and some minutes:
//
//	go test -tags bulk -run TestBulk -v -timeout 1h ./validate
func TestBulk(t *testing.T) {
	file := filepath.Join(t.TempDir(), "Observation.ndjson")
	lines := writeBulk(t, file)
	// The first read also brings what fits of the file into memory, the same
	// for all that follow.
	for range 2 {
		timed(t, "reading only", func() { readAll(t, file) })
	}
	memory := watchMemory()
	var found *validate.Report
	timed(t, "validate, all layers but the schema", func() {
		var err error
		if found, err = validate.Paths(context.Background(), []string{file}, nil, validate.Options{MaxFindings: 1000}); err != nil {
			t.Fatal(err)
		}
	})
	samples := memory()
	if found.Resources != lines || found.HasErrors() {
		t.Errorf("%d of %d resources, errors: %v", found.Resources, lines, found.HasErrors())
	}
	rules := map[string]int{}
	for _, f := range found.Findings {
		rules[f.Rule]++
	}
	t.Logf("findings: %v kept, %d more counted", rules, found.Dropped)
	reportMemory(t, samples)
	timed(t, "decoding with encoding/json", func() { decodeAll(t, file) })
}

// writeBulk writes the Observations of the demo month again and again, each
// time for another patient and with other identifiers.
func writeBulk(t *testing.T, file string) (lines int) {
	t.Helper()
	folder := filepath.Join(t.TempDir(), "month")
	export := exec.Command("go", "run", "./cmd/runsheet", "export", filepath.Join("testdata", "month"), "-o", folder, "--as", "ndjson", "--patient", "Patient/123")
	export.Dir = ".."
	if out, err := export.CombinedOutput(); err != nil {
		t.Fatalf("export: %v\n%s", err, out)
	}
	month, err := os.ReadFile(filepath.Join(folder, "Observation.ndjson"))
	if err != nil {
		t.Fatal(err)
	}
	out, err := os.Create(file)
	if err != nil {
		t.Fatal(err)
	}
	// All are replaced by as many bytes, in place.
	ends := regexp.MustCompile(`-[0-9a-f]{12}"|HHD-00042"|Patient/123"`).FindAllIndex(month, -1)
	size := 0
	for patient := 1; size < bulkSize() && patient <= 999; patient++ {
		for _, end := range ends {
			// The last digits, of a UUID those in hexadecimal: the ones before
			// keep the resources of a patient apart.
			form := "%03d"
			if month[end[0]] == '-' {
				form = "%03x"
			}
			copy(month[end[1]-len(`000"`):end[1]], fmt.Sprintf(form, patient))
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
	t.Logf("%d lines, %d MB", lines, size/1_000_000)
	return lines
}

func timed(t *testing.T, what string, work func()) {
	t.Helper()
	start, cpu := time.Now(), cpuTime()
	work()
	megabytes := float64(bulkSize()) / 1e6
	took, used := time.Since(start), cpuTime()-cpu
	t.Logf("%-40s %6.1f s, %5.0f MB/s; %6.1f s of processor, %5.0f MB/s",
		what, took.Seconds(), megabytes/took.Seconds(), used.Seconds(), megabytes/used.Seconds())
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

// reportMemory holds that the second half takes less than twice what the second
// quarter does: about then as many resources are kept for comparison as ever
// will be (month.MaxKept), and the collector of garbage lets up to as much
// again lie about.
func reportMemory(t *testing.T, samples []int) {
	t.Helper()
	if len(samples) < 8 {
		t.Fatalf("only %d looks at the memory", len(samples))
	}
	var most [4]int
	for i, kb := range samples {
		quarter := i * 4 / len(samples)
		most[quarter] = max(most[quarter], kb)
	}
	t.Logf("most memory in each quarter: %d, %d, %d, %d MB", most[0]/1024, most[1]/1024, most[2]/1024, most[3]/1024)
	if !testing.Short() && max(most[2], most[3]) > most[1]*2 {
		t.Error("memory grows with the size of the file")
	}
}
