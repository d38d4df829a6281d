package kinetics

import (
	"errors"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
	"runsheet.example/calc"
)

func drawPools(t *rapid.T) Pools {
	if rapid.Bool().Draw(t, "single") {
		return Pools{}
	}
	return TwoPools()
}

func solve(t *rapid.T, body Body, cycle Cycle) Steady {
	s, err := SteadyState(body, cycle)
	if err != nil {
		t.Skip(err)
	}
	return s
}

// With constant volume, no residual clearance and identical sessions the
// weekly standard Kt/V of a single pool equals the fixed-volume formula
// exactly, at any spacing (Leypoldt 2004; the recursion is linear).
func TestFixedVolumeIdentityAtAnySpacing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 7).Draw(t, "N")
		minutes := rapid.Float64Range(60, 600).Draw(t, "t")
		clearance := rapid.Float64Range(50, 400).Draw(t, "K")
		volume := rapid.Float64Range(15, 70).Draw(t, "V")
		slot := calc.MinutesPerWeek / float64(n)
		var cycle Cycle
		cycle.LengthMin = calc.MinutesPerWeek
		for i := range n {
			start := slot*float64(i) + rapid.Float64Range(0, slot-minutes-1).Draw(t, "start")
			cycle.Treatments = append(cycle.Treatments, Treatment{StartMin: start, DurationMin: minutes, ClearanceMLPerMin: clearance})
		}
		s, err := SteadyState(Body{VolumeL: volume, GenerationMgPerMin: 6}, cycle)
		if err != nil {
			t.Fatal(err)
		}
		want, err := calc.StdKtVFixedVolume(clearance*minutes/(1000*volume), minutes, float64(n))
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(s.StdKtV()-want) > 1e-10*want {
			t.Fatalf("model %.15g, formula %.15g", s.StdKtV(), want)
		}
	})
}

// Removed by dialyser and kidney = generated, over a steady cycle.
func TestSteadyMassBalance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := solve(t, drawBody(t, drawPools(t)), drawCycle(t))
		if error := s.DialyserRemovedMg + s.KidneyRemovedMg - s.GeneratedMg; math.Abs(error) > 1e-9*s.GeneratedMg {
			t.Fatalf("balance is off by %v of %v mg", error, s.GeneratedMg)
		}
	})
}

// drawCourse draws two to four weeks as they might have been done, with
// missed sessions and gains that do not match the fluid removed.
func drawCourse(t *rapid.T) Course {
	c := Course{Start: UreaState{
		AtMin: 100, VolumeL: rapid.Float64Range(25, 60).Draw(t, "V0"),
		PlasmaMgPerDL: rapid.Float64Range(0, 150).Draw(t, "C1"), InnerMgPerDL: rapid.Float64Range(0, 150).Draw(t, "C2"),
	}}
	at := 100.0
	for range rapid.IntRange(0, 14).Draw(t, "sessions") {
		interval := rapid.SampledFrom([]float64{0, 600, 1200, 2640, 5520}).Draw(t, "interval")
		at += interval
		duration := rapid.Float64Range(45, 480).Draw(t, "t")
		c.Sessions = append(c.Sessions, CourseSession{
			Treatment: Treatment{
				StartMin: at, DurationMin: duration, ClearanceMLPerMin: rapid.Float64Range(0, 300).Draw(t, "K"),
				UFLitres: rapid.Float64Range(0, 2).Draw(t, "UF"),
			},
			GainLitres: min(interval, 1) * rapid.Float64Range(0, 2).Draw(t, "gain"),
		})
		at += duration
	}
	c.EndMin = at + rapid.Float64Range(1, 3000).Draw(t, "tail")
	return c
}

// Generated = removed + change in body, over any course and any window of it.
func TestCourseMassBalance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		course := drawCourse(t)
		r, err := Follow(drawBody(t, drawPools(t)), course)
		if err != nil {
			t.Skip(err)
		}
		span := course.EndMin - course.Start.AtMin
		from := course.Start.AtMin + span*rapid.Float64Range(0, 0.5).Draw(t, "from")
		to := course.Start.AtMin + span*rapid.Float64Range(0.51, 1).Draw(t, "to")
		w, err := r.Window(from, to)
		if err != nil {
			t.Fatal(err)
		}
		before, err := r.At(from)
		if err != nil {
			t.Fatal(err)
		}
		after, err := r.At(to)
		if err != nil {
			t.Fatal(err)
		}
		scale := w.GeneratedMg + r.UreaMg(before) + r.UreaMg(after)
		error := w.GeneratedMg - w.DialyserRemovedMg - w.KidneyRemovedMg - (r.UreaMg(after) - r.UreaMg(before))
		if math.Abs(error) > 1e-9*scale {
			t.Fatalf("balance is off by %v of %v mg", error, scale)
		}
	})
}

