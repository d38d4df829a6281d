package issue

// germanReport are the texts of the report for a visit, by their English texts.
var germanReport = map[string]string{
	"Home haemodialysis: report for the visit": "Heimhämodialyse: Bericht für den Arztbesuch",
	"Patient {}": "Patient/in {}", "Patient without a number of the clinic": "Patient/in ohne Nummer der Klinik", "Name": "Name",
	"Entered by the patient, calculated by software; not verified by a clinician; not for changing treatment.": "Von der Patientin oder dem Patienten eingetragen, von Software berechnet; nicht ärztlich geprüft; nicht zum Ändern der Behandlung.",
	"To look at": "Anzusehen", "The patient asks, in their own words": "Fragen der Patientin oder des Patienten, in eigenen Worten",
	"{} … and {} more characters, in the log": "{} … und {} weitere Zeichen, im Protokoll", "and {} more": "und {} weitere",
	"From {}": "Aus {}", "the log": "dem Protokoll", "exported records": "exportierten Datensätzen", ", SHA-256 {}": ", SHA-256 {}", ", rules {}": ", Regeln {}",
	"Records hold no prescribed time, no UF limit, no access and no questions of the patient; a report from the log has them.": "Datensätze enthalten keine verordnete Zeit, keine UF-Grenze, keinen Zugang und keine eigenen Fragen; ein Bericht aus dem Protokoll hat sie.",
	"Times are local, in {}.": "Zeiten sind örtlich, in {}.",
	"[…] stands for letters that this PDF cannot print; the HTML report has them.": "[…] steht für Zeichen, die dieses PDF nicht drucken kann; der HTML-Bericht hat sie.",
	"Values behind the charts": "Werte hinter den Diagrammen", "Sessions over time": "Sitzungen im Verlauf", "Sessions": "Sitzungen", "Weeks": "Wochen", "Week from": "Woche ab",
	"Calendar of sessions and {} line charts from {} to {}; the tables below hold the same values.": "Kalender der Sitzungen und {} Liniendiagramme vom {} bis {}; die Tabellen darunter enthalten dieselben Werte.",

	// Days.
	"{} Jan": "{}. Jan.", "{} Feb": "{}. Feb.", "{} Mar": "{}. März", "{} Apr": "{}. Apr.", "{} May": "{}. Mai", "{} Jun": "{}. Juni",
	"{} Jul": "{}. Juli", "{} Aug": "{}. Aug.", "{} Sep": "{}. Sept.", "{} Oct": "{}. Okt.", "{} Nov": "{}. Nov.", "{} Dec": "{}. Dez.",
	"Mon": "Mo", "Tue": "Di", "Wed": "Mi", "Thu": "Do", "Fri": "Fr", "Sat": "Sa", "Sun": "So", "{} to {}": "{} bis {}",

	// The table of numbers.
	"Numbers": "Zahlen", "Measure": "Messgröße", "Last 4 weeks, {} to {}": "Letzte 4 Wochen, {} bis {}", "4 weeks before, {} to {}": "4 Wochen davor, {} bis {}",
	"median": "Median", "least to greatest": "kleinster bis größter", "sessions": "Sitzungen", "Prescribed": "Verordnet", "Sessions done": "Gemachte Sitzungen",
	"{} of them cut short; {} not done": "davon {} abgebrochen; {} ausgefallen", ", {} held back": ", {} zurückgehalten", "{} of {}": "{} von {}", "{} week": "{} Woche", "{} weeks": "{} Wochen",
	": first session {}": ": erste Sitzung {}", ": last session {}": ": letzte Sitzung {}", "part": "Teil", "done + held back": "gemacht + zurückgeh.",
	"limit {}": "Grenze {}", "dry {}": "trocken {}", "prescribed {}": "verordnet {}", "{} a week": "{} je Woche", "; {} until {}": "; {} bis {}",
	"Time treated": "Behandlungszeit", "Weight after": "Gewicht nachher", "Weight after less dry weight": "Gewicht nachher minus Trockengew.", "Weight gain between sessions": "Zunahme zwischen Sitzungen",
	"Fluid removed": "Entzogene Flüssigkeit", "UF rate": "UF-Rate", "Blood pressure before, upper": "Blutdruck vorher, oberer", "Blood pressure before, lower": "Blutdruck vorher, unterer",
	"Lowest upper pressure during": "Tiefster oberer Druck dabei", "Venous pressure at the set flow": "Venöser Druck bei dem Blutfluss", "Arterial pressure at the set flow": "Arterieller Druck bei dem Blutfluss",
	"Time to recover": "Erholungszeit", "Kt/V of a session, from dialysate": "Kt/V je Sitzung, aus Dialysat", "Weekly standard Kt/V, urea model": "Std-Kt/V je Woche, Harnstoffmodell",

	// Charts.
	"done": "gemacht", "cut short": "abgebrochen", "not done": "ausgefallen", "held back": "zurückgehalten", "no row": "keine Zeile",
	"done in the week": "in der Woche gemacht", "of prescribed": "von verordneten", "off the axis": "außerhalb der Achse", "hollow: from start and end": "hohl: aus Beginn und Ende",
	"new prescription": "neue Verordnung", "new access, {}": "neuer Zugang, {}", "Access: {} since {}": "Zugang: {} seit {}", "Blood pressure before": "Blutdruck vorher", "dark: lowest during": "dunkel: tiefster dabei",
	"Venous pressure": "Venöser Druck", "Arterial pressure": "Arterieller Druck", "at {}, median": "bei {}, Median", "Kt/V of a session": "Kt/V je Sitzung", "estimated from dialysate": "aus Dialysat geschätzt",
	"Weight gain between": "Zunahme dazwischen", "Weekly std Kt/V": "Std-Kt/V je Woche", "urea model, two pools": "Harnstoffmodell, zwei Kompartimente",

	// Dose and laboratory.
	"Dose from blood samples": "Dosis aus Blutproben", "Laboratory": "Labor", "Day": "Tag", "Status": "Status", "Value": "Wert", "Method": "Methode", "Test": "Test", "Latest": "Letzter Wert", "Before that": "Davor",
	"spKt/V {}": "spKt/V {}", "eKt/V {}": "eKt/V {}", "URR {} %": "URR {} %", "week from {}": "Woche ab {}", "std Kt/V {}": "Std-Kt/V {}",
	"definition": "Definition", "from a late sample": "aus später Probe", "from a late sample, any schedule": "aus später Probe, jeder Rhythmus",
	"Daugirdas 1993": "Daugirdas 1993", "Daugirdas 1993, any schedule": "Daugirdas 1993, jeder Rhythmus", "Daugirdas 1993, body water": "Daugirdas 1993, Körperwasser",
	"rate equation, fistula or graft": "Rate-Gleichung, Fistel oder Prothese", "rate equation, catheter": "Rate-Gleichung, Katheter",
	"Tattersall 1996": "Tattersall 1996", "Tattersall 1996, fistula or graft": "Tattersall 1996, Fistel oder Prothese", "Tattersall 1996, catheter": "Tattersall 1996, Katheter",
	"Tattersall form, refitted": "Form nach Tattersall, neu angepasst", "Leypoldt, HEMO study": "Leypoldt, HEMO-Studie",
	"Medicines in the last 4 weeks": "Mittel in den letzten 4 Wochen", "Doses": "Gaben", "Amount of each": "Menge je Gabe",
	"{} before": "{} vorher", "{} after": "{} nachher",

	// What to look at.
	"{} session is held back because of mistakes in the log; its values are not on this page":             "{} Sitzung ist wegen Fehlern im Protokoll zurückgehalten; ihre Werte stehen nicht auf dieser Seite",
	"{} sessions are held back because of mistakes in the log; their values are not on this page":         "{} Sitzungen sind wegen Fehlern im Protokoll zurückgehalten; ihre Werte stehen nicht auf dieser Seite",
	"Above the unit's own limit (UF limit of the prescription): UF rate in {} of {} sessions: {}":         "Über der eigenen Grenze (UF-Grenze der Verordnung): UF-Rate in {} von {} Sitzungen: {}",
	"Outside what was prescribed: more than 10 min too short (Saran et al 2003) in {} of {} sessions: {}": "Außerhalb der Verordnung: mehr als 10 min zu kurz (Saran et al 2003) in {} von {} Sitzungen: {}",
	"Outside what was prescribed: fewer sessions in {} of {} whole weeks, those from {}":                  "Außerhalb der Verordnung: weniger Sitzungen in {} von {} ganzen Wochen, denen ab {}",
	"; a session held back counts as written down":                                                        "; eine zurückgehaltene Sitzung zählt als aufgeschrieben",
	"; {} without a day may belong to these weeks":                                                        "; {} ohne Tag gehören vielleicht in diese Wochen",
	"Intradialytic hypotension is not assessed: its definitions are for adults.":                          "Intradialytische Hypotonie ist nicht beurteilt: die Definitionen gelten für Erwachsene.",
	"The prescription begins on {}, after these sessions; there is nothing to compare them with.":         "Die Verordnung beginnt am {}, nach diesen Sitzungen; es gibt nichts, womit sie zu vergleichen wären.",
	"Nothing is prescribed here to compare the sessions with.":                                            "Hier ist nichts verordnet, womit die Sitzungen zu vergleichen wären.",
	"One page for the visit: {}":                                                  "Eine Seite für den Arztbesuch: {}",
	"Nothing outside what was prescribed stands in these sessions.":               "In diesen Sitzungen steht nichts außerhalb der Verordnung.",
	"Intradialytic hypotension by {}: {} of {} sessions that can be assessed: {}": "Intradialytische Hypotonie nach {}: {} von {} beurteilbaren Sitzungen: {}",
	"Events written down: {}":                                                     "Aufgeschriebene Ereignisse: {}", "{} {}, latest {}": "{} {}, zuletzt {}", " (held back)": " (zurückgehalten)", "{} “{}”": "{} „{}“", ": “{}”": ": „{}“",
	"{} ({} of {} min)": "{} ({} von {} min)", "{} ({} over {})": "{} ({} über {})", "{} more {}: {}": "{} weitere {}: {}", "{}, {}": "{}, {}", "{}: {}": "{}: {}",
	"{}: {} sessions in another unit, at another blood flow or by another method are left out": "{}: {} Sitzungen in anderer Einheit, bei anderem Blutfluss oder nach anderer Methode sind weggelassen",
}
