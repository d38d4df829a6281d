package rules

import (
	"bytes"
	"strings"
	"sync"

	"runsheet.example/calc"
	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/resources"
)

// doubt is a code that is wrong or suspect when used in a certain way.
type doubt struct {
	system, code string
	// when matches the wrong uses; nil matches all.
	when func(use) bool
	// certain makes it an error.
	certain bool
	// why explains what the code means; instead is the right code, if any.
	why, instead string
}

// use is one occurrence of a code.
type use struct {
	rec *resources.Index
	res *resources.Resource
	// coding is the Coding itself.
	coding doc.Node
}

// doubts lists the misused codes. Each comes from the code system's own text
// or from a wrong use seen in public code. The reason of a code from memory,
// or seen once, contains "unverified".
var doubts = []doubt{
	{profiles.LOINC, "93737-7", nil, true, "the check digit is wrong: the code does not exist", ""},
	{profiles.LOINC, "18262-6", isRatio, true, "the code is LDL cholesterol, not Kt/V", "70965-9"},
	{profiles.LOINC, "18263-4", isRatio, true, "the code is HDL cholesterol, not Kt/V", "70965-9"},
	{profiles.LOINC, "68489-4", isDuration, true, "the code is a rate of a survey, not a duration", ""},
	{profiles.LOINC, "70951-9", isDuration, true, "the code is a time stamp, not a duration", ""},
	{profiles.LOINC, "71340-4", nil, false, "the code is deprecated", ""},
	{profiles.LOINC, "70960-0", inHaemodialysis, true, "the code is Kt/V of peritoneal dialysis", "70965-9"},
	{profiles.LOINC, "70963-4", inHaemodialysis, true, "the code is Kt/V of peritoneal dialysis", "70965-9"},
	{profiles.LOINC, "70964-2", inHaemodialysis, true, "the code is Kt/V of peritoneal dialysis", "70965-9"},
	{profiles.LOINC, "71341-2", inHaemodialysis, true, "the code is Kt/V of peritoneal dialysis", "70965-9"},
	{profiles.LOINC, "70961-8", notSinglePool, true, "the code is single-pool Kt/V, the method gives another", ""},
	{profiles.LOINC, "70965-9", notSinglePool, true, "the code is single-pool Kt/V, the method gives another", ""},
	{profiles.LOINC, "70965-9", byInterval, true, "the code is the formula of 1993 with its own generation factor, the method takes that of the interval", "spkt-v-interval-factor"},
	{profiles.LOINC, "72073-0", isMass, false, "whether the code is a weight is unverified", "8340-2"},
	{profiles.LOINC, "29463-7", isTarget, true, "the code is a measured weight, the text a dry or target weight", "8340-2"},
	{profiles.LOINC, "17759-2", nil, false, "the code is urea nitrogen in arterial blood, not in serum", "11064-3"},
	{profiles.LOINC, "17760-0", nil, false, "the code is urea nitrogen in venous blood, not in serum", "11065-0"},
	{profiles.LOINC, "3094-0", saysUrea, false, "the code is urea nitrogen, the text says urea", "3091-6"},
	{profiles.LOINC, "101683-1", isVolume, true, "the code is a mass, the unit a volume", ""},
	{profiles.LOINC, "60985-9", inHaemodialysis, true, "the code is the patient's central venous pressure, not that of the blood circuit", ""},
	{profiles.SNOMED, "252076005", inHaemodialysis, true, "the code is the patient's venous pressure, not that of the blood circuit", ""},
	{profiles.SNOMED, "386534000", inHaemodialysis, true, "the code is the patient's arterial pressure, not that of the blood circuit", ""},
	{profiles.SNOMED, "71420008", inHaemodialysis, true, "the code is the patient's central venous pressure, not that of the blood circuit", ""},
	{profiles.SNOMED, "439470001", nil, false, "the code is a disease, not an access made for dialysis", "439784005"},
	{profiles.SNOMED, "128617001", nil, false, "the code is a morphology, not an access made for dialysis", "439784005"},
	{profiles.SNOMED, "45633005", nil, false, "the code is a dialyser for peritoneal dialysis", ""},
	{profiles.SNOMED, "34897002", nil, false, "the code is maintenance haemodialysis in hospital", "67970008"},
	{profiles.SNOMED, "438503005", nil, false, "the meaning of the code was not verified", ""},
	{profiles.SNOMED, "48781000175105", nil, false, "the code belongs to the United States extension", ""},
	{profiles.LOINC, "2308-5", isNHSN, true, "the code is one of the CDC NHSN, not of LOINC", ""},
	{profiles.LOINC, "2323-4", isNHSN, true, "the code is one of the CDC NHSN, not of LOINC", ""},
	{profiles.LOINC, "2324-2", isNHSN, true, "the code is one of the CDC NHSN, not of LOINC", ""},
	{rxnorm, "105694", nil, false, "the code was not verified for epoetin", ""},
	{rxnorm, "283838", nil, false, "the code was not verified for darbepoetin", ""},
	{rxnorm, "24909", nil, false, "the code was not verified for iron sucrose", ""},
	{rxnorm, "261435", nil, false, "the code was not verified for sodium ferric gluconate", ""},
	{rxnorm, "1191302", nil, false, "the code is a cream with fluocinolone, not an iron", ""},
	{mdc, "152348", nil, false, "published numbers of this term contradict each other", ""},
	{mdc, "152636", nil, false, "published numbers of this term contradict each other", ""},
	{mdc, "158740", nil, false, "published numbers of this term contradict each other", ""},
	{mdc, "158776", nil, false, "published numbers of this term contradict each other", ""},
	{mdc, "70929", nil, false, "the number was only seen at second hand", ""},
}

