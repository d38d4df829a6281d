package columnmap

import (
	"slices"
	"strings"
	"unicode"

	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
)

// concept is what a heading names: a field whose own words count, or one of these.
type concept string

const (
	aDate          concept = "a date"
	aStart         concept = "a start"
	anEnd          concept = "an end"
	aTime          concept = "a time"
	aDuration      concept = "a duration"
	aNumber        concept = "a number"
	aWeight        concept = "a weight"
	isDry          concept = "is dry"
	aPressure      concept = "a pressure"
	isSystolic     concept = "is systolic"
	isDiastolic    concept = "is diastolic"
	isStanding     concept = "is standing"
	aPulse         concept = "a pulse"
	aTemperature   concept = "a temperature"
	ofDialysate    concept = "of dialysate"
	aBloodFlow     concept = "a blood flow"
	aDialysateFlow concept = "a dialysate flow"
	aFlow          concept = "a flow"
	anArterial     concept = "an arterial"
	aVenous        concept = "a venous"
	anUF           concept = "an UF"
	aGoal          concept = "a goal"
	aDelivered     concept = "a delivered"
	aRate          concept = "a rate"
	aSum           concept = "a sum"
	aBloodVolume   concept = "a blood volume"
	aVolume        concept = "a volume"
	aLot           concept = "a lot"
	someLines      concept = "some lines"
	isBefore       concept = "is before"
	isAfter        concept = "is after"
	aField         concept = "a field" // one whose row has the word
)

// ownWords are the fields whose words, those of their rows, are terms too.
var ownWords = []session.Field{
	"transmembrane_pressure", "drinks", "saline", "rinseback", "urine", "dialyser", "sodium", "potassium", "calcium", "bicarbonate",
	"dialysate_conductivity", "recovery_time", "access", "needle_problems", "notes", "status", "reason", "urea", "bun", "creatinine",
	"haemoglobin", "phosphate", "check_chlorine", "check_hardness",
}

// heard are the words for a field.
func heard(field session.Field) []string {
	row, _ := profiles.RowOf(field)
	return row.Heard
}

// terms are the words of the trade, written as those of [profiles.Row]. Those
// that mean one field are in its row.
var terms = withOwn(map[concept][]string{
	aDate:          {"date", "datum", "fecha", "=data", "jour", "giorno", "tag", "day"},
	aStart:         {"start", "begin", "beginn", "anfang", "debut", "inicio", "inizio", "aanvang", "on", "time on", "branchement", "conexion", "attacco"},
	anEnd:          {"end", "ende", "fin", "einde", "fine", "finish", "stop", "off", "time off", "debranchement", "desconexion", "stacco"},
	aTime:          {"time", "zeit", "uhrzeit", "heure", "hora", "tijd", "ora"},
	aDuration:      {"duration", "dauer", "duree", "duracion", "duur", "durata", "treatment time", "behandlungszeit", "temps de dialyse", "time treated"},
	aNumber:        {"no", "nr", "num", "numero", "session", "sitzung", "seance", "sesion", "sessie", "seduta"},
	aWeight:        {"weight", "wt", "gewicht", "gew", "poids", "peso"},
	isDry:          {"dry", "trocken", "sollgewicht", "zielgewicht", "sec", "seco", "secco", "droog", "streefgewicht", "target"},
	aPressure:      {"bp", "blood pressure", "rr", "blutdruck", "tension", "ta", "bloeddruk", "pressione arteriosa", "pressione sang"},
	isSystolic:     {"sys", "syst", "systol", "sistol", "pas"},
	isDiastolic:    {"dia", "diast", "diastol", "pad"},
	isStanding:     {"standing", "stehend", "debout", "de pie", "staand", "in piedi"},
	aPulse:         {"pulse", "puls", "pouls", "pulso", "pols", "polso", "hr", "hf", "fc", "heart rate", "herzfrequenz", "hartslag"},
	aTemperature:   {"temp"},
	ofDialysate:    {"dialysat", "dialisat", "dialisad", "dialysaat", "bath", "bain", "bano", "bagno", "badt", "bad"},
	aBloodFlow:     {"qb", "bfr", "blood flow", "blutfluss", "pump speed", "blutpumpe", "debit sang", "flujo sang", "flujo de sangre", "bloedflow", "bloedstroom", "bloedpomp", "flusso sangue", "flusso ematico"},
	aDialysateFlow: {"qd", "dfr", "dialysate flow", "dialysatfluss", "debit dialysat", "flujo dialis", "flujo de dialis", "dialysaatflow", "flusso dialis"},
	aFlow:          {"flow", "fluss", "debit", "flujo", "flusso", "stroom"},
	anArterial:     {"ap", "art", "pa", "arteriell", "arterial", "arteriel", "arteriosa", "arterios"},
	aVenous:        {"vp", "pv", "ven", "venous", "venos", "veneus", "veneuz"},
	anUF:           {"uf", "ultrafilt", "ultrafilt", "fluid removed", "entzug", "ufr", "ufv"},
	aGoal: {"goal", "ziel", "target", "objectif", "objetivo", "obiettivo", "doel", "=soll", "plan", "prescri", "programm", "=a retirer", "=zu entziehen", "geplant", "verordn",
		"prevu", "prevue", "previst", "programad", "prescritt", "gepland", "voorgeschreven", "ordiner", "=mal", "=malet", "=maal", "tavoite", "=cel"},
	aDelivered: {"removed", "delivered", "achieved", "actual", "=done", "=real", "total", "volum", "menge", "entfernt", "entzogen", "entzug", "erreicht", "=ist", "realis", "retire", "obtenu", "effectu",
		"realizad", "lograd", "extraid", "conseguid", "obtenid", "effettiv", "ottenut", "rimoss", "raggiunt", "realizzat", "verwijderd", "onttrokken", "behaald", "gerealiseerd", "werkelijk",
		"uppnadd", "avlagsnad", "faktisk", "fjernet", "=after", "=post", "=nach", "=apres", "=despues", "=dopo"},
	aRate:        {"rate", "tasa", "taux", "snelheid", "velocita", "ufr", "horaire", "pro stunde"},
	aSum:         {"so far", "kumul", "cumul", "bisher", "acum", "gecumul"},
	aBloodVolume: {"processed", "blood volume", "blutvolumen", "behandeltes blut", "sang traite", "sangre tratada", "bloedvolume", "sangue trattato"},
	aVolume:      {"volume", "volumen", "vol", "menge", "total", "totale", "litres", "liter"},
	aLot:         {"lot", "charge", "chargen", "lote", "lotto"},
	someLines:    {"schlauch", "schlauche", "blood line", "tubing", "lignes", "lineas", "linee", "bloedlijn"},
	isBefore:     {"before", "pre", "prior", "vor", "vorher", "avant", "antes", "voor", "prima"},
	isAfter:      {"after", "post", "nach", "nachher", "apres", "despues", "na", "dopo"},
})

