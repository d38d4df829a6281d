package workbook

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"runtime"
	"strings"
	"testing"
	"time"

	"runsheet.example/fhirmap/session"
)

// year is a log of a year: 260 sessions with eight readings each.
func year() *session.Grid { return longGrid(260, 8) }

// longGrid is a log of many sessions with readings.
func longGrid(sessions, readingsEach int) *session.Grid {
	about := session.AboutPart{Name: "log", Entries: []session.AboutEntry{
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
	return &session.Grid{About: []session.AboutPart{about}, Tables: []session.GridTable{s, r}}
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
		log, findings, err := Read(bytes.NewReader(data), int64(len(data)), "year.xlsx", session.Options{})
		if err != nil || len(log.Sessions) != 260 || len(log.Sessions[0].Readings) != 8 {
			b.Fatal(len(log.Sessions), findings, err)
		}
	}
}

// BenchmarkRowsMillion passes over a million rows of eight cells without
// keeping them, and reports the most memory in use on the way.
func BenchmarkRowsMillion(b *testing.B) {
	var sheet strings.Builder
	sheet.WriteString("<worksheet><sheetData>" + headingRow)
	const rows = 1_000_000
	for i := 2; i < rows+2; i++ {
		fmt.Fprintf(&sheet, `<row r="%d"><c r="A%d" t="s"><v>%d</v></c><c r="B%d" s="2"><v>0.7708%d</v></c>`, i, i, i%7, i, i)
		for _, column := range "CDEFGH" {
			fmt.Fprintf(&sheet, `<c r="%c%d"><v>%d</v></c>`, column, i, 100+i%97)
		}
		sheet.WriteString("</row>")
	}
	sheet.WriteString("</sheetData></worksheet>")
	data := smallBook("").with("xl/worksheets/sheet1.xml", sheet.String()).zip(b)
	sheet.Reset()
	var m runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&m)
	before, most := m.HeapInuse, uint64(0)
	for b.Loop() {
		book, err := openBook(bytes.NewReader(data), int64(len(data)))
		if err != nil {
			b.Fatal(err)
		}
		stream := &tableRows{reader: &bookReader{book: book}, tab: book.sheets[0], headings: headings{next: 2}}
		if _, err := stream.open(); err != nil {
			b.Fatal(err)
		}
		count := 0
		for {
			_, err := stream.Next()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				b.Fatal(err)
			}
			if count++; count%100_000 == 0 {
				runtime.ReadMemStats(&m)
				most = max(most, m.HeapInuse)
			}
		}
		if count != rows {
			b.Fatal(count)
		}
	}
	b.ReportMetric(float64(most-before)/(1<<20), "MiB-in-use")
	b.ReportMetric(float64(rows)*float64(b.N)/b.Elapsed().Seconds(), "rows/s")
}
