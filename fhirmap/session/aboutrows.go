package session

import (
	"slices"

	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// AboutRow is one name of log.toml, as a question of the About sheet of a
// workbook; a row without a key is the heading of a part.
type AboutRow struct {
	Part, Key   string
	Label, Help string
	Choices     []string
	Kind        Kind
}

// AboutRows are all names of log.toml, in the order of the About sheet.
var AboutRows = []AboutRow{
	{"patient", "", "You", "", nil, 0},
	{"patient", "identifier_value", "Your number at the clinic", "ask the clinic", nil, KindText},
	{"patient", "identifier_system", "The name of that numbering", "ask the clinic; only to send", nil, KindText},
	{"patient", "name", "Your name", "sent only if you ask for it", nil, KindText},
	{"patient", "sex", "Sex", "only to work out body water", []string{"female", "male"}, KindChoice},
	{"patient", "birth_date", "Date of birth", "only to work out body water", nil, KindDate},
	{"patient", "height_cm", "Height (cm)", "only to work out body water", nil, KindNumber},
	{"clinic", "", "Your clinic", "", nil, 0},
	{"clinic", "name", "Name of the clinic", "", nil, KindText},
	{"clinic", "encrypt_to", "Public key of the clinic", "if it gave you one, begins with age1; what you hand over from the pages is then for the clinic alone", nil, KindText},
	{"clinic", "question_1", "To ask at the next visit", "printed on the report", nil, KindText},
	{"clinic", "question_2", "A second question", "", nil, KindText},
	{"clinic", "question_3", "A third question", "", nil, KindText},

	{"prescription", "", "What the clinic prescribed", "when it changes, fill in the next column", nil, 0},
	{"prescription", "valid_from", "From this day on", "", nil, KindDate},
	{"prescription", "name", "Name, only if it is not the usual one", "sessions that follow it name it", nil, KindText},
	{"prescription", "sessions_per_week", "Sessions a week", "this or the next", nil, KindNumber},
	{"prescription", "weekdays", "Days of the week", "such as mon, wed, fri", nil, KindText},
	{"prescription", "duration_min", "Length (min)", "", nil, KindNumber},
	{"prescription", "dry_weight_kg", "Dry weight (kg)", "this or the next", nil, KindNumber},
	{"prescription", "dry_weight_lb", "Dry weight (lb)", "", nil, KindNumber},
	{"prescription", "dialysate_l", "Dialysate (L)", "", nil, KindNumber},
	{"prescription", "dialysate_flow_ml_min", "Dialysate flow (mL/min)", "this or the next", nil, KindNumber},
	{"prescription", "dialysate_flow_l_h", "Dialysate flow (L/h)", "", nil, KindNumber},
	{"prescription", "blood_flow_ml_min", "Blood flow (mL/min)", "", nil, KindNumber},
	{"prescription", "dialyser", "Dialyser", "", nil, KindText},
	{"prescription", "dialyser_koa_ml_min", "Dialyser KoA (mL/min)", "from its leaflet", nil, KindNumber},
	{"prescription", "uf_limit_ml_kg_h", "UF limit (mL/kg/h)", "if the clinic gave you one", nil, KindNumber},
	{"prescription", "anticoagulant", "Anticoagulant", "", nil, KindText},
	{"prescription", "residual_urea_clearance_ml_min", "Own urea clearance (mL/min)", "if the clinic measured it", nil, KindNumber},
	{"prescription", "residual_date", "Measured on", "", nil, KindDate},
	{"prescription", "order_value", "Number of the order", "if the clinic gave you one", nil, KindText},
	{"prescription", "order_system", "The name of that numbering", "", nil, KindText},

	{"access", "", "Your access", "when it changes, fill in the next column", nil, 0},
	{"access", "valid_from", "In use from", "", nil, KindDate},
	{"access", "kind", "Kind", "", AccessKinds, KindChoice},
	{"access", "side", "Side", "", accessSides, KindChoice},
	{"access", "site", "Where", "such as upper arm", nil, KindText},
	{"access", "needling", "Way of needling", "", profiles.Needlings, KindChoice},
	{"access", "needle_gauge", "Needle gauge", "", nil, KindNumber},

	{"device", "", "Your devices", "one column for each: machine, scales, cuff", nil, 0},
	{"device", "kind", "Kind of device", "", deviceKinds, KindChoice},
	{"device", "name", "Name", "", nil, KindText},
	{"device", "serial", "Serial number", "", nil, KindText},

	{"log", "", "This log", "filled in for you", nil, 0},
	{"log", "time_zone", "Time zone where you dialyse", "such as Europe/London", nil, KindText},
	{"log", "date_style", "Dates you type as text", "dmy: day first, mdy: month first", dateStyles, KindChoice},
	{"log", "time_form", "Times you type as text", "18.5: hours with decimals", clockFormNames, KindChoice},
	{"log", "decimal_mark", "Decimal mark", "as in 72.5 or 72,5", []string{".", ","}, KindChoice},
	{"log", "language", "Language of what check says", "", issue.Languages(), KindChoice},
	{"log", "id", "Name of this log", "made once; leave it as it is", nil, KindText},
	{"log", "format", "Format", "leave as it is", nil, KindText},
}

// AboutRowOf finds a name by its part and key.
func AboutRowOf(part, key string) (AboutRow, bool) {
	at := slices.IndexFunc(AboutRows, func(r AboutRow) bool { return r.Part == part && r.Key == key && key != "" })
	if at < 0 {
		return AboutRow{}, false
	}
	return AboutRows[at], true
}

// knownKeys are the names a table of log.toml may have, nil for a table the
// log does not know.
func knownKeys(table string) (keys []string) {
	for _, r := range AboutRows {
		if r.Part == table && r.Key != "" {
			keys = append(keys, r.Key)
		}
	}
	return keys
}