// doubtsByCode indexes the list by code.
var doubtsByCode = sync.OnceValue(func() map[string][]*doubt {
	byCode := map[string][]*doubt{}
	for i := range doubts {
		byCode[doubts[i].code] = append(byCode[doubts[i].code], &doubts[i])
	}
	return byCode
})

// misused reports a code of the list, and whether no further check is needed.
func (c *codeChecker) misused(coding, node doc.Node, system, code []byte, at int) bool {
	if c.rec.Resources[at].Defines() {
		return false
	}
	for _, d := range doubtsByCode()[string(code)] {
		if d.system != string(system) || d.when != nil && !d.when(use{c.rec, &c.rec.Resources[at], coding}) {
			continue
		}
		c.doubtful(node, d)
		return true
	}
	if string(system) == profiles.LOINC && unverifiedRange(code) && inHaemodialysis(use{c.rec, &c.rec.Resources[at], coding}) {
		c.doubtful(node, &doubt{code: string(code), why: "codes near 99741-1 circulate for dialysis unverified"})
		return true
	}
	return false
}

func (c *codeChecker) doubtful(node doc.Node, d *doubt) {
	rule := "term-unsafe"
	if d.certain {
		rule = "term-misused"
	}
	c.complain(node, rule, issue.T(d.why), d.code, issue.Literal(d.instead))
}

// unverifiedRange is the range around the one verified code, 99741-1.
func unverifiedRange(code []byte) bool {
	return len(code) == len("99741-1") && bytes.HasPrefix(code, []byte("997")) && string(code) != "99741-1"
}

// isValueOf reports whether the code is the Observation's own and its value
// has one of these units.
func isValueOf(u use, units ...string) bool {
	q, ok := u.res.Quantity, u.res.HasQuantity
	if !ok || !u.isOwnCode() {
		return false
	}
	for _, unit := range units {
		if unit == string(q.Unit) {
			return true
		}
	}
	return false
}

// isOwnCode reports whether the coding is in the code of its Observation.
func (u use) isOwnCode() bool {
	d := u.rec.Doc
	return u.res.Type == "Observation" && d.Parent(d.Parent(u.coding)) == u.res.Code
}

func isRatio(u use) bool    { return isValueOf(u, "1", "{ratio}", "{Kt/V}", "{KtV}") }
func isDuration(u use) bool { return isValueOf(u, "min", "h", "s") }
func isMass(u use) bool     { return isValueOf(u, "kg", "g", "[lb_av]") }
func isVolume(u use) bool   { return isValueOf(u, "L", "mL") }

// inHaemodialysis reports whether an Observation is part of a haemodialysis
// session of the same document.
func inHaemodialysis(u use) bool {
	if !u.isOwnCode() {
		return false
	}
	return u.res.Hub != resources.Nowhere && u.rec.HasCoding(u.rec.Resources[u.res.Hub].Code, profiles.Haemodialysis)
}

// method returns our method that computed the Observation of the code.
func (u use) method() (calc.Method, bool) {
	coding, ok := u.rec.IsComputed(u.res)
	if !ok || !u.isOwnCode() {
		return calc.Method{}, false
	}
	id, _, _ := cutLast(string(u.rec.Doc.Str(u.rec.Doc.Get(coding, "code"))), "-")
	return calc.MethodByID(id)
}

// notSinglePool reports whether the method computes a quantity other than
// single-pool Kt/V.
func notSinglePool(u use) bool {
	m, known := u.method()
	return known && m.Key != "sp_kt_v"
}

// byInterval reports whether the method is single-pool Kt/V with the
// generation factor of the preceding interval.
func byInterval(u use) bool {
	m, known := u.method()
	return known && profiles.CodedAs(m.ID, m.Key) == "sp_kt_v_interval"
}

func (u use) text() string {
	d := u.rec.Doc
	return strings.ToLower(string(d.Str(d.Get(d.Parent(d.Parent(u.coding)), "text"))))
}

func isTarget(u use) bool {
	text := u.text()
	return u.isOwnCode() && (strings.Contains(text, "dry weight") || strings.Contains(text, "target weight") || strings.Contains(text, "dry body weight"))
}

func saysUrea(u use) bool {
	text := u.text()
	return strings.Contains(text, "urea") && !strings.Contains(text, "nitrogen") && !strings.Contains(text, "bun")
}

// isNHSN reports a code of the National Healthcare Safety Network by its
// display, because its numbers are also those of other LOINC terms.
func isNHSN(u use) bool {
	d := u.rec.Doc
	words := strings.ToLower(u.text() + string(d.Str(d.Get(u.coding, "display"))))
	return strings.Contains(words, "cannulation") || strings.Contains(words, "buttonhole") || strings.Contains(words, "access")
}
