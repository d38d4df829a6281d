package workbook

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"runsheet.example/fhirmap/session"
)

// year is a log of a year: 260 sessions with eight readings each.
func year() *session.Grid { return longGrid(260, 8) }

// longGrid is a log of many sessions with readings.
func longGrid(sessions, readingsEach int) *session.Grid {
	about := session.AboutPart{Name: "log", Entries: []*session.AboutEntry{
		{Key: "format", Text: "1"}, {Key: "id", Text: "0b2f3f8e-6f0e-4d5e-9a43-3f1f6f1f0a11"}, {Key: "time_zone", Text: "Europe/London"}, {Key: "decimal_mark", Text: "."},
	}}
	s := session.GridTable{Sheet: session.SheetSessions, Headings: strings.Split("session,date,start,end,status,weight_before_kg,weight_after_kg,bp_before_systolic_mmhg,bp_before_diastolic_mmhg,uf_removed_l", ",")}
	r := session.GridTable{Sheet: session.SheetReadings, Headings: strings.Split("session,time,bp_systolic_mmhg,bp_diastolic_mmhg,pulse_per_min,blood_flow_ml_min,dialysate_flow_ml_min,arterial_pressure_mmhg,venous_pressure_mmhg,tmp_mmhg,uf_rate_l_h,uf_so_far_l,conductivity_ms_cm,dialysate_temperature_c", ",")}
	day := time.Date(2025, 1, 6, 0, 0, 0, 0, time.UTC)
	for i := range sessions {
		day = day.AddDate(0, 0, 1+i%5/4*2)
		s.Rows = append(s.Rows, strings.Split(fmt.Sprintf("s%d,%s,18:30,21:30,done,72.%d,70.%d,13%d,8%d,2.%02d", i, day.Format(time.DateOnly), i%10, (i+3)%10, i%10, (i+7)%10, i%50), ","))
		for j := range readingsEach {
			at := 18*60 + 35 + j*170/readingsEach
			r.Rows = append(r.Rows, strings.Split(fmt.Sprintf("s%d,%02d:%02d,12%d,7%d,7%d,350,167,-1%02d,14%d,5%d,0.65,%d.%02d,14.0,36.5", i, at/60, at%60, j%10, i%10, (i+j)%10, (i+j)%80, j%10, i%10, j/4%10, j%100), ","))
		}
	}
	return &session.Grid{About: []*session.AboutPart{&about}, Tables: []session.GridTable{s, r}}
}

func BenchmarkWriteEmpty(b *testing.B) {
	for b.Loop() {
		if _, err := Bytes(Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkReadYear(b *testing.B) {
	data, err := Bytes(Options{Content: year()})
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		log, findings, err := Read(data, "year.xlsx", session.Options{})
		if err != nil || len(log.Sessions) != 260 || len(log.Sessions[0].Readings) != 8 {
			b.Fatal(len(log.Sessions), findings, err)
		}
	}
}
