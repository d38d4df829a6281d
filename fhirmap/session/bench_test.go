package session

import (
	"fmt"
	"runtime"
	"strings"
	"testing"
	"testing/fstest"
	"time"
)

// longLog is a log of many sessions with readings every half hour.
func longLog(sessions, readingsEach int) fstest.MapFS {
	var s, r strings.Builder
	s.WriteString("session,date,start,end,status,weight_before_kg,weight_after_kg,bp_before_systolic_mmhg,bp_before_diastolic_mmhg,uf_removed_l\n")
	r.WriteString("session,time,bp_systolic_mmhg,bp_diastolic_mmhg,pulse_per_min,blood_flow_ml_min,dialysate_flow_ml_min,arterial_pressure_mmhg,venous_pressure_mmhg,tmp_mmhg,uf_rate_l_h,uf_so_far_l,conductivity_ms_cm,dialysate_temperature_c\n")
	day := time.Date(2021, 1, 4, 0, 0, 0, 0, time.UTC)
	for i := range sessions {
		if i%5 == 4 {
			day = day.AddDate(0, 0, 2)
		}
		day = day.AddDate(0, 0, 1)
		fmt.Fprintf(&s, "s%d,%s,18:30,21:30,done,72.%d,70.%d,13%d,8%d,2.%02d\n", i, day.Format(time.DateOnly), i%10, (i+3)%10, i%10, (i+7)%10, i%50)
		for j := range readingsEach {
			at := 18*60 + 35 + j*170/max(1, readingsEach)
			fmt.Fprintf(&r, "s%d,%02d:%02d,12%d,7%d,7%d,350,167,-1%02d,14%d,5%d,0.65,%d.%02d,14.0,36.5\n", i, at/60, at%60, j%10, i%10, (i+j)%10, (i+j)%80, j%10, i%10, j/4, j%100)
		}
	}
	return fstest.MapFS{aboutFile: {Data: []byte(aboutOK)}, "sessions.csv": {Data: []byte(s.String())}, "readings.csv": {Data: []byte(r.String())}}
}

func benchmarkRead(b *testing.B, sessions, readingsEach int) {
	folder := longLog(sessions, readingsEach)
	b.ReportAllocs()
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	var log *Log
	for b.Loop() {
		var err error
		if log, _, err = ReadFS(folder, Options{}); err != nil {
			b.Fatal(err)
		}
	}
	runtime.GC()
	runtime.ReadMemStats(&after)
	rows := float64(sessions * (1 + readingsEach))
	b.ReportMetric(rows*float64(b.N)/b.Elapsed().Seconds(), "rows/s")
	b.ReportMetric(float64(after.HeapAlloc-before.HeapAlloc)/(1<<20), "MiB-kept")
	runtime.KeepAlive(log)
}

// BenchmarkReadYear reads a year: 260 sessions with eight readings each.
func BenchmarkReadYear(b *testing.B) { benchmarkRead(b, 260, 8) }

// TestLargestLogInMemory measures what a log at its limits keeps in memory: the
// limits are chosen so that the rest of a check has room within 300 MB.
func TestLargestLogInMemory(t *testing.T) {
	const sessions, readingsEach = 1390, 17
	var before, after runtime.MemStats
	folder := longLog(sessions, readingsEach)
	runtime.GC()
	runtime.ReadMemStats(&before)
	log, findings, err := ReadFS(folder, Options{})
	if err != nil || len(log.Sessions) != sessions {
		t.Fatalf("%v, %d sessions, %q", err, len(log.Sessions), said(findings))
	}
	runtime.GC()
	runtime.ReadMemStats(&after)
	kept := (after.HeapAlloc - before.HeapAlloc) >> 20
	runtime.KeepAlive(log)
	if kept > 130 {
		t.Errorf("a log at its limits keeps %d MiB", kept)
	}
	log, _, err = ReadFS(longLog(sessions+50, readingsEach), Options{})
	if err != nil || len(log.Sessions) > 0 {
		t.Errorf("%v, %d sessions of a log beyond the limits", err, len(log.Sessions))
	}
}
