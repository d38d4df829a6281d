package kinetics

import (
	"testing"

	"runsheet.example/calc"
)

func patientYear() (Body, Course) {
	body := Body{VolumeL: 36, GenerationMgPerMin: 6, ResidualMLPerMin: 1, Pools: TwoPools()}
	course := Course{Start: UreaState{VolumeL: 37.4, PlasmaMgPerDL: 58, InnerMgPerDL: 58}, EndMin: 52 * calc.MinutesPerWeek}
	for week := range 52 {
		for _, day := range []float64{0, 1, 3, 4, 6} {
			course.Sessions = append(course.Sessions, CourseSession{
				Treatment:  Treatment{StartMin: float64(week)*calc.MinutesPerWeek + 1440*day, DurationMin: 165, ClearanceMLPerMin: 150, UFLitres: 1.5},
				GainLitres: 1.5,
			})
		}
	}
	course.Sessions[0].GainLitres = 0
	return body, course
}

func BenchmarkForwardYearTwoPool(b *testing.B) {
	body, course := patientYear()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Follow(body, course); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/260, "ns/session")
}

func BenchmarkForwardYearWithWeeks(b *testing.B) {
	body, course := patientYear()
	for b.Loop() {
		run, err := Follow(body, course)
		if err != nil {
			b.Fatal(err)
		}
		for week := range 52 {
			if _, err := run.Window(float64(week)*calc.MinutesPerWeek, float64(week+1)*calc.MinutesPerWeek); err != nil {
				b.Fatal(err)
			}
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/260, "ns/session")
}

func BenchmarkSteadyWeekTwoPool(b *testing.B) {
	body := Body{VolumeL: 36, GenerationMgPerMin: 6, Pools: TwoPools()}
	week := WeekOf()
	for _, day := range []float64{0, 1, 3, 4, 6} {
		week.Treatments = append(week.Treatments, Treatment{StartMin: 1440 * day, DurationMin: 165, ClearanceMLPerMin: 150, UFLitres: 1.5})
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := SteadyState(body, week); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFitVolume(b *testing.B) {
	week := WeekOf()
	for _, day := range []float64{0, 2, 4} {
		week.Treatments = append(week.Treatments, Treatment{StartMin: 1440 * day, DurationMin: 240, ClearanceMLPerMin: 210, UFLitres: 2.5})
	}
	sample := PairedSample{Session: 1, BeforeMgPerDL: 60, AfterMgPerDL: 20}
	for b.Loop() {
		if _, err := FitVolume(Body{Pools: TwoPools()}, week, sample); err != nil {
			b.Fatal(err)
		}
	}
}
