package profile

import (
	"encoding/json"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"

	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/profile/fhirpath"
)

// limit is a rule of a profile about the size, length or precision of a value.
type limit struct {
	kind  limitKind
	text  string // as written in the profile
	count int    // of characters or places
	unit  string // system of the unit
	bound fhirpath.Bound
	form  *regexp.Regexp
}

type limitKind uint8

const (
	limitLeast limitKind = iota
	limitMost
	limitLongest
	limitShortest
	limitPlaces
	limitForm
)

// R4 extensions of ElementDefinition with further rules for a primitive value.
const (
	minLength  = coreBase + "minLength"
	maxPlaces  = coreBase + "maxDecimalPlaces"
	valueForm  = coreBase + "regex"
	systemType = "http://hl7.org/fhirpath/"
)

// limits adds the limits of an element definition.
func (b *builder) limits(e *element, def *elementDefinition) {
	if def.minValue != nil {
		b.boundary(e, def, limitLeast, def.minValue)
	}
	if def.maxValue != nil {
		b.boundary(e, def, limitMost, def.maxValue)
	}
	if n := def.MaxLength; n != nil {
		e.limits = append(e.limits, limit{kind: limitLongest, count: *n, text: "at most " + strconv.Itoa(*n) + " characters"})
	}
	extensions := def.Extension
	for _, t := range def.Type {
		if !strings.HasPrefix(t.Code, systemType) { // those of R4 itself
			extensions = append(extensions[:len(extensions):len(extensions)], t.Extension...)
		}
	}
	for i := range extensions {
		b.extended(e, def, &extensions[i])
	}
}

func (b *builder) extended(e *element, def *elementDefinition, x *elementExtension) {
	switch {
	case x.URL == minLength && x.ValueInteger != nil:
		n := *x.ValueInteger
		e.limits = append(e.limits, limit{kind: limitShortest, count: n, text: "at least " + strconv.Itoa(n) + " characters"})
	case x.URL == maxPlaces && x.ValueInteger != nil:
		n := *x.ValueInteger
		e.limits = append(e.limits, limit{kind: limitPlaces, count: n, text: "at most " + strconv.Itoa(n) + " decimal places"})
	case x.URL == valueForm:
		form, err := regexp.Compile(`\A(?:` + x.ValueString + `)\z`)
		if err != nil {
			b.leaveOut("the regular expression of " + def.Path)
			return
		}
		e.limits = append(e.limits, limit{kind: limitForm, form: form, text: "of the form " + x.ValueString})
	}
}

// boundary adds a minimum or maximum value. It skips one relative to the
// current time, so that the same input has the same findings.
func (b *builder) boundary(e *element, def *elementDefinition, kind limitKind, v *boundary) {
	l := limit{kind: kind, text: "at least " + v.value.String()}
	if kind == limitMost {
		l.text = "at most " + v.value.String()
	}
	var err error
	switch {
	case v.value.kind == doc.Number:
		l.bound, err = fhirpath.NumberBound(v.value.text)
	case v.kind == "Quantity":
		var q struct {
			Value        json.Number
			System, Code string
		}
		v.value.into(&q.Value, &q.System, &q.Code)
		l.unit = q.System
		l.text = strings.TrimSuffix(l.text, v.value.String()) + string(q.Value) + " " + q.Code
		if l.bound, err = fhirpath.QuantityBound(string(q.Value), q.Code); q.System != profiles.UCUM || isTemporal(def) {
			err = fmt.Errorf("no amount of a UCUM unit")
		}
	case v.value.kind == doc.String:
		l.bound, err = fhirpath.MomentBound(v.value.text, v.kind == "Time")
	default:
		err = fmt.Errorf("no value with an order")
	}
	if err != nil {
		b.leaveOut("the limit of " + def.Path)
		return
	}
	e.limits = append(e.limits, l)
}

func isTemporal(def *elementDefinition) bool {
	for _, t := range def.Type {
		switch t.Code {
		case "date", "dateTime", "instant":
			return true
		}
	}
	return false
}

// into decodes a Quantity.
func (w *wanted) into(value *json.Number, system, code *string) {
	for i := range w.members {
		switch m := &w.members[i]; m.name {
		case "value":
			*value = json.Number(m.value.text)
		case "system":
			*system = m.value.text
		case "code":
			*code = m.value.text
		}
	}
}

// limit checks a value against one limit. It skips a value of another kind,
// which the type check reports.
func (c *Checker) limit(e *element, l *limit, n doc.Node) {
	within := true
	switch l.kind {
	case limitLeast, limitMost:
		within = c.isWithin(l, n)
	case limitPlaces:
		_, places, _ := strings.Cut(string(c.d.Raw(n)), ".")
		within = c.d.Kind(n) != doc.Number || len(places) <= l.count
	default:
		text := c.d.Str(n)
		switch {
		case c.d.Kind(n) != doc.String && l.kind != limitForm:
		case l.kind == limitLongest:
			within = utf8.RuneCount(text) <= l.count
		case l.kind == limitShortest:
			within = utf8.RuneCount(text) >= l.count
		case c.d.Kind(n) == doc.String:
			within = l.form.Match(text)
		case c.d.Kind(n) != doc.Object:
			within = l.form.Match(c.d.Raw(n))
		}
	}
	if within {
		return
	}
	c.complain(n, "profile-limit", issue.T("the value is outside the limits of {}", c.naming(e)), c.d.Excerpt(n), issue.Literal(l.text))
}

// isWithin compares a value with a minimum or maximum. It returns true if the
// comparison is not decidable or the value is of another kind.
func (c *Checker) isWithin(l *limit, n doc.Node) bool {
	if l.unit != "" && !c.d.Is(c.d.Get(n, "system"), l.unit) {
		return true
	}
	env := fhirpath.Environment{Types: c.s, Budget: &c.budget}
	order, known, err := l.bound.Order(&env, n)
	if err != nil || !known {
		return true
	}
	return l.kind == limitLeast && order >= 0 || l.kind == limitMost && order <= 0
}
