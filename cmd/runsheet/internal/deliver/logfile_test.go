package deliver

import (
	"testing"

	"runsheet.example/fhirmap"
	"runsheet.example/fhirmap/session"
	"runsheet.example/testdata/oracle/servertest"
)

// withLog is the small log with its own files.
func withLog(t *testing.T, folder string) []Session {
	t.Helper()
	month := monthOf(t, folder, fhirmap.Options{})
	month.Beside = nil
	log, _, err := session.ReadFolder(folder, session.Options{})
	must(t, err)
	mapping, err := fhirmap.NewMapping(log, fhirmap.Options{Tool: fhirmap.Tool{Name: "runsheet", Version: "test"}})
	must(t, err)
	for at := range log.Sources {
		record, err := mapping.LogFile(at)
		must(t, err)
		month.Add(*record)
	}
	return sessionsOf(t, month)
}

// A log that grew makes an amended document, one that nobody keeps any more is
// withdrawn, and sending again changes nothing, in every form of sending.
func TestAmendLogFiles(t *testing.T) {
	s := servertest.Start(t)
	for _, style := range []Style{Transaction, Batch, Single, Put} {
		t.Run(string(style), func(t *testing.T) {
			s.Reset(t, nil, smallPatient)
			d := newDelivery(t, s, style)
			first := withLog(t, smallLog)
			d.mustSend(first)
			d.same(first)
			changed := withLog(t, edited(t, smallLog, "events.csv", "stopped\n", "stopped the pump\n"))
			plan, err := d.amend(changed, "")
			must(t, err)
			if did := plan.Counts(); did.Amended != 2 || did.Corrected+did.Withdrawn != 0 { // the document, and the event
				t.Errorf("%+v", did)
			}
			d.same(changed, "Provenance ", "Provenance ")
			d.later++
			var without []Session
			for _, one := range changed {
				if one.Label != fhirmap.LogLabel {
					without = append(without, one)
				}
			}
			plan, err = d.amend(without, "")
			must(t, err)
			if did := plan.Counts(); did.Withdrawn != len(changed)-len(without) || did.Corrected+did.Amended != 0 {
				t.Errorf("%+v", did)
			}
			d.valid()
			s.Faults(t)
		})
	}
}
