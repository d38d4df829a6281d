package check

import (
	"fmt"
	"strings"
	"testing"
)

// Samples drawn a quarter of an hour into the session, or a day from it.
func TestTimesOfSamplesAtTheirLimits(t *testing.T) {
	const sessions = "session,date,start,end,status\na,2025-11-03,14:00,17:00,done\n"
	for _, c := range []struct{ drawn, when, want string }{
		{"2025-11-03 14:15", "before", ""}, {"2025-11-03 14:16", "before", "a time before 14:15"},
		{"2025-11-02 14:00", "before", ""}, {"2025-11-02 13:59", "before", "far"},
		{"2025-11-03 16:45", "after", ""}, {"2025-11-03 16:44", "after", "a time after 16:45"},
		{"2025-11-04 17:00", "after", ""}, {"2025-11-04 17:01", "after", "far"},
		{"2025-11-03 15:30", "", ""},
	} {
		labs := "session,drawn_date,drawn_time,when,test,value,unit\na," + c.drawn[:10] + "," + c.drawn[11:] + "," + c.when + ",urea,20,mmol/L\n"
		found := ruleIn(t, "clin-sample-time", "", map[string]string{sessionsFile: sessions, "labs.csv": labs})
		switch {
		case c.want == "" && len(found) == 0:
		case len(found) != 1, c.want == "far" && found[0].Details.String() != "the sample was drawn days before or after the session", c.want != "far" && found[0].Expected.String() != c.want:
			t.Errorf("%+v: %+v", c, found)
		}
	}
}

// Samples from before a session, under the name of the one a day later, are
// told once.
func TestSamplesUnderTheNextDay(t *testing.T) {
	const sessions = "session,date,start,end,status\na,2025-11-03,14:00,17:00,done\nb,2025-11-04,14:00,17:00,done\n"
	files := map[string]string{sessionsFile: sessions, "labs.csv": "session,drawn_date,drawn_time,when,test,value,unit\n" +
		"a,2025-11-03,13:55,before,urea,20,mmol/L\na,2025-11-03,13:55,before,albumin,40,g/L\na,2025-11-03,17:05,after,urea,8,mmol/L\n"}
	changes(t, "clin-sample-time", "", files, []change{
		{"labs:2.session=b;labs:3.session=b", "clin-sample-time 2.session b -> perhaps a"},
		{"labs:4.session=b", "clin-sample-time 4.session b -> perhaps a"},
		{"labs:2.session=b;labs:3.session=b;labs:4.session=b", "clin-sample-time 2.session b -> perhaps a"},
	})
}

// One result of a panel under the name of the session beside it, or of the other phase.
func TestOneResultOfAPanel(t *testing.T) {
	labs := "session,drawn_date,drawn_time,when,test,value,unit\n"
	for _, test := range []string{"urea,20", "albumin,40", "calcium,2.3", "sodium,138"} {
		labs += "s2,,13:55,before," + test + ",mmol/L\n"
	}
	labs = strings.Replace(labs, "albumin,40,mmol/L", "albumin,40,g/L", 1) + "s2,,17:12,after,urea,8,mmol/L\n"
	files := map[string]string{sessionsFile: "session,date,start,end,status\ns0,2025-11-01,14:10,17:00,done\ns1,2025-11-03,14:00,17:05,done\ns2,2025-11-05,14:00,17:10,done\ns3,2025-11-07,14:05,17:10,done\n", "labs.csv": labs}
	const other = "clin-sample-time 4.session "
	changes(t, "clin-sample-time", "", files, []change{
		{"labs:4.session=s1", other + "s1 -> perhaps s2"}, {"labs:4.session=s3", other + "s3 -> perhaps s2"}, {"labs:4.session=s0", ""},
		{"labs:4.session=s1;labs:3.session=s1", ""}, {"labs:4.session=s1;labs:4.drawn_time=13:50", ""}, {"labs:4.session=s1;labs:5.test=calcium", ""},
		{"labs:4.when=after", "clin-sample-time 4.when after -> perhaps before"}, {"labs:4.when=after;labs:4.drawn_time=13:50", "clin-sample-time 4.drawn_time 13:50 -> a time after 16:55"},
	})
}

