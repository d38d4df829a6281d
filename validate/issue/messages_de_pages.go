package issue

// germanPages are the words of the pages in the browser by their English texts.
var germanPages = map[string]string{
	// Around every page.
	"Error: ": "Fehler: ", "To the page itself": "Zum Inhalt der Seite", "Pages": "Seiten", "Treatments": "Behandlungen", "About you": "Über Sie", "Measures": "Messgrößen",
	"What your clinic will get": "Was Ihre Klinik bekommt", "Undo the last save": "Letztes Speichern zurücknehmen", "Close": "Beenden",
	"This page is served by your own computer. Nothing you type leaves it until you hand it over yourself.":              "Diese Seite kommt von Ihrem eigenen Computer. Nichts, was Sie eintippen, verlässt ihn, bis Sie es selbst weitergeben.",
	"Runsheet records and computes; it does not advise. If a value worries you or you feel unwell, call your care team.": "Runsheet zeichnet auf und rechnet; es gibt keinen Rat. Wenn ein Wert Sie beunruhigt oder es Ihnen nicht gut geht, rufen Sie Ihr Behandlungsteam an.",

	"Sunday": "Sonntag", "Monday": "Montag", "Tuesday": "Dienstag", "Wednesday": "Mittwoch", "Thursday": "Donnerstag", "Friday": "Freitag", "Saturday": "Samstag",
	"per min": "pro min",

	// What happened.
	"there is no such page": "diese Seite gibt es nicht", "This did not work": "Das ging nicht", "Back to your treatments": "Zurück zu Ihren Behandlungen",
	"that is more than a page can hold; nothing was saved": "das ist mehr, als eine Seite fassen kann; nichts wurde gespeichert",
	"the page was not understood; nothing was saved":       "die Seite wurde nicht verstanden; nichts wurde gespeichert",
	"Closed": "Beendet", "Saved.": "Gespeichert.", "The last save is undone.": "Das letzte Speichern ist zurückgenommen.", "there is nothing to undo": "es gibt nichts zurückzunehmen",
	"this treatment was removed by another page or program after this page was made, so nothing was saved":                                                          "eine andere Seite oder ein anderes Programm hat diese Behandlung entfernt, nachdem diese Seite entstand; es wurde nichts gespeichert",
	"the log was changed after this page was made, so nothing was undone: look at it as it is now, then undo":                                                       "das Protokoll wurde geändert, nachdem diese Seite entstand; es wurde nichts zurückgenommen: sehen Sie es an, wie es jetzt ist, und nehmen Sie dann zurück",
	"Runsheet is closed. Everything you saved is on this computer. You can close this window.":                                                                      "Runsheet ist beendet. Alles, was Sie gespeichert haben, ist auf diesem Computer. Sie können dieses Fenster schließen.",
	"the log was changed by another program since it was saved here, so nothing was undone":                                                                         "ein anderes Programm hat das Protokoll geändert, seit es hier gespeichert wurde; nichts wurde zurückgenommen",
	"the log was changed by another page or program after this page was made, so nothing was removed":                                                               "eine andere Seite oder ein anderes Programm hat das Protokoll geändert, nachdem diese Seite entstand; nichts wurde entfernt",
	"The log was changed by another page or program after this page was made, so nothing was saved. Where the two differ, both are shown: look at each, then save.": "Eine andere Seite oder ein anderes Programm hat das Protokoll geändert, nachdem diese Seite entstand; nichts wurde gespeichert. Wo sich beide unterscheiden, steht beides da: sehen Sie sich jedes an und speichern Sie dann.",
	"Not saved": "Nicht gespeichert", "In the log now": "Jetzt im Protokoll",
	"write the day of the treatment first":                                    "schreiben Sie zuerst den Tag der Behandlung",
	"{}: there is a value, and “{}” is chosen beside it; keep one of the two": "{}: da steht ein Wert, und daneben ist „{}“ gewählt; behalten Sie eines von beiden",

	// Beginning.
	"Welcome": "Willkommen", "Begin a new log": "Ein neues Protokoll beginnen", "Open your log": "Ihr Protokoll öffnen", "It will be here": "Es wird hier liegen",
	"There is no log yet. A log is a folder on your computer in which Runsheet keeps what you write down about your treatments.": "Es gibt noch kein Protokoll. Ein Protokoll ist ein Ordner auf Ihrem Computer, in dem Runsheet aufbewahrt, was Sie über Ihre Behandlungen aufschreiben.",
	"Before your first treatment: say once who you are and what your clinic prescribed. What you do not know can stay empty.":    "Vor Ihrer ersten Behandlung: sagen Sie einmal, wer Sie sind und was Ihre Klinik verordnet hat. Was Sie nicht wissen, kann leer bleiben.",
	"Or go on with a file of your own": "Oder mit einer eigenen Datei weitermachen", "Copy it into the log": "In das Protokoll kopieren", "choose a file first": "wählen Sie zuerst eine Datei",
	"Choose a workbook (.xlsx) or a sheet of your own (.csv), or drop it here; at most 16 MB. It stays as it is: the log becomes a copy.": "Wählen Sie eine Arbeitsmappe (.xlsx) oder eine eigene Tabelle (.csv), oder legen Sie sie hier ab; höchstens 16 MB. Sie bleibt, wie sie ist: das Protokoll wird eine Kopie.",
	"What is in {}?": "Was steht in {}?", "It seems to be: {}": "Es scheint zu sein: {}", "Your column": "Ihre Spalte", "What it is": "Was sie ist", "Its first values": "Ihre ersten Werte", "Leave this column out": "Diese Spalte weglassen",
	"It is right: copy it into the log": "Es stimmt: in das Protokoll kopieren", "Begin an empty log instead": "Stattdessen ein leeres Protokoll beginnen", "say what {} is, or leave it out": "sagen Sie, was {} ist, oder lassen Sie es weg",
	"Look at every line: what the column of your sheet seems to be, and its first values. Change what is wrong. Your sheet stays as it is; the log becomes a copy in the folder": "Sehen Sie jede Zeile an: was die Spalte Ihrer Tabelle zu sein scheint, und ihre ersten Werte. Ändern Sie, was falsch ist. Ihre Tabelle bleibt, wie sie ist; das Protokoll wird eine Kopie im Ordner",
	"Every row is a treatment that was done. If some were not, leave this empty and say it at each treatment.":                                                                   "Jede Zeile ist eine Behandlung, die gemacht wurde. Wenn einige ausfielen, lassen Sie dies leer und sagen Sie es bei jeder Behandlung.",
	"this is no public key: one begins with age1 and is copied whole":                                                                                                            "das ist kein öffentlicher Schlüssel: einer beginnt mit age1 und wird ganz kopiert",
	"This is the copy of {} that was made before. What was written into the file since is not in it.":                                                                            "Das ist die Kopie von {}, die früher gemacht wurde. Was seither in die Datei geschrieben wurde, ist nicht darin.",
	"choose what it is": "wählen Sie, was sie ist", "Not sure, so choose. It may be: {}": "Nicht sicher, also wählen Sie. Es kann sein: {}",
	"{}; this computer has {}": "{}; dieser Computer hat {}", "One more": "Noch eines",
	"a mistake in the log as a whole holds it back": "ein Fehler im ganzen Protokoll hält sie zurück",
	"{} answer to look at again:":                   "{} Antwort noch einmal ansehen:", "{} answers to look at again:": "{} Antworten noch einmal ansehen:",
	"{}: here “{}”, in the log now “{}”": "{}: hier „{}“, jetzt im Protokoll „{}“", "The day is {}: is the year right?": "Der Tag ist {}: stimmt das Jahr?",
	"This log is a copy of {}, which stays as it is. The copy is the folder {}.": "Dieses Protokoll ist eine Kopie von {}; die Datei bleibt, wie sie ist. Die Kopie ist der Ordner {}.",
	"Fill in “About you”": "„Über Sie“ ausfüllen", "Your log is the folder": "Ihr Protokoll ist der Ordner",

	// A month.
	"Write down a treatment of": "Eine Behandlung aufschreiben vom", "Begin": "Beginnen", "List": "Liste", "Calendar": "Kalender", "All months": "Alle Monate", "Day": "Tag", "From – to": "Von – bis", "What was found": "Was gefunden wurde",
	"The log is still being checked; the counts come when that is done.":     "Das Protokoll wird noch geprüft; die Zahlen kommen, wenn das fertig ist.",
	"The log is still being checked; what is found comes when that is done.": "Das Protokoll wird noch geprüft; was gefunden wird, kommt, wenn das fertig ist.",
	"No treatment is written down for this month.":                           "Für diesen Monat ist keine Behandlung aufgeschrieben.",
	"such as {}": "zum Beispiel {}", "{}, row {}: {}": "{}, Zeile {}: {}",
	"{} treatment is ready.": "{} Behandlung ist bereit.", "{} treatments are ready.": "{} Behandlungen sind bereit.",
	"Which comes first in your dates?": "Was steht in Ihren Daten vorn?", "choose": "wählen Sie", "the day": "der Tag", "the month": "der Monat",
	"say which comes first in your dates, the day or the month": "sagen Sie, was in Ihren Daten vorn steht: der Tag oder der Monat",
	"without a day": "ohne Tag", "without a readable day": "ohne lesbaren Tag", "Treatments without a readable day": "Behandlungen ohne lesbaren Tag", "nothing found": "nichts gefunden", "today": "heute", "open": "offen",
	"{} treatment": "{} Behandlung", "{} treatments": "{} Behandlungen", "{} mistake": "{} Fehler", "{} mistakes": "{} Fehler", "{} answered": "{} beantwortet",
	"{} thing to look at": "{} Sache zum Ansehen", "{} things to look at": "{} Sachen zum Ansehen", "{} mistake to mend": "{} Fehler zu berichtigen", "{} mistakes to mend": "{} Fehler zu berichtigen",
	"Found in the log as a whole": "Im ganzen Protokoll gefunden",

	// Findings.
	"A mistake": "Ein Fehler", "Look again": "Noch einmal ansehen", "For your information": "Zur Kenntnis", "Answered": "Beantwortet", "You said that it is right": "Sie haben gesagt, dass es stimmt", "Why?": "Warum?", "The rule": "Die Regel", "The reason": "Der Grund", "Source": "Quelle", "Name of the rule": "Name der Regel", "Place": "Ort",
	"A mistake is something that cannot be right. The treatment is held back until it is mended.": "Ein Fehler ist etwas, das nicht stimmen kann. Die Behandlung wird zurückgehalten, bis er berichtigt ist.",
	"A thing to look at may be right. Look again, and leave it if it is.":                         "Eine Sache zum Ansehen kann stimmen. Sehen Sie noch einmal hin, und lassen Sie sie, wenn sie stimmt.",

	"It is right, leave it": "Es stimmt so, lassen Sie es", "Why is it right? Your clinic does not see this.": "Warum stimmt es? Ihre Klinik sieht das nicht.", "Take the answer back": "Die Antwort zurücknehmen",

	// A session.
	"New treatment": "Neue Behandlung", "Save": "Speichern", "More": "Mehr", "What goes where": "Was wohin gehört", "Remove": "Entfernen", "Remove {}": "{} entfernen", "Show all columns": "Alle Spalten zeigen", "Remove this treatment": "Diese Behandlung entfernen",
	"All treatments of this month": "Alle Behandlungen dieses Monats", "the one before": "die davor", "the one after": "die danach", "read as {}": "gelesen als {}", "last time: {}": "letztes Mal: {}",
	"No value for {}, because": "Kein Wert für {}, weil", "no value?": "kein Wert?", "not measured (not done)": "nicht gemessen (not done)", "I do not know (?)": "weiß ich nicht (?)", "does not apply (n/a)": "trifft nicht zu (n/a)",
	"Write what you know, as you know it. No value? Leave the field empty, or write “not done”, “?” (I do not know) or “n/a” (does not apply). Never write 0 for something you did not measure. Press Enter to save.": "Schreiben Sie, was Sie wissen, wie Sie es wissen. Kein Wert? Lassen Sie das Feld leer, oder schreiben Sie „not done“ (nicht gemessen), „?“ (weiß ich nicht) oder „n/a“ (trifft nicht zu). Schreiben Sie nie 0 für etwas, das Sie nicht gemessen haben. Die Eingabetaste speichert.",
	"It is taken out of the log with everything on this page. A treatment that was planned and did not take place stays in the log, with “not done” as its status.":                                                   "Sie wird mit allem auf dieser Seite aus dem Protokoll genommen. Eine Behandlung, die geplant war und nicht stattfand, bleibt im Protokoll, mit „ausgefallen“ als Status.",
	"The treatment is removed. “Undo the last save” brings it back.":  "Die Behandlung ist entfernt. „Letztes Speichern zurücknehmen“ holt sie zurück.",
	"there is no such treatment in the log; it may have been removed": "diese Behandlung ist nicht im Protokoll; vielleicht wurde sie entfernt",
	"Check {}": "Prüfung {}", "Add a check": "Eine Prüfung hinzufügen", "Reading {}": "Ablesung {}", "Add a reading": "Eine Ablesung hinzufügen", "Medicine {}": "Mittel {}", "Add a medicine": "Ein Mittel hinzufügen",
	"Event {}": "Ereignis {}", "Add an event": "Ein Ereignis hinzufügen", "Result {}": "Ergebnis {}", "Add a result": "Ein Ergebnis hinzufügen",

	// About, and what the clinic gets.
	"What you do not know can stay empty. You are asked once; when something changes, change it here.": "Was Sie nicht wissen, kann leer bleiben. Sie werden einmal gefragt; wenn sich etwas ändert, ändern Sie es hier.",
	"One more, from another day on": "Noch eines, ab einem anderen Tag",
	"Month":                         "Monat", "Show": "Zeigen", "Value": "Wert", "Values": "Werte", "The treatment itself": "Die Behandlung selbst", "Devices and supplies": "Geräte und Material", "Where it comes from": "Woher es kommt",
	"Hand this to your clinic:": "Geben Sie das Ihrer Klinik:", "It is encrypted with the key of your clinic: only your clinic can read it.": "Es ist mit dem Schlüssel Ihrer Klinik verschlüsselt: nur Ihre Klinik kann es lesen.",
	"the public key of the clinic on the page “About you” is none: it begins with age1": "der öffentliche Schlüssel der Klinik auf der Seite „Über Sie“ ist keiner: er beginnt mit age1", "Written: {}": "Geschrieben: {}", "for the clinic": "für die Klinik",
	"{} treatment goes to your clinic.": "{} Behandlung geht an Ihre Klinik.", "{} treatments go to your clinic.": "{} Behandlungen gehen an Ihre Klinik.",
	"Below is all of it, as it is written. Nothing is sent from here: you hand the folder or the file over yourself.":                                                                                 "Unten steht alles, so wie es geschrieben wird. Von hier wird nichts gesendet: Sie geben den Ordner oder die Datei selbst weiter.",
	"The log does not say whose it is, so this is for yourself and cannot be sent. Your number at the clinic and the name of the list it comes from belong on the page “About you”; both are needed.": "Das Protokoll sagt nicht, wem es gehört, also ist dies für Sie selbst und kann nicht gesendet werden. Ihre Nummer bei der Klinik und der Name der Liste, aus der sie ist, gehören auf die Seite „Über Sie“; beides ist nötig.",
	"The weeks of your log, which are calculated from all months: only an export of the whole log has them.":                                                                                          "Die Wochen Ihres Protokolls, die aus allen Monaten berechnet werden: Nur ein Export des ganzen Protokolls hat sie.",
	"Write it into a folder": "In einen Ordner schreiben", "Download it as one file (zip)": "Als eine Datei herunterladen (zip)", "What stays out, and why": "Was draußen bleibt, und warum", "it has mistakes": "sie hat Fehler",
	"the log does not know where it belongs":                                   "das Protokoll weiß nicht, wohin es gehört",
	"Your name, and the serial numbers of your devices: they are never in it.": "Ihr Name und die Seriennummern Ihrer Geräte: sie sind nie darin.",
	"The weeks of your log":                                                    "Die Wochen Ihres Protokolls", "{} entry": "{} Eintrag", "{} entries": "{} Einträge", "{}: {} row": "{}: {} Zeile", "{}: {} rows": "{}: {} Zeilen",
	"There is no treatment with a readable day yet.":                          "Es gibt noch keine Behandlung mit einem lesbaren Tag.",
	"the log is still being checked; try again in a moment":                   "das Protokoll wird noch geprüft; versuchen Sie es gleich noch einmal",
	"nothing was written: no treatment of this month is without mistakes":     "nichts wurde geschrieben: keine Behandlung dieses Monats ist ohne Fehler",
	"entered by you, calculated by this program; not verified by a clinician": "von Ihnen eingetragen, von diesem Programm berechnet; nicht von einer Fachkraft geprüft",
	"completed": "abgeschlossen", "stopped": "abgebrochen", "not-done": "ausgefallen",

	// Measures.
	"What is computed from your log, each value with its method and source. Bring it to your clinic; do not change your treatment because of it.": "Was aus Ihrem Protokoll berechnet wird, jeder Wert mit Verfahren und Quelle. Nehmen Sie es mit in die Klinik; ändern Sie deswegen nicht Ihre Behandlung.",
	"The page for your visit (PDF)": "Die Seite für Ihren Besuch (PDF)", "Week from {}": "Woche ab {}", "The whole log": "Das ganze Protokoll", "How": "Wie", "not computed": "nicht berechnet", "Method and source": "Verfahren und Quelle (englisch)",

	// The steps of a treatment.
	"The treatment": "Die Behandlung", "Before you start": "Bevor Sie beginnen", "Before": "Vorher", "Readings": "Ablesungen", "During the treatment": "Während der Behandlung", "After": "Nachher", "Medicines": "Mittel",
	"Alarms, symptoms and other events": "Alarme, Beschwerden und andere Ereignisse", "Blood results": "Blutwerte", "How it went": "Wie es ging",

	// The form on paper.
	"Home dialysis run sheet": "Protokoll der Heimdialyse",
	"The month":               "Der Monat",
	"Session, continued":      "Sitzung, Fortsetzung",
	"Name or number ______________________   Month ______________":                                           "Name oder Nummer ______________________   Monat ______________",
	"Name or number ______________________   Date ______________":                                            "Name oder Nummer ______________________   Datum ______________",
	"Name or number ______________________   Sheet ______ of the month":                                      "Name oder Nummer ______________________   Blatt ______ des Monats",
	"Write the arterial pressure with its minus, and copy everything into the log soon after the treatment.": "Schreiben Sie den arteriellen Druck mit seinem Minus, und übertragen Sie alles bald nach der Behandlung in das Protokoll.",
	"A record only: follow your prescription, your training and your care team.":                             "Nur eine Aufzeichnung: Halten Sie sich an Ihre Verordnung, Ihre Schulung und Ihr Behandlungsteam.",
	"Weight before": "Gewicht vorher", "BP before, upper": "RR vorher, oberer", "BP before, lower": "RR vorher, unterer", "BP after, upper": "RR nachher, oberer", "BP after, lower": "RR nachher, unterer",
	"Pulse before": "Puls vorher", "Pulse after": "Puls nachher", "Temp. before": "Temp. vorher", "Temp. after": "Temp. nachher", "UF goal": "UF-Ziel",
	"UF done": "UF erreicht", "UF so far": "UF bisher", "Blood flow": "Blutfluss", "Dialysate flow": "Dialysatfluss", "BP upper": "RR oberer",
	"BP lower": "RR unterer", "Pulse": "Puls", "TMP": "TMP", "Conductivity": "Leitfähigkeit", "Dialysate temp.": "Dialysattemp.",
	"Drinks": "Getränke", "Saline": "Kochsalz", "Rinse-back": "Rückspülung", "Dialysate": "Dialysat", "Rate, for an infusion": "Rate der Infusion",
	"Dose": "Dosis", "ok": "ok", "not ok": "nicht ok", "yes": "ja", "no": "nein",
	"total chlorine": "Gesamtchlor", "water hardness": "Wasserhärte", "dialysate batch": "Dialysatansatz", "machine self-test": "Selbsttest", "disinfection": "Desinfektion",
	"circuit primed": "Kreislauf gefüllt", "connections and clamps": "Verbindungen, Klemmen", "access redness": "Rötung am Zugang", "access swelling": "Schwellung am Zugang", "access pain": "Schmerz am Zugang",
	"access thrill": "Schwirren", "needle monitor": "Nadelwächter", "dialyser": "Dialysator", "blood lines": "Blutschläuche", "concentrate": "Konzentrat",
	"conductivity": "Leitfähigkeit",
}
