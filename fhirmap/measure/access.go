package measure

import (
	"runsheet.example/calc"
	"runsheet.example/fhirmap/session"
)

// AccessTrend is the trend of one line pressure within one access.
type AccessTrend struct {
	Access session.Access
	Field  session.Field // venous_line_pressure or arterial_line_pressure
	Trends []calc.Trend
}

// AccessTrends computes the trends of venous and arterial line pressure over
// the sessions. Each session has one number for each blood flow: the median of
// its readings at that flow, because pressure also moves within a session.
// Different accesses, needles and blood flows are never mixed; sessions with
// an access other than the usual one are left out.
func AccessTrends(log *session.Log) []AccessTrend {
	var all []AccessTrend
	for i := range log.About.Accesses {
		for _, field := range []session.Field{"venous_line_pressure", "arterial_line_pressure"} {
			if readings := accessReadings(log, i, field); len(readings) > 0 {
				all = append(all, AccessTrend{Access: log.About.Accesses[i], Field: field, Trends: calc.Trends(readings)})
			}
		}
	}
	return all
}

func accessReadings(log *session.Log, access int, field session.Field) []calc.CircuitReading {
	about := log.About.Accesses[access]
	gauge := 0
	if about.Kind.Text != "catheter" {
		gauge = int(maybe(about.NeedleGauge, about.NeedleGauge.Unit).Value)
	}
	var all []calc.CircuitReading
	for _, s := range log.Sessions {
		current, ok := log.About.AccessOn(s.Date.Time)
		if s.Broken || !s.Date.OK() || !ok || !current.ValidFrom.Time.Equal(about.ValidFrom.Time) || s.Texts["access"].OK() {
			continue
		}
		byFlow := map[float64][]float64{}
		var flows []float64
		for _, r := range s.Readings {
			flow, pressure := maybe(r.Value("blood_flow"), "mL/min"), maybe(r.Value(field), "mm[Hg]")
			if !flow.Known || !pressure.Known {
				continue
			}
			if len(byFlow[flow.Value]) == 0 {
				flows = append(flows, flow.Value)
			}
			byFlow[flow.Value] = append(byFlow[flow.Value], pressure.Value)
		}
		for _, flow := range flows {
			all = append(all, calc.CircuitReading{
				AtMin: float64(s.Date.Time.Unix()) / 60, BloodFlow: flow, NeedleGauge: gauge, Pressure: calc.Median(byFlow[flow]),
			})
		}
	}
	return all
}