// A course that is the steady cycle three times over gives the steady values
// every week: forward integration and periodic solution agree.
func TestCourseOfSteadyWeeksStaysSteady(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		body, cycle := drawBody(t, drawPools(t)), drawCycle(t)
		s := solve(t, body, cycle)
		totalUF, timeOn := 0.0, 0.0
		for _, x := range s.Cycle.Treatments {
			totalUF += x.UFLitres
			timeOn += x.DurationMin
		}
		rate := totalUF / (cycle.LengthMin - timeOn)
		course := Course{Start: s.Start}
		free := s.Start.AtMin
		for week := range 3 {
			for _, x := range s.Cycle.Treatments {
				x.StartMin += float64(week) * calc.MinutesPerWeek
				course.Sessions = append(course.Sessions, CourseSession{Treatment: x, GainLitres: rate * (x.StartMin - free)})
				free = x.StartMin + x.DurationMin
			}
		}
		course.EndMin = s.Start.AtMin + 3*calc.MinutesPerWeek
		course.TailLitres = rate * (course.EndMin - free)
		r, err := Follow(body, course)
		if err != nil {
			t.Fatal(err)
		}
		w, err := r.Window(course.EndMin-calc.MinutesPerWeek, course.EndMin)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(w.StdKtV()-s.StdKtV()) > 1e-9*s.StdKtV() || math.Abs(w.EKR()-s.EKR()) > 1e-9*s.EKR() {
			t.Fatalf("third week %v and %v, steady %v and %v", w.StdKtV(), w.EKR(), s.StdKtV(), s.EKR())
		}
	})
}

func TestSteadyStateProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		body, cycle := drawBody(t, drawPools(t)), drawCycle(t)
		s := solve(t, body, cycle)

		// The order in which sessions are listed does not matter.
		shuffled := Cycle{LengthMin: cycle.LengthMin, Treatments: rapid.Permutation(cycle.Treatments).Draw(t, "order")}
		if other := solve(t, body, shuffled); !slices.Equal(other.Sessions, s.Sessions) {
			t.Fatal("the result depends on the order of listing")
		}
		// Concentrations are proportional to generation; dose does not depend on it.
		double := body
		double.GenerationMgPerMin *= 2
		if other := solve(t, double, cycle); math.Abs(other.StdKtV()-s.StdKtV()) > 1e-11*s.StdKtV() || math.Abs(other.TimeAveragedMgPerDL-2*s.TimeAveragedMgPerDL) > 1e-11*other.TimeAveragedMgPerDL {
			t.Fatal("not proportional to generation")
		}
		// Twice the body with twice the clearance and fluid has the same dose.
		big, bigCycle := body, Cycle{LengthMin: cycle.LengthMin}
		big.VolumeL *= 2
		big.ResidualMLPerMin *= 2
		for _, x := range cycle.Treatments {
			x.ClearanceMLPerMin *= 2
			x.UFLitres *= 2
			bigCycle.Treatments = append(bigCycle.Treatments, x)
		}
		if other := solve(t, big, bigCycle); math.Abs(other.StdKtV()-s.StdKtV()) > 1e-11*s.StdKtV() {
			t.Fatal("not invariant to scale")
		}
		// More clearance, more residual function: more dose.
		more, moreCycle := body, Cycle{LengthMin: cycle.LengthMin, Treatments: slices.Clone(cycle.Treatments)}
		moreCycle.Treatments[0].ClearanceMLPerMin *= 1.2
		if other := solve(t, body, moreCycle); !(other.EKR() > s.EKR() && other.StdKtV() > s.StdKtV()*(1-1e-12)) {
			t.Fatalf("more clearance gives %v %v after %v %v", other.EKR(), other.StdKtV(), s.EKR(), s.StdKtV())
		}
		more.ResidualMLPerMin++
		if other := solve(t, more, cycle); !(other.EKR() > s.EKR() && other.StdKtV() > s.StdKtV()) {
			t.Fatal("residual clearance does not add")
		}
	})
}

