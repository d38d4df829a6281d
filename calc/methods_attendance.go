package calc

// attendanceMethods compute the attendance of one local week, Monday to
// Sunday, from sums over the sessions of the week.
func attendanceMethods() []Method {
	const week = "one local week, Monday to Sunday; a session belongs to the week in which it started"
	same := func(id, key, quantity, unit, of, scope string, decimals int, share float64, formula string) Method {
		return Method{
			ID: id, Version: "1", Quantity: quantity, Key: key, Unit: unit, Decimals: decimals,
			Formula: key + " = " + formula, Source: "definition", Range: scope, Inputs: need(of),
			eval: func(in Inputs) (float64, error) {
				if err := guard(notNegative("the "+need(of)[0].Name, in[of])); err != nil {
					return undefined(err.Error())
				}
				return in[of] / share, nil
			},
		}
	}
	return []Method{
		same("sessions-done", "sessions_done", "sessions done in a week", "/wk", "sessions_counted", week, 0, 1, "sessions_counted"),
		same("sessions-planned", "sessions_planned", "sessions planned for a week", "/wk", "sessions_per_week", "a week of which one prescription holds on every day", 0, 1, "sessions_per_week"),
		same("hours-done", "hours_done", "hours treated in a week", "h", "weekly_treated_time", week, 2, 60, "weekly_treated_time/60"),
		same("uf-done", "uf_done", "fluid removed in a week", "L", "weekly_uf", week, 2, 1, "weekly_uf"),
	}
}