// Pairs of urea at the ends of what is usual, and what is proposed.
func TestPairsOfUreaAtTheirLimits(t *testing.T) {
	const rules = "clin-urea-rises clin-urea-ratio clin-urea-clearance clin-urea-generation"
	const ratio = " -> usually 0.15 to 0.75 of the value before"
	const tubes, oneUnit = " -> the tubes with the right labels, drawn at the right moment", " -> both results of one test in one unit"
	const report = " -> the test and the unit that stand in the report"
	const mmol, mg, bun = " -> perhaps urea in mmol/L, both of them", " -> perhaps urea in mg/dL, both of them", " -> perhaps BUN in mg/dL, both of them"
	const flows, noFlows = ",300,500", ",,"
	for _, c := range []struct {
		perWeek             int
		flows               string
		before, after, want string // urea in mmol/L, where no other unit is written
	}{
		{3, noFlows, "20", "3.0", ""}, {3, noFlows, "20", "2.9", "clin-urea-ratio 3.value 2.9" + ratio},
		{3, noFlows, "20", "15.0", ""}, {3, noFlows, "20", "15.1", "clin-urea-ratio 3.value 15.1" + ratio},
		{3, noFlows, "20", "19.9", "clin-urea-ratio 3.value 19.9" + ratio},
		{3, noFlows, "20", "20", "clin-urea-rises 3.value 20 -> less than 20"},
		{3, flows, "20", "5.7", ""}, {3, flows, "20", "5.6", "clin-urea-clearance 3.value 5.6" + tubes},
		{3, flows, "20", "14.0", ""}, {3, flows, "20", "14.1", "clin-urea-clearance 3.value 14.1" + tubes},
		{3, flows, "bun,56,mg/dL", "5.6", "clin-urea-clearance 3.value 5.6" + oneUnit},
		{3, flows, "urea,120.1,mg/dL", "14.1", "clin-urea-clearance 3.value 14.1" + oneUnit},
		// Nothing else is wrong, but a laboratory gives both in one kind.
		{3, flows, "bun,56,mg/dL", "7.0", "clin-urea-clearance 3.value 7.0" + oneUnit},
		{3, flows, "bun,56,mg/dL", "urea,42,mg/dL", "clin-urea-clearance 3.value 42" + oneUnit},
		{3, flows, "20", "bun,7.0,mmol/L", ""},
		{7, flows, "50", "8.00", "clin-urea-clearance 3.value 8.00 -> perhaps urea in mg/dL, both of them, or tubes that were mixed up"},
		// 2 g/kg/d and 0.35; proposed from 0.5 to 1.7.
		{7, flows, "45.4", "15.89", ""}, {7, flows, "45.5", "15.93", "clin-urea-generation 2.value 45.5" + bun},
		{7, flows, "50.8", "17.78", "clin-urea-generation 2.value 50.8" + bun}, {7, flows, "50.9", "17.82", "clin-urea-generation 2.value 50.9" + mg},
		{1, flows, "urea,30.7,mg/dL", "urea,10.74,mg/dL", "clin-urea-generation 2.value 30.7" + report},
		{1, flows, "urea,30.8,mg/dL", "urea,10.78,mg/dL", "clin-urea-generation 2.value 30.8" + mmol},
		{1, flows, "urea,72.8,mg/dL", "urea,25.48,mg/dL", "clin-urea-generation 2.value 72.8" + mmol},
		{1, flows, "urea,72.9,mg/dL", "urea,25.51,mg/dL", ""},
		{1, flows, "bun,33.9,mg/dL", "bun,11.87,mg/dL", "clin-urea-generation 2.value 33.9" + mmol},
		{1, flows, "bun,34.0,mg/dL", "bun,11.90,mg/dL", ""},
	} {
		labs := "session,drawn_time,when,test,value,unit\n"
		for _, sample := range [][2]string{{"13:55,before,", c.before}, {"17:10,after,", c.after}} {
			if !strings.Contains(sample[1], ",") {
				sample[1] = "urea," + sample[1] + ",mmol/L"
			}
			labs += "s0," + sample[0] + sample[1] + "\n"
		}
		plan := fmt.Sprintf("[[prescription]]\nvalid_from = 2025-01-01\nsessions_per_week = %d\n", c.perWeek)
		files := map[string]string{
			sessionsFile: mondays(2, "weight_after_kg,treated_min,blood_flow_ml_min,dialysate_flow_ml_min", everyRow("70,180"+c.flows)),
			"labs.csv":   labs,
		}
		if got := told(t, rules, plan, files); got != c.want {
			t.Errorf("%+v: %s", c, got)
		}
	}
}

