package workbook

import (
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// aboutRow is one line of the About sheet: a heading of a part, or a question
// with its answer beside it.
type aboutRow struct {
	part, key string // key "" is the heading of a part
	label     string
	help      string
	choices   []string
	kind      session.Kind
}

// answers is how many answers a part has room for: what changes with time and
// each device gets a column of its own.
func answers(part string) int {
	switch part {
	case "prescription", "access", "device":
		return 4
	default:
		return 1
	}
}

// aboutRows are the lines of the About sheet in their order. They are the
// names of log.toml, which package session documents.
var aboutRows = []aboutRow{
	{"patient", "", "You", "", nil, 0},
	{"patient", "identifier_value", "Your number at the clinic", "ask the clinic", nil, session.KindText},
	{"patient", "identifier_system", "The name of that numbering", "ask the clinic; only to send", nil, session.KindText},
	{"patient", "name", "Your name", "sent only if you ask for it", nil, session.KindText},
	{"patient", "sex", "Sex", "only to work out body water", []string{"female", "male"}, session.KindChoice},
	{"patient", "birth_date", "Date of birth", "only to work out body water", nil, session.KindDate},
	{"patient", "height_cm", "Height (cm)", "only to work out body water", nil, session.KindNumber},
	{"clinic", "", "Your clinic", "", nil, 0},
	{"clinic", "name", "Name of the clinic", "", nil, session.KindText},

	{"prescription", "", "What the clinic prescribed", "when it changes, fill in the next column", nil, 0},
	{"prescription", "valid_from", "From this day on", "", nil, session.KindDate},
	{"prescription", "name", "Name, only if it is not the usual one", "sessions that follow it name it", nil, session.KindText},
	{"prescription", "sessions_per_week", "Sessions a week", "this or the next", nil, session.KindNumber},
	{"prescription", "weekdays", "Days of the week", "such as mon, wed, fri", nil, session.KindText},
	{"prescription", "duration_min", "Length (min)", "", nil, session.KindNumber},
	{"prescription", "dry_weight_kg", "Dry weight (kg)", "this or the next", nil, session.KindNumber},
	{"prescription", "dry_weight_lb", "Dry weight (lb)", "", nil, session.KindNumber},
	{"prescription", "dialysate_l", "Dialysate (L)", "", nil, session.KindNumber},
	{"prescription", "dialysate_flow_ml_min", "Dialysate flow (mL/min)", "this or the next", nil, session.KindNumber},
	{"prescription", "dialysate_flow_l_h", "Dialysate flow (L/h)", "", nil, session.KindNumber},
	{"prescription", "blood_flow_ml_min", "Blood flow (mL/min)", "", nil, session.KindNumber},
	{"prescription", "dialyser", "Dialyser", "", nil, session.KindText},
	{"prescription", "dialyser_koa_ml_min", "Dialyser KoA (mL/min)", "from its leaflet", nil, session.KindNumber},
	{"prescription", "uf_limit_ml_kg_h", "UF limit (mL/kg/h)", "if the clinic gave you one", nil, session.KindNumber},
	{"prescription", "anticoagulant", "Anticoagulant", "", nil, session.KindText},
	{"prescription", "residual_urea_clearance_ml_min", "Own urea clearance (mL/min)", "if the clinic measured it", nil, session.KindNumber},
	{"prescription", "residual_date", "Measured on", "", nil, session.KindDate},
	{"prescription", "order_value", "Number of the order", "if the clinic gave you one", nil, session.KindText},
	{"prescription", "order_system", "The name of that numbering", "", nil, session.KindText},

	{"access", "", "Your access", "when it changes, fill in the next column", nil, 0},
	{"access", "valid_from", "In use from", "", nil, session.KindDate},
	{"access", "kind", "Kind", "", []string{"fistula", "graft", "catheter"}, session.KindChoice},
	{"access", "side", "Side", "", []string{"left", "right"}, session.KindChoice},
	{"access", "site", "Where", "such as upper arm", nil, session.KindText},
	{"access", "needling", "Way of needling", "", []string{"ladder", "buttonhole", "area"}, session.KindChoice},
	{"access", "needle_gauge", "Needle gauge", "", nil, session.KindNumber},

	{"device", "", "Your devices", "one column for each: machine, scales, cuff", nil, 0},
	{"device", "kind", "Kind of device", "", []string{"machine", "scales", "cuff"}, session.KindChoice},
	{"device", "name", "Name", "", nil, session.KindText},
	{"device", "serial", "Serial number", "", nil, session.KindText},

	{"log", "", "This log", "filled in for you", nil, 0},
	{"log", "time_zone", "Time zone where you dialyse", "such as Europe/London", nil, session.KindText},
	{"log", "date_style", "Dates you type as text", "dmy: day first, mdy: month first", []string{"iso", "dmy", "mdy"}, session.KindChoice},
	{"log", "time_form", "Times you type as text", "18.5: hours with decimals", []string{"18:30", "18h30", "18.30", "1830", "18.5"}, session.KindChoice},
	{"log", "decimal_mark", "Decimal mark", "as in 72.5 or 72,5", []string{".", ","}, session.KindChoice},
	{"log", "language", "Language of what check says", "", issue.Languages(), session.KindChoice},
	{"log", "id", "Name of this log", "made once; leave it as it is", nil, session.KindText},
	{"log", "format", "Format", "leave as it is", nil, session.KindText},
}

// aboutByKey finds a line by part and key.
func aboutByKey(part, key string) (aboutRow, bool) {
	for _, r := range aboutRows {
		if r.part == part && r.key == key && key != "" {
			return r, true
		}
	}
	return aboutRow{}, false
}
