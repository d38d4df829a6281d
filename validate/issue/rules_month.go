package issue

// monthRules judge the sessions of a log against each other and against what
// was planned.
var monthRules = []Rule{
	{"month-copied", LayerMonth, Warning, clinBusiness,
		"measurements differ from one session or reading to the next",
		"blood pressure, pulse and line pressures do not all repeat exactly; the row may have been copied", common,
		"write what the displays showed; leave cells empty where you do not know it"},
	{"month-date-far", LayerMonth, Warning, clinValue,
		"a session's date is near those of the others",
		"a wrong year or month puts the session where nobody looks for it", common,
		"look at the date, above all the year"},
	{"month-digits", LayerMonth, Warning, clinBusiness,
		"the last digits of blood pressures vary",
		"rounding hides changes; a cuff shows all last digits about equally often", "terminal digit preference, a known fault of blood pressure records; common practice",
		"write the numbers as the cuff shows them"},
	{"month-gap", LayerMonth, Warning, clinRequired,
		"there is a row at least every five days",
		"sessions may be missing from the log", common,
		"add the missing sessions, also those that were not done"},
	{"month-overlap", LayerMonth, Error, clinBusiness,
		"two sessions do not overlap",
		"nobody is dialysed twice at the same time", "common practice",
		"look at date, start and end of both"},
	{"month-session-absent", LayerMonth, Warning, clinRequired,
		"each week has as many rows as sessions are prescribed, counting those not done",
		"a missed session without a word looks as if it had been forgotten to be written down", common,
		"add the session, or a row that says not done and why"},
	{"month-session-twice", LayerMonth, Error, "duplicate",
		"a session is in the log once",
		"it would be in the record twice", common,
		"take one of the two rows out, or correct its date"},
}
