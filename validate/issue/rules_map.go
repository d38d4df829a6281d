package issue

const mapFormat = "the column map's own format"

// mapRules are what reading a sheet of another shape through a column map can
// find, beside the rules of the log's rows.
var mapRules = []Rule{
	{"map-cells-unmapped", LayerLog, Information, logInfo,
		"every number on a form is in the column map",
		"what is not in the map is not sent", mapFormat,
		"nothing to do if it need not be sent; add the cell to the map if it should be"},
	{"map-converted", LayerLog, Information, logInfo,
		"numbers are sent in the unit they are written in, where the record takes that unit",
		"here it does not, so they are converted, and both are shown", "UCUM 2.1",
		"nothing to do; look whether the pair shown is right"},
	{"map-heading-ambiguous", LayerLog, Error, logDuplicate,
		"a heading of the column map stands in the sheet once",
		"it is not certain which of the columns is meant, so none of them is read", mapFormat,
		"add column = \"C\" to the entry of the map, with the letter of the right column"},
	{"map-heading-missing", LayerLog, Warning, logNotFound,
		"the headings and labels of the column map are in the sheet",
		"what the map expects there is not read", mapFormat,
		"correct the heading in the map or in the sheet; if the column is not always there, add optional = true to its entry"},
	{"map-key-twice", LayerLog, Error, logDuplicate,
		"no two sessions of a mapped log have the same key",
		"rows of the other tables could belong to either", mapFormat,
		"add a column to the key of the map, such as the start or the number of the session"},
	{"map-rows-differ", LayerLog, Error, logDuplicate,
		"the rows of one session do not say different things of the session as a whole",
		"it is not certain which of them is right", mapFormat,
		"keep the right one and empty the other; or map the column to the readings if it is one of them"},
	{"map-session-names", LayerLog, Information, logInfo,
		"sessions have names that stay the same",
		"a name made from date and order changes when a session is put in before another of the same day", mapFormat,
		"nothing to do with one session a day; otherwise map a column that numbers the sessions to sessions.session"},
	{"map-split", LayerLog, Error, logValue,
		"a cell that holds several values has as many as the column map says",
		"it is not certain which number is which", mapFormat,
		"write the cell like the others, such as 142/78"},
	{"map-table-missing", LayerLog, Error, logNotFound,
		"the files and sheets that the column map names are there",
		"nothing of them can be read otherwise", mapFormat,
		"correct the name in the map, or check the right file"},
}
