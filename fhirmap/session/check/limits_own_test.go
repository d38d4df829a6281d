package check

import "testing"

// Words that stand once among three that are the same, or that are offered.
func TestOwnWordsAtTheirLimits(t *testing.T) {
	const rules = "clin-unlike-own"
	files := func(n int) map[string]string {
		return map[string]string{sessionsFile: mondays(n, "dialyser,access,needling", everyRow("Kapillar H19,fistula,ladder"))}
	}
	const dialyser = "clin-unlike-own 3.dialyser "
	changes(t, rules, "", files(4), []change{
		{"3.dialyser=Kapilar H19", dialyser + "Kapilar H19 -> perhaps Kapillar H19"},
		{"3.dialyser=Kapillar H91", dialyser + "Kapillar H91 -> perhaps Kapillar H19"},
		{"3.dialyser=Kapillar H17", ""}, {"3.dialyser=Kapillar H109", ""}, {"3.dialyser=Kapillar H199", ""}, {"3.dialyser=kapillar h19", ""}, {"3.dialyser=Other one", ""},
		{"3.dialyser=Kapilar H19;4.dialyser=Kapilar H19", ""},
		{"3.needling=laddr", "clin-unlike-own 3.needling laddr -> perhaps ladder"},
	})
	changes(t, rules, "", files(3), []change{{"3.dialyser=Kapilar H19", ""}, {"3.needling=laddr", "clin-unlike-own 3.needling laddr -> perhaps ladder"}})
}

// The route and the kind of a medicine that stand once.
func TestOwnKindsAndRoutesAtTheirLimits(t *testing.T) {
	rows := func(n int) map[string]string {
		text := "session,time,medicine,kind,dose,dose_unit,rate,rate_unit,route\n"
		for i := range n {
			text += []string{"s0", "s1", "s2", "s3"}[i] + ",14:30,hormone,ESA,4000,IU,,,vein\n"
		}
		return map[string]string{sessionsFile: mondays(n, "reason", everyRow("")), medicinesFile: text}
	}
	changes(t, "clin-unlike-own", "", rows(4), []change{
		{"medicines:3.route=skin", "clin-unlike-own 3.route skin -> perhaps vein"}, {"medicines:3.route=circuit", ""},
		{"medicines:3.route=skin;medicines:4.route=mouth", ""}, {"medicines:3.route=skin;medicines:4.route=skin", ""},
		{"medicines:3.kind=iron", "clin-unlike-own 3.kind iron -> perhaps ESA"},
	})
	changes(t, "clin-unlike-own", "", rows(3), []change{{"medicines:3.route=skin", ""}, {"medicines:3.kind=iron", "clin-unlike-own 3.kind iron -> perhaps ESA"}})
	changes(t, "clin-unlike-own", "", rows(2), []change{{"medicines:3.kind=iron", ""}})
	// What a known substance is needs no other row.
	changes(t, "clin-unlike-own", "", rows(1), []change{
		{"medicines:2.medicine=epoetin alfa", ""}, {"medicines:2.medicine=epoetin alfa;medicines:2.kind=other", ""},
		{"medicines:2.medicine=Darbepoetin alfa;medicines:2.kind=iron", "clin-unlike-own 2.kind iron -> perhaps ESA"},
		{"medicines:2.medicine=iron sucrose", "clin-unlike-own 2.kind ESA -> perhaps iron"},
		{"medicines:2.medicine=calcitriol", "clin-unlike-own 2.kind ESA -> perhaps other"},
		{"medicines:2.medicine=low molecular weight heparin", "clin-unlike-own 2.kind ESA -> perhaps anticoagulant"},
	})
}

// Two cells that hold what three other rows have in the other one.
func TestExchangedSettingsAtTheirLimits(t *testing.T) {
	files := func(n int) map[string]string {
		return map[string]string{sessionsFile: mondays(n, "arterial_needle_site,venous_needle_site", everyRow("10 cm,16 cm"))}
	}
	const sites = "clin-columns-swapped 3.arterial_needle_site 16 cm -> perhaps 10 cm here and 16 cm there"
	const rules = "clin-columns-swapped"
	changes(t, rules, "", files(4), []change{
		{"3.arterial_needle_site=16 cm;3.venous_needle_site=10 cm", sites},
		{"3.arterial_needle_site=16 cm", ""}, {"3.venous_needle_site=10 cm", ""},
		{"3.arterial_needle_site=16 cm;3.venous_needle_site=10 cm;4.arterial_needle_site=16 cm", ""},
		{"3.arterial_needle_site=16 cm;3.venous_needle_site=10 cm;4.venous_needle_site=10 cm", ""},
	})
	changes(t, rules, "", files(3), []change{{"3.arterial_needle_site=16 cm;3.venous_needle_site=10 cm", ""}})
}

// The access of another day and the dry weight of an earlier prescription.
func TestSettingsOfThePlanAtTheirLimits(t *testing.T) {
	const plan = "[[access]]\nvalid_from = 2025-01-13\nkind = \"fistula\"\n[[prescription]]\nvalid_from = 2025-01-01\nsessions_per_week = 1\ndry_weight_kg = 71.0\n[[prescription]]\nvalid_from = 2025-01-20\nsessions_per_week = 1\ndry_weight_kg = 70.5\n"
	files := map[string]string{sessionsFile: mondays(4, "access,dry_weight_kg", everyRow(","))} // 6, 13, 20 and 27 January
	changes(t, "clin-unlike-plan", plan, files, []change{
		{"2.access=graft", ""}, {"3.access=graft", "clin-unlike-plan 3.access graft -> perhaps fistula, or the new access in log.toml"}, {"3.access=fistula", ""}, {"3.access=something", ""},
		{"3.dry_weight_kg=71.0", ""}, {"4.dry_weight_kg=71.0", "clin-unlike-plan 4.dry_weight_kg 71.0 -> perhaps 70.5 kg"}, {"4.dry_weight_kg=70.5", ""}, {"4.dry_weight_kg=71.1", ""},
		{"3.dry_weight_kg=70.5", ""},
	})
}

