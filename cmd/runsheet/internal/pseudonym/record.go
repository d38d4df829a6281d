package pseudonym

import (
	"bytes"
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/ucum"
)

// copier copies documents of one patient.
type copier struct {
	secret
	report *Report
	// days is the offset of the patient of the document.
	days int
	// gone are the names of resources that the copy does not have.
	gone set
	d    *doc.Doc
	out  bytes.Buffer
	// kept are the entries of the document that are in the copy, in its order.
	kept []doc.Node
}

// oldest is the age up to which an age alone points at few people (45 CFR
// 164.514(b)(2)(i)(C)).
const oldest = 89

// document copies one document. It reports whether anything is left of it.
func (c *copier) document(d *doc.Doc) bool {
	c.d, c.kept = d, c.kept[:0]
	c.out.Reset()
	for entry := d.FirstChild(d.Get(d.Root(), "entry")); entry != doc.None; entry = d.Next(entry) {
		if resource := d.Get(entry, "resource"); !c.copied(resource) {
			c.gone.leaveOut(d, resource, entry)
		}
	}
	return c.resource(d.Root(), "") && (len(c.kept) > 0 || !d.Is(d.Get(d.Root(), "resourceType"), "Bundle"))
}

// copied reports whether a resource is of a kind that is copied.
func (c *copier) copied(n doc.Node) bool {
	name := string(c.d.Str(c.d.Get(n, "resourceType")))
	return name != "" && strings.Contains(" "+copied+" ", " "+name+" ")
}

func (c *copier) resource(n doc.Node, path string) bool {
	name := string(c.d.Str(c.d.Get(n, "resourceType")))
	if !c.copied(n) {
		return c.drop(path + "(" + name + ")")
	}
	if id := c.d.Str(c.d.Get(n, "id")); c.gone.has([]byte(name + "/" + string(id))) {
		return c.leftOut(n)
	}
	if name != "Bundle" {
		c.report.Resources++
	}
	return c.object(n, name, name)
}

// leftOut counts an Observation that was computed from an age, by its method.
func (c *copier) leftOut(observation doc.Node) bool {
	method := "other"
	for coding := c.d.FirstChild(c.d.Get(c.d.Get(observation, "method"), "coding")); coding != doc.None; coding = c.d.Next(coding) {
		if code := string(c.d.Str(c.d.Get(coding, "code"))); known().method(code) {
			method = code
		}
	}
	c.report.notAgain[method]++
	return false
}

// drop counts an element that is not copied.
func (c *copier) drop(path string) bool {
	c.report.dropped[path]++
	return false
}

// object copies the listed elements of an object, and nothing if none is left.
func (c *copier) object(n doc.Node, of, path string) bool {
	start, empty := c.out.Len(), true
	for m := c.d.FirstChild(n); m != doc.None; m = c.d.Next(m) {
		key := string(c.d.Key(m))
		at := path + "." + key
		as, listed := elements()[of+"."+key]
		if !listed {
			c.drop(at)
			continue
		}
		before := c.out.Len()
		c.out.WriteByte("{,"[min(before-start, 1)])
		fmt.Fprintf(&c.out, "%q:", key)
		if c.element(m, as, at) {
			empty = false
		} else {
			c.out.Truncate(before)
		}
	}
	if empty {
		c.out.Truncate(start)
		return false
	}
	c.out.WriteByte('}')
	return true
}

// element copies a value or, of a list, the values that can be copied.
func (c *copier) element(n doc.Node, as, path string) bool {
	if c.d.Kind(n) != doc.Array {
		return c.value(n, as, path)
	}
	start := c.out.Len()
	for item := c.d.FirstChild(n); item != doc.None; item = c.d.Next(item) {
		before := c.out.Len()
		c.out.WriteByte("[,"[min(before-start, 1)])
		if !c.value(item, as, path) {
			c.out.Truncate(before)
		}
	}
	if c.out.Len() == start {
		return false
	}
	c.out.WriteByte(']')
	return true
}

func (c *copier) value(n doc.Node, as, path string) bool {
	kind := c.d.Kind(n)
	if strings.ToLower(as) == as {
		if kind == doc.Object || kind == doc.Array || !c.leaf(n, as) {
			return c.drop(path)
		}
		return true
	}
	if kind != doc.Object {
		return c.drop(path)
	}
	switch as {
	case "Resource":
		return c.resource(n, path)
	case "Entry":
		return c.entry(n, path)
	case "CodeableConcept":
		return c.concept(n, path)
	case "Coding":
		return c.known(n) && c.object(n, as, path) || c.drop(path)
	case "Quantity":
		return c.quantity(n, path)
	case "Extension":
		return known().words[string(c.d.Str(c.d.Get(n, "url")))] && c.object(n, as, path) || c.drop(path)
	case "Identifier":
		return c.identified(n) || c.drop(path)
	case "Reference":
		return c.reference(n, path)
	case "Narrative":
		fmt.Fprintf(&c.out, `{"status":%q,"div":%q}`, generated, narrated)
		return true
	case "Component":
		c.age(n)
	}
	return c.object(n, as, path)
}

