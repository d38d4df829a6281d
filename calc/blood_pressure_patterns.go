package calc

// FrequentHypotension assesses whether intradialytic hypotension is frequent,
// by two definitions, from the sessions in which it was present and those in
// which it could be assessed.
//
// Flythe: 30 % of sessions or more; Kuipers et al, BMC Nephrol 2016;17:21:
// more than 20 %.
func FrequentHypotension(present, assessable int) []Assessment {
	flythe := Assessment{Definition: "in 30 % of sessions or more", Source: "Flythe et al", Tag: Seen}
	kuipers := Assessment{Definition: "in more than 20 % of sessions", Source: "Kuipers et al, BMC Nephrol 2016;17:21", Tag: Seen}
	if assessable <= 0 || present < 0 || present > assessable {
		const why = "no session could be assessed"
		return []Assessment{flythe.because(why), kuipers.because(why)}
	}
	share := float64(present) / float64(assessable)
	return []Assessment{flythe.answer(share >= 0.3), kuipers.answer(share > 0.2)}
}

// IntradialyticHypertension assesses whether systolic pressure rose by more
// than 10 mm[Hg] from before to after dialysis in at least 4 of the last 6
// sessions (from memory). rises holds the change of each session in time
// order; the caller leaves out sessions with a missing reading.
func IntradialyticHypertension(rises []float64) Assessment {
	a := Assessment{
		Definition: "systolic rise above 10 mm[Hg] in at least 4 of 6 consecutive sessions",
		Source:     "as commonly defined", Tag: Memory,
	}
	if len(rises) < 6 {
		return a.because("fewer than 6 sessions have a pressure before and after")
	}
	count := 0
	for _, rise := range rises[len(rises)-6:] {
		if rise > 10 {
			count++
		}
	}
	return a.answer(count >= 4)
}

// OrthostaticFall assesses whether blood pressure fell by 20 systolic or 10
// diastolic or more on standing, within 3 minutes (from memory).
func OrthostaticFall(sitting, standing *Pressure) Assessment {
	a := Assessment{Definition: "fall of 20/10 mm[Hg] or more within 3 min of standing", Source: "as commonly defined", Tag: Memory}
	if sitting == nil || standing == nil {
		return a.because("blood pressure was not recorded both sitting and standing")
	}
	for _, p := range []*Pressure{sitting, standing} {
		if _, err := PulsePressure(p.Systolic, p.Diastolic); err != nil {
			return a.because(err.Error())
		}
	}
	return a.answer(sitting.Systolic-standing.Systolic >= 20 || sitting.Diastolic-standing.Diastolic >= 10)
}