// Two numbers of a row that the limits or the person's other rows have in each
// other's place.
func TestExchangedNumbersAtTheirLimits(t *testing.T) {
	const rules = "clin-exchanged"
	files := func(n int) map[string]string {
		return map[string]string{sessionsFile: mondays(n, "drinks_l,saline_l,dialysate_sodium_mmol_l,dialysate_potassium_mmol_l", func(i int) string {
			return []string{"0.50,0.20,140,2", "0.55,0.25,141,2"}[i%2]
		})}
	}
	const found = "clin-exchanged 4.drinks_l 0.21 -> perhaps 0.51 and 0.21"
	changes(t, rules, "", files(6), []change{
		{"4.drinks_l=0.21;4.saline_l=0.51", found},
		{"4.drinks_l=0.20;4.saline_l=0.50", "clin-exchanged 4.drinks_l 0.20 -> perhaps 0.50 and 0.20"},
		{"4.drinks_l=0.25;4.saline_l=0.55", "clin-exchanged 4.drinks_l 0.25 -> perhaps 0.55 and 0.25"},
		{"4.drinks_l=0.19;4.saline_l=0.51", ""}, {"4.drinks_l=0.26;4.saline_l=0.51", ""},
		{"4.drinks_l=0.21;4.saline_l=0.49", ""}, {"4.drinks_l=0.21;4.saline_l=0.56", ""},
		{"4.dialysate_sodium_mmol_l=2;4.dialysate_potassium_mmol_l=140", "clin-exchanged 4.dialysate_sodium_mmol_l 2 -> perhaps 140 and 2"},
	})
	changes(t, rules, "", files(5), []change{{"4.drinks_l=0.21;4.saline_l=0.51", ""}})
	const salt = "clin-exchanged 3.dialysate_sodium_mmol_l 2 -> perhaps 140 and 2"
	changes(t, rules, "", files(3), []change{
		{"3.dialysate_sodium_mmol_l=2;3.dialysate_potassium_mmol_l=140", salt}, {"3.dialysate_sodium_mmol_l=2", ""}, {"3.dialysate_potassium_mmol_l=140", ""},
	})
	// Nothing is known of a column that begins at 0.
	zero := map[string]string{sessionsFile: mondays(8, "drinks_l,saline_l", func(i int) string { return []string{"0.50,0", "0.55,0.25"}[i%2] })}
	changes(t, rules, "", zero, []change{{"4.drinks_l=0.21;4.saline_l=0.51", ""}})
	// The halves of a pressure have a rule of their own.
	read := map[string]string{sessionsFile: mondays(1, "reason", everyRow("")), "readings.csv": readingsOf(1, 3, "bp_systolic_mmhg,bp_diastolic_mmhg", "140,80")}
	changes(t, rules, "", read, []change{{"readings:3.bp_systolic_mmhg=15;readings:3.bp_diastolic_mmhg=140", ""}})
	lines := map[string]string{sessionsFile: mondays(1, "reason", everyRow("")), "readings.csv": readingsOf(1, 3, "bp_systolic_mmhg,arterial_pressure_mmhg", "140,-120")}
	changes(t, rules, "", lines, []change{{"readings:3.bp_systolic_mmhg=-120;readings:3.arterial_pressure_mmhg=140", "clin-exchanged 3.bp_systolic_mmhg -120 -> perhaps 140 and -120"}})
}

// Four measurements that are those of an earlier session.
func TestCopiedSessionsAtTheirLimits(t *testing.T) {
	files := map[string]string{sessionsFile: mondays(3, "weight_before_kg,weight_after_kg,pulse_before_per_min,pulse_after_per_min", func(i int) string {
		return []string{"72.1,70.1,61,71", "72.2,70.3,62,73", "72.4,70.4,64,75"}[i]
	})}
	const same = "4.weight_before_kg=72.1;4.weight_after_kg=70.1;4.pulse_before_per_min=61;4.pulse_after_per_min="
	changes(t, "month-copied", "", files, []change{
		{same + "71", "month-copied 4.session  -> "}, {same + "72", ""}, {same + ";2.pulse_after_per_min=", ""},
	})
}

// A row copied down with its times: readings that these do not fit show which of the
// two rows is wrong.
func TestCopiedRowBesideItsReadings(t *testing.T) {
	files := func(start string) map[string]string {
		return map[string]string{
			sessionsFile: "session,date,start,end,status,weight_before_kg,weight_after_kg,bp_before_systolic_mmhg,bp_before_diastolic_mmhg,uf_removed_l\n" +
				"a,2025-01-06,15:57,19:02,done,72.3,70.1,131,77,2.2\nb,2025-01-08," + start + ",done,72.3,70.1,131,77,2.2\n",
			readingsFile: "session,time,pulse_per_min\na,16:00,70\na,17:00,72\nb,15:27,71\nb,17:30,74\n",
		}
	}
	for start, want := range map[string]string{
		"15:57,19:02": "all measurements of this session are the same as those of an earlier one; its start and end do not fit its readings",
		"15:20,18:20": "all measurements of this session are the same as those of an earlier one",
	} {
		found := ruleIn(t, "month-copied", "", files(start))
		if len(found) != 1 || found[0].Details.String() != want {
			t.Errorf("%s: %v", start, found)
		}
	}
}