// A proposed value of one of a pair does not have urea rise.
func TestProposalForOneOfAPair(t *testing.T) {
	sessions := mondays(2, "weight_after_kg", everyRow("70"))
	for _, c := range []struct{ before, after, want string }{
		{"600", "59", "clin-decimal-point 2.value 600 -> perhaps 60 mg/dL"}, {"600", "60", "clin-impossible 2.value 600 -> usually 10 to 150 mg/dL"},
		{"61", "600", "clin-decimal-point 3.value 600 -> perhaps 60 mg/dL"}, {"60", "600", "clin-decimal-point 3.value 600 -> perhaps 6 mg/dL"},
	} {
		labs := "session,drawn_time,when,test,value,unit\ns0,13:55,before,bun," + c.before + ",mg/dL\ns0,17:10,after,bun," + c.after + ",mg/dL\n"
		if got := told(t, "clin-decimal-point clin-unit clin-unusual clin-impossible clin-urea-rises", "", map[string]string{sessionsFile: sessions, "labs.csv": labs}); got != c.want {
			t.Errorf("%+v: %s", c, got)
		}
	}
}

// Both ureas of a pair in mg/dL under mmol/L are told as another unit.
func TestPairInAnotherUnit(t *testing.T) {
	files := map[string]string{sessionsFile: mondays(2, "weight_after_kg", everyRow("70")),
		"labs.csv": "session,drawn_time,when,test,value,unit\ns0,13:55,before,urea,143,mmol/L\ns0,17:10,after,urea,39,mmol/L\n"}
	if got, want := told(t, "clin-unit clin-impossible", "", files), "clin-unit 2.value 143 -> perhaps 143 mg/dL"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
}

// A sample drawn at the time of another session belongs there, unless its own
// session has the other one of the pair.
func TestSamplesOfAnotherSessionAtTheirLimits(t *testing.T) {
	const sessions = "session,date,start,end,status\na,2025-11-03,14:00,17:00,done\nb,2025-11-05,14:00,17:00,done\n"
	files := map[string]string{sessionsFile: sessions, "labs.csv": "session,drawn_date,drawn_time,when,test,value,unit\n" +
		"a,2025-11-03,13:55,before,urea,20,mmol/L\na,2025-11-03,13:55,before,albumin,40,g/L\na,2025-11-03,17:05,after,potassium,4,mmol/L\n"}
	const other = "clin-sample-time 3.session a -> perhaps b"
	const after = "clin-sample-time 4.session a -> perhaps b"
	changes(t, "clin-sample-time", "", files, []change{
		{"labs:3.drawn_date=2025-11-05", other},
		{"labs:3.drawn_date=2025-11-05;labs:3.drawn_time=12:01", other}, {"labs:3.drawn_date=2025-11-05;labs:3.drawn_time=12:00", "clin-sample-time 3.drawn_time 12:00 -> a time before 14:15"},
		{"labs:3.drawn_date=2025-11-05;labs:3.drawn_time=14:14", other}, {"labs:3.drawn_date=2025-11-05;labs:3.drawn_time=14:15", "clin-sample-time 3.drawn_time 14:15 -> a time before 14:15"},
		{"labs:4.drawn_date=2025-11-05", after},
		{"labs:4.drawn_date=2025-11-05;labs:4.drawn_time=16:45", after}, {"labs:4.drawn_date=2025-11-05;labs:4.drawn_time=16:44", "clin-sample-time 4.drawn_time 16:44 -> "},
		{"labs:4.drawn_date=2025-11-05;labs:4.drawn_time=18:59", after}, {"labs:4.drawn_date=2025-11-05;labs:4.drawn_time=19:00", "clin-sample-time 4.drawn_time 19:00 -> "},
		{"labs:4.drawn_date=2025-11-05;labs:4.test=urea", "clin-sample-time 4.drawn_time 17:05 -> "},
		{"labs:4.drawn_time=05:05", "clin-sample-time 4.drawn_time 05:05 -> perhaps 17:05"},
		{"labs:4.drawn_date=2025-11-02", "clin-sample-time 4.drawn_date 2025-11-02 -> perhaps 2025-11-03"},
		{"labs:2.drawn_date=2025-11-04;labs:3.drawn_date=2025-11-04", "clin-sample-time 2.drawn_date 2025-11-04 -> perhaps 2025-11-03"},
		{"labs:2.drawn_time=01:55", "clin-sample-time 2.drawn_time 01:55 -> perhaps 13:55"},
		{"labs:2.drawn_time=01:55;labs:3.drawn_time=01:55", ""}, // both may be from the morning
		{"labs:2.drawn_date=2025-11-04;labs:2.drawn_time=01:55", "clin-sample-time 2.drawn_time 01:55 -> perhaps 2025-11-03 13:55"},
	})
}

