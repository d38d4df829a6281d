package issue

const (
	ecma376 = "ECMA-376 (Office Open XML)"
	onlyOne = "the log's own format"
)

// workbookRules are what reading a workbook can find beside the rules of the
// log's rows.
var workbookRules = []Rule{
	{"log-cell-error", LayerLog, Error, logValue,
		"a cell of a workbook does not show an error of the spreadsheet",
		"there is no value behind #REF! or #DIV/0!", ecma376,
		"type the value itself, or empty the cell"},
	{"log-formula", LayerLog, Information, logInfo,
		"cells hold what was read off, not formulas",
		"a value that was worked out is not what a scale or machine showed", onlyOne,
		"nothing to do if the values are right; they were rounded to 12 digits"},
	{"log-formula-empty", LayerLog, Error, logValue,
		"the formulas of a workbook were worked out before it was saved",
		"there is no value to read", ecma376,
		"open the workbook in your spreadsheet program, save it again, or type the value itself"},
	{"log-formula-stale", LayerLog, Warning, logValue,
		"the values that formulas show are up to date",
		"the value could be another when the workbook is opened again", ecma376,
		"open the workbook in your spreadsheet program, look at the values, and save it again"},
	{"log-heading-changed", LayerLog, Warning, logStructure,
		"the headings of the workbook are the ones it came with",
		"a changed heading may mean another thing or another unit", onlyOne,
		"write the heading as it was, or add a column of your own beside it"},
	{"log-merged", LayerLog, Warning, logStructure,
		"every cell of a table stands for itself",
		"a value in merged cells counts for one row only; the other rows are empty", onlyOne,
		"split the cells and write the value into each of them"},
	{"log-sheet-hidden", LayerLog, Information, logInfo,
		"sheets and rows that are read can be seen",
		"what is hidden is sent too", onlyOne,
		"nothing to do if you meant it so; delete what should not be sent"},
	{"log-sheet-missing", LayerLog, Error, logNotFound,
		"a workbook has the sheets About and Sessions",
		"without them it is not known whose treatments these are, or when", onlyOne,
		"give the sheet its name back, or begin a new workbook with runsheet new"},
	{"log-sheet-unknown", LayerLog, Warning, logStructure,
		"every sheet with something in it is a sheet of the log",
		"what stands there is not sent", onlyOne,
		"nothing to do for a sheet of your own; correct the name if it was misspelt"},
	{"log-workbook", LayerLog, Error, logStructure,
		"the file is a whole XLSX workbook within the limits",
		"nothing in it can be used otherwise", ecma376,
		"open the file in your spreadsheet program, choose Save As, and as the type choose Excel Workbook (.xlsx)"},
}