func withOwn(terms map[concept][]string) map[concept][]string {
	for _, field := range ownWords {
		terms[concept(field)] = heard(field)
	}
	return terms
}

// folded is a heading in lower case without accents, its words apart by one
// space.
func folded(text string) string {
	var out strings.Builder
	for _, r := range strings.ToLower(text) {
		if plain, ok := foldedLetters[r]; ok {
			out.WriteString(plain)
			continue
		}
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			out.WriteRune(r)
		} else {
			out.WriteByte(' ')
		}
	}
	return strings.Join(strings.Fields(out.String()), " ")
}

var foldedLetters = map[rune]string{
	'ä': "a", 'á': "a", 'à': "a", 'â': "a", 'é': "e", 'è': "e", 'ê': "e", 'ë': "e", 'í': "i", 'ì': "i", 'î': "i", 'ï': "i",
	'ö': "o", 'ó': "o", 'ò': "o", 'ô': "o", 'å': "a", 'ø': "o", 'œ': "oe", 'æ': "ae", 'ü': "u", 'ú': "u", 'ù': "u", 'û': "u", 'ñ': "n", 'ç': "c", 'ß': "ss",
}

// shortWord must stand alone in a heading.
const shortWord = 4

// conceptsIn returns the concepts in a heading, each with its word there.
func conceptsIn(heading string) map[concept]string {
	text := folded(withoutUnit(heading))
	words := strings.Fields(text)
	found := map[concept]string{}
	for c, list := range terms {
		for _, term := range list {
			if contains(text, words, term) && len(term) > len(found[c]) {
				found[c] = strings.TrimPrefix(term, "=")
			}
		}
	}
	return found
}

// row recognises a column of the log by the words of its own row.
func (c *classifier) row() bool { return c.rowOf(func(string) bool { return true }) }

// ownWord recognises a column by a word of its row that contains a word of the
// trade: a room temperature is not the temperature of a person.
func (c *classifier) ownWord() bool {
	return c.rowOf(func(term string) bool {
		for _, word := range c.found {
			if len(word) < len(term) && strings.Contains(term, word) {
				return true
			}
		}
		return false
	})
}

func (c *classifier) rowOf(accepted func(term string) bool) bool {
	text := folded(withoutUnit(c.out.heading))
	for _, column := range mappable() {
		for _, term := range heard(column.Field) {
			if accepted(term) && contains(text, strings.Fields(text), term) {
				c.found[aField] = strings.TrimPrefix(term, "=")
				return c.to(column.Sheet, column.Field)
			}
		}
	}
	return false
}

// unknownWords are the words of a heading that are in no term.
func unknownWords(heading string) []string {
	text := folded(withoutUnit(heading))
	return slices.DeleteFunc(strings.Fields(text), func(word string) bool {
		for _, list := range terms {
			for _, term := range list {
				if contains(word, []string{word}, term) || strings.Contains(" "+strings.TrimPrefix(term, "=")+" ", " "+word+" ") && contains(text, strings.Fields(text), term) {
					return true
				}
			}
		}
		return onlyDigits(word)
	})
}

func contains(text string, words []string, term string) bool {
	if strings.Contains(term, " ") {
		return strings.Contains(" "+text, " "+term)
	}
	alone, marked := strings.CutPrefix(term, "=")
	for _, w := range words {
		if w == alone || !marked && (len(term) >= shortWord && strings.Contains(w, term) || len(term) == shortWord-1 && strings.HasPrefix(w, term) && onlyDigits(w[len(term):])) {
			return true
		}
	}
	return false
}

func onlyDigits(text string) bool {
	return strings.Trim(text, "0123456789") == ""
}