// A closed-form steady state of a model with samples fitted back gives the
// volume, clearance and generation it was made from.
func TestFitFindsWhatItWasMadeFrom(t *testing.T) {
	fitted, tried := 0, 0
	defer func() {
		if fitted < tried*3/4 {
			t.Errorf("only %d of %d fits gave a value", fitted, tried)
		}
	}()
	rapid.Check(t, func(t *rapid.T) {
		body, cycle := drawBody(t, drawPools(t)), drawCycle(t)
		s := solve(t, body, cycle)
		i := rapid.IntRange(0, len(cycle.Treatments)-1).Draw(t, "sample")
		sample := PairedSample{Session: i, BeforeMgPerDL: s.Sessions[i].BeforeMgPerDL, AfterMgPerDL: s.Sessions[i].AfterMgPerDL}
		if sample.Equilibrated = rapid.Bool().Draw(t, "late"); sample.Equilibrated {
			sample.AfterMgPerDL = s.Sessions[i].EquilibratedMgPerDL
		}
		if sample.AfterMgPerDL >= sample.BeforeMgPerDL {
			t.Skip("concentrations rise over this session")
		}
		tried++
		byVolume, err := FitVolume(body, cycle, sample)
		var reason calc.NotComputable
		if errors.As(err, &reason) {
			return // sessions too unlike each other
		}
		if math.Abs(byVolume.Body.VolumeL-body.VolumeL) > 1e-6*body.VolumeL || math.Abs(byVolume.Body.GenerationMgPerMin-body.GenerationMgPerMin) > 1e-6*body.GenerationMgPerMin {
			t.Fatalf("V %v and G %v, made from %v and %v", byVolume.Body.VolumeL, byVolume.Body.GenerationMgPerMin, body.VolumeL, body.GenerationMgPerMin)
		}
		byClearance, err := FitClearance(body, cycle, sample)
		if errors.As(err, &reason) {
			return
		}
		fitted++
		for j, x := range byClearance.Cycle.Treatments {
			if want := cycle.Treatments[j].ClearanceMLPerMin; math.Abs(x.ClearanceMLPerMin-want) > 1e-6*want {
				t.Fatalf("K %v, made from %v", x.ClearanceMLPerMin, want)
			}
		}
	})
}

// Whatever numbers come in, the kinetic model gives finite values or says why
// not.
func TestKineticsGivesFiniteValuesOrReasons(t *testing.T) {
	anything := rapid.OneOf(
		rapid.Float64Range(0, 500), rapid.Float64Range(0, 1), rapid.Float64(),
		rapid.SampledFrom([]float64{0, math.Inf(1), math.NaN(), math.MaxFloat64, math.SmallestNonzeroFloat64}),
	)
	rapid.Check(t, func(t *rapid.T) {
		body := Body{
			VolumeL: anything.Draw(t, "V"), GenerationMgPerMin: anything.Draw(t, "G"), ResidualMLPerMin: anything.Draw(t, "Kr"),
			Pools: Pools{anything.Draw(t, "Kc"), anything.Draw(t, "share"), anything.Draw(t, "generation share")},
		}
		cycle := Cycle{LengthMin: anything.Draw(t, "length")}
		course := Course{Start: UreaState{0, anything.Draw(t, "V0"), anything.Draw(t, "C1"), anything.Draw(t, "C2")}, EndMin: 1e4}
		for range rapid.IntRange(0, 3).Draw(t, "N") {
			x := Treatment{anything.Draw(t, "start"), anything.Draw(t, "t"), anything.Draw(t, "K"), anything.Draw(t, "UF")}
			cycle.Treatments = append(cycle.Treatments, x)
			course.Sessions = append(course.Sessions, CourseSession{x, anything.Draw(t, "gain")})
		}
		if s, err := SteadyState(body, cycle); err == nil && calc.Finite("", s.TimeAveragedMgPerDL+s.MeanBeforeMgPerDL) != "" {
			t.Fatalf("steady state %+v", s)
		}
		if r, err := Follow(body, course); err == nil && calc.Finite("", r.End.PlasmaMgPerDL) != "" {
			t.Fatalf("end %+v", r.End)
		}
	})
}
