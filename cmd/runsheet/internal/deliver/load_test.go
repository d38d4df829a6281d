package deliver

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/cmd/runsheet/internal/deliver/server"
	"runsheet.example/fhirmap"
	"runsheet.example/testdata/oracle/servertest"
)

const monthLog = "../../../../testdata/month"

var monthPatient = servertest.Patient("urn:oid:2.25.331383638406541845489215601853980652438", "HHD-00042")

// BenchmarkSendMonth sends the demo month to the server that is not ours, on
// this computer: most of the time is the server's.
func BenchmarkSendMonth(b *testing.B) {
	s := servertest.Start(b)
	sessions := mapped(b, monthLog, fhirmap.Options{})
	target, err := server.ParseTarget(s.Base)
	if err != nil {
		b.Fatal(err)
	}
	for _, style := range []Style{Transaction, Batch, Single, Put} {
		b.Run(string(style), func(b *testing.B) {
			requests := 0
			for b.Loop() {
				b.StopTimer()
				s.Reset(b, nil, monthPatient)
				r, err := receipt.Open(filepath.Join(b.TempDir(), "receipt.json"), s.Base, "")
				if err != nil {
					b.Fatal(err)
				}
				client := server.NewClient(target, server.Options{})
				b.StartTimer()
				if err := sendAll(b.Context(), client, r, style, sessions); err != nil {
					b.Fatal(err)
				}
				requests = client.Requests()
			}
			b.ReportMetric(float64(requests), "requests/op")
		})
	}
}

func sendAll(ctx context.Context, client *server.Client, r *receipt.Receipt, style Style, sessions []Session) error {
	sender, err := NewSender(ctx, client, r, Options{Style: style})
	if err != nil {
		return err
	}
	for _, session := range sessions {
		if err := sender.Session(ctx, session); err != nil {
			return err
		}
	}
	return nil
}

// forgetful is a server that takes every transaction and keeps nothing, so that
// a unit's year can be sent to it.
func forgetful(t *testing.T) *httptest.Server {
	t.Helper()
	next := 0
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		switch {
		case strings.HasSuffix(r.URL.Path, "metadata"):
			fmt.Fprint(w, `{"resourceType":"CapabilityStatement","fhirVersion":"4.0.1"}`)
		case r.Method == http.MethodGet:
			fmt.Fprint(w, `{"resourceType":"Bundle","type":"searchset"}`)
		default:
			var bundle struct {
				Entry []struct{ Request struct{ URL string } }
			}
			if err := json.NewDecoder(r.Body).Decode(&bundle); err != nil {
				w.WriteHeader(http.StatusBadRequest)
				return
			}
			fmt.Fprint(w, `{"resourceType":"Bundle","type":"transaction-response","entry":[`)
			for i, e := range bundle.Entry {
				next++
				if i > 0 {
					fmt.Fprint(w, ",")
				}
				fmt.Fprintf(w, `{"response":{"status":"201","location":"%s/%d/_history/1"}}`, e.Request.URL, next)
			}
			fmt.Fprint(w, `]}`)
		}
	}))
	t.Cleanup(s.Close)
	return s
}

// Memory does not grow with the number of sessions sent: after 30 patients the
// heap is what it was after the first. RUNSHEET_MONTHS=12 makes it a unit's
// year.
func TestMemoryIsFlat(t *testing.T) {
	const patients, sessionsAMonth = 30, 21
	months := number(t, "RUNSHEET_MONTHS", 1)
	s := forgetful(t)
	target, err := server.ParseTarget(s.URL + "/fhir")
	if err != nil {
		t.Fatal(err)
	}
	client := server.NewClient(target, server.Options{})
	sessions := mapped(t, smallLog, fhirmap.Options{})
	folder := t.TempDir()
	sendPatient := func(patient int) {
		for part := range months * sessionsAMonth / len(sessions) {
			path := filepath.Join(folder, fmt.Sprintf("%d-%d.json", patient, part))
			r, err := receipt.Open(path, target.String(), "")
			if err != nil {
				t.Fatal(err)
			}
			if err := sendAll(t.Context(), client, r, Transaction, sessions); err != nil {
				t.Fatal(err)
			}
		}
	}
	sendPatient(0)
	first := heap()
	for patient := 1; patient < patients; patient++ {
		sendPatient(patient)
	}
	if last := heap(); last > first+first/4+1<<20 {
		t.Errorf("the heap grew from %d KiB after one patient to %d KiB after %d", first>>10, last>>10, patients)
	}
	t.Logf("%d requests, heap %d KiB after one patient, %d KiB after %d", client.Requests(), first>>10, heap()>>10, patients)
}

func heap() uint64 {
	runtime.GC()
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}