// What dialysis lowers is not above its value before, but for a twentieth, nor
// above the dialysate.
func TestSolutesThatRise(t *testing.T) {
	labs := "session,when,test,value,unit\n"
	for _, row := range []string{"before,potassium,4.8,mmol/L", "after,potassium,3.6,mmol/L", "before,phosphate,5.2,mg/dL", "after,phosphate,2.4,mg/dL", "before,creatinine,690,umol/L", "after,creatinine,280,umol/L",
		"before,calcium,2.3,mmol/L", "after,calcium,2.6,mmol/L", "before,bicarbonate,22,mmol/L", "after,bicarbonate,28,mmol/L"} {
		labs += "s0," + row + "\n"
	}
	files := map[string]string{sessionsFile: mondays(2, "dialysate_potassium_mmol_l", everyRow("2")), "labs.csv": labs}
	const potassium = "clin-solute-rises 3.value "
	changes(t, "clin-solute-rises clin-urea-rises", "", files, []change{
		{"labs:3.value=5.04", ""}, {"labs:3.value=5.05", potassium + "5.05 -> less than 4.8 mmol/L"},
		{"labs:3.value=6.3", potassium + "6.3 -> perhaps 3.6 mmol/L"},
		{"labs:2.value=3.0;labs:3.value=4.2;2.dialysate_potassium_mmol_l=4", ""}, {"labs:2.value=3.0;labs:3.value=4.3;2.dialysate_potassium_mmol_l=4", potassium + "4.3 -> less than 3.0 mmol/L"},
		{"labs:2.value=3.0;labs:3.value=4.2;2.dialysate_potassium_mmol_l=", ""}, {"labs:2.value=3.0;labs:3.value=4.2", potassium + "4.2 -> perhaps 2.4 mmol/L"},
		{"labs:4.value=2.4;labs:5.value=4.2", ""}, {"labs:4.value=2.4;labs:5.value=4.3", "clin-solute-rises 5.value 4.3 -> perhaps 4.3 before and 2.4 after"},
		{"labs:4.value=1.6;labs:4.unit=mmol/L;labs:5.value=4.9", ""}, {"labs:4.value=1.6;labs:4.unit=mmol/L;labs:5.value=5.3", "clin-solute-rises 5.value 5.3 -> perhaps 3.5 mg/dL"},
		{"labs:7.value=820", "clin-solute-rises 7.value 820 -> perhaps 280 umol/L"},
		{"labs:3.value=6.0;labs:7.value=800", "clin-solute-rises 3.value 6.0 -> perhaps 6.0 before and 4.8 after"}, // once
		{"labs:3.value=6.0;labs:3.when=other", ""}, {"labs:2.when=other;labs:3.value=6.0", ""},
		{"labs:3.value=6.0;2.status=not done", ""},
		{"labs:3.value=6.0;labs:8.test=urea;labs:8.value=8;labs:9.test=urea;labs:9.value=20", "clin-urea-rises 9.value 20 -> perhaps 20 before and 8 after"}, // the samples are swapped
	})
}

// Of a pair in two units, the one that agrees in the unit of the other.
func TestUnitOfOneOfAPair(t *testing.T) {
	const plan = "[[prescription]]\nvalid_from = 2025-01-01\nsessions_per_week = 7\nblood_flow_ml_min = 300\ndialysate_flow_ml_min = 500\n"
	files := map[string]string{
		sessionsFile: mondays(2, "weight_after_kg,blood_flow_ml_min,dialysate_flow_ml_min,treated_min", everyRow("70,300,500,185")),
		"labs.csv":   "session,when,test,value,unit\ns0,before,bun,80,mg/dL\ns0,after,bun,30,mg/dL\n",
	}
	changes(t, "clin-urea-clearance clin-urea-ratio clin-urea-rises", plan, files, []change{
		{"labs:3.unit=mmol/L", "clin-urea-rises 3.value 30 mmol/L -> perhaps 30 mg/dL"},
	})
}