// leaves are how the texts of values that are no objects are copied. Tests
// replace them.
var leaves = map[string]func(c *copier, text string) (string, bool){
	word:     func(_ *copier, text string) (string, bool) { return text, known().has(text) },
	unit:     func(_ *copier, text string) (string, bool) { return text, isUnit(text) },
	date:     func(c *copier, text string) (string, bool) { return shift(text, c.days) },
	id:       func(c *copier, text string) (string, bool) { return c.name(text), true },
	target:   func(c *copier, text string) (string, bool) { return c.target(text, c.days) },
	withheld: func(*copier, string) (string, bool) { return withheld, true },
}

// leaf copies a value that is no object.
func (c *copier) leaf(n doc.Node, as string) bool {
	kind := c.d.Kind(n)
	if as == number && (kind == doc.Number || kind == doc.Bool) {
		c.out.Write(c.d.Raw(n))
		return true
	}
	leaf := leaves[as]
	if leaf == nil || kind != doc.String {
		return false
	}
	text, ok := leaf(c, string(c.d.Str(n)))
	if ok {
		c.out.WriteString(strconv.Quote(text)) // what a copy has needs no other escapes
	}
	return ok
}

var longNumber = regexp.MustCompile(`[0-9]{3}`)

// isUnit reports whether a text is a UCUM code, without annotation, or the words
// for one of the tables.
func isUnit(text string) bool {
	_, err := ucum.Parse(text)
	return known().units[text] || err == nil && !strings.Contains(text, "{") && !longNumber.MatchString(text)
}

// entry copies an entry whose resource is copied.
func (c *copier) entry(n doc.Node, path string) bool {
	resource := c.d.Get(n, "resource")
	switch {
	case !c.copied(resource) || c.d.Is(c.d.Get(resource, "resourceType"), "Bundle"):
		return c.drop(path + "(" + string(c.d.Str(c.d.Get(resource, "resourceType"))) + ")")
	case c.gone.has(c.d.Str(c.d.Get(n, "fullUrl"))):
		return c.leftOut(resource)
	}
	c.kept = append(c.kept, n)
	return c.object(n, "Entry", path)
}

// concept copies the known codes of a concept and its text if it is one of ours.
// One of which nothing is left says that it is withheld.
func (c *copier) concept(n doc.Node, path string) bool {
	if !c.object(n, "CodeableConcept", path) {
		c.report.withheld[path]++
		c.out.WriteString(`{"text":"` + withheld + `"}`)
	}
	return true
}

// known reports whether a coding is one of the tables.
func (c *copier) known(n doc.Node) bool {
	system, code := string(c.d.Str(c.d.Get(n, "system"))), string(c.d.Str(c.d.Get(n, "code")))
	return known().displays[system+"|"+code] || system == profiles.Algorithm && known().method(code)
}

// quantity copies a quantity whose unit can be copied: a number without its unit
// would be another value.
func (c *copier) quantity(n doc.Node, path string) bool {
	for _, key := range []string{"unit", "code"} {
		if text := string(c.d.Str(c.d.Get(n, key))); text != "" && !isUnit(text) {
			return c.drop(path)
		}
	}
	return c.object(n, "Quantity", path)
}

// age counts a component with an age above [oldest].
func (c *copier) age(n doc.Node) {
	if years, ok := ageOf(c.d, n); ok && years > oldest {
		c.report.Old++
	}
}

// ageOf is the age that a component states.
func ageOf(d *doc.Doc, component doc.Node) (years float64, ok bool) {
	input, _ := profiles.InputOf("age")
	if !stated(d, component, input.Coding) {
		return 0, false
	}
	years, err := strconv.ParseFloat(string(d.Raw(d.Get(d.Get(component, "valueQuantity"), "value"))), 64)
	return years, err == nil
}

// stated reports whether the code of an element is a coding.
func stated(d *doc.Doc, n doc.Node, coding profiles.Coding) bool {
	for c := d.FirstChild(d.Get(d.Get(n, "code"), "coding")); c != doc.None; c = d.Next(c) {
		if d.Is(d.Get(c, "system"), coding.System) && d.Is(d.Get(c, "code"), coding.Code) {
			return true
		}
	}
	return false
}

func (c *copier) identified(n doc.Node) bool {
	value := string(c.d.Str(c.d.Get(n, "value")))
	if value == "" {
		return false
	}
	system, value := c.secret.identifier(string(c.d.Str(c.d.Get(n, "system"))), value)
	fmt.Fprintf(&c.out, `{"system":%q,"value":%q}`, system, value)
	return true
}

// reference copies a reference to what the copy has.
func (c *copier) reference(n doc.Node, path string) bool {
	text := c.d.Str(c.d.Get(n, "reference"))
	if c.gone.refers(c.d, n) {
		return c.drop(path)
	}
	if _, ok := c.target(string(text), c.days); !ok && c.d.Get(c.d.Get(n, "identifier"), "value") == doc.None {
		return c.drop(path) // the name of somebody
	}
	return c.object(n, "Reference", path)
}