// Of a pair of two units that agrees in either, the unit of the other results is right.
func TestUnitOfAPairByTheOtherResults(t *testing.T) {
	for other, want := range map[string]string{
		"mmol/L": "clin-urea-clearance 3.value 11.9 mg/dL -> perhaps 11.9 mmol/L",
		"mg/dL":  "clin-urea-clearance 2.value 24.5 mmol/L -> perhaps 24.5 mg/dL",
	} {
		files := map[string]string{
			sessionsFile: mondays(2, "notes", everyRow("")),
			"labs.csv":   "session,when,test,value,unit\ns0,before,urea,24.5,mmol/L\ns0,after,urea,11.9,mg/dL\ns0,before,calcium,2.3," + other + "\n",
		}
		if got := told(t, "clin-urea-ratio clin-urea-clearance clin-urea-rises", "", files); got != want {
			t.Errorf("%s: %q, want %q", other, got, want)
		}
	}
}

// Of a pair of two kinds, the one that the other sessions do not have is named.
func TestTheUreaOfAnotherKindIsNamed(t *testing.T) {
	files := map[string]string{
		sessionsFile: mondays(3, "weight_after_kg,treated_min", everyRow("70,180")),
		"labs.csv": "session,drawn_time,when,test,value,unit\n" +
			"s0,13:55,before,bun,56,mg/dL\ns0,17:10,after,bun,19.6,mg/dL\ns1,13:55,before,urea,51,mg/dL\ns1,17:10,after,bun,11,mg/dL\n",
	}
	const want = "clin-urea-clearance 4.value 51 -> both results of one test in one unit"
	if got := told(t, "clin-urea-ratio clin-urea-clearance", "", files); got != want {
		t.Error(got)
	}
}

// A urea after dialysis that is above the one before: the two are exchanged, or one of
// them is in another unit. What fits flows, time, the person's other results and the
// other solutes is named, both where they fit alike.
func TestUreaInAnotherUnitOrExchanged(t *testing.T) {
	const plan = "[[prescription]]\nvalid_from = 2025-01-01\nsessions_per_week = 5\n"
	for _, c := range []struct{ flows, test, unit, before, after, rest, want string }{
		{"380,170", "bun", "mg/dL", "15.4", "21", "s0,before,creatinine,7.9,mg/dL\ns0,after,creatinine,4.6,mg/dL\n", "2.value 15.4 -> perhaps 15.4 mmol/L"},
		{"380,170", "bun", "mg/dL", "15.4", "21", "", "2.value 15.4 -> perhaps 15.4 mmol/L"},
		{",", "bun", "mg/dL", "15.4", "21", "", "2.value 15.4 -> perhaps 21 before and 15.4 after, or 15.4 mmol/L"},
		{",", "bun", "mg/dL", "15.4", "21", "s0,before,creatinine,7.9,mg/dL\ns0,after,creatinine,4.6,mg/dL\n", "2.value 15.4 -> perhaps 15.4 mmol/L"},
		{"380,170", "urea", "mmol/L", "18", "50", "", "3.value 50 -> perhaps 50 mg/dL"},
		{"380,170", "bun", "mg/dL", "21", "43", "", "3.value 43 -> perhaps 43 before and 21 after"},
		{"380,170", "bun", "mg/dL", "15.4", "21", "s1,before,bun,21,mg/dL\ns1,after,bun,15,mg/dL\n", "3.value 21 -> perhaps 21 before and 15.4 after"},
	} {
		files := map[string]string{
			sessionsFile: mondays(2, "weight_after_kg,treated_min,blood_flow_ml_min,dialysate_flow_ml_min", everyRow("60,150,"+c.flows)),
			"labs.csv": "session,when,test,value,unit\ns0,before," + c.test + "," + c.before + "," + c.unit + "\ns0,after," + c.test + "," + c.after + "," + c.unit + "\n" +
				c.rest + "s0,before,sodium,138,mmol/L\n",
		}
		want := "clin-urea-rises " + c.want
		if got := told(t, "clin-urea-rises clin-urea-clearance", plan, files); got != want {
			t.Errorf("%+v: %s", c, got)
		}
	}
}
