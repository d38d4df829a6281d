package fhirpath_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/profile/fhirpath"
	"runsheet.example/validate/structure"
)

const resource = `{"resourceType":"Observation","id":"o","status":"final","issued":"2025-11-05T21:45:00+01:00",
"code":{"coding":[{"system":"http://loinc.org","code":"1-8"},{"system":"urn:x","code":"a"}],"text":"Some  Text"},
"identifier":[{"system":"urn:a","value":"1"},{"system":"urn:b","value":"2"}],
"effectivePeriod":{"start":"2025-11-05T18:15:00Z","end":"2025-11-05T21:45:00Z"},
"valueQuantity":{"value":70.50,"unit":"kg","system":"http://unitsofmeasure.org","code":"kg"},
"note":[{"text":"n"}],"_status":{"extension":[{"url":"urn:e","valueBoolean":true}]},
"interpretation":[{"text":"low"}],"subject":{"reference":"#p"},"contained":[{"resourceType":"Patient","id":"p","birthDate":"1960-02"}],
"component":[{"code":{"text":"c"},"valueInteger":3},{"code":{"text":"d"},"_valueString":{"extension":[{"url":"urn:e","valueString":"why"}]}}]}`

func environment(tb testing.TB, text string) (*fhirpath.Environment, doc.Node) {
	tb.Helper()
	d, s := new(doc.Doc), new(structure.Checker)
	d.Parse([]byte(text), "")
	s.Check(d, func(issue.Finding) {})
	return &fhirpath.Environment{Types: s, Resource: d.Root(), Root: d.Root(), Resolve: func(reference []byte) doc.Node {
		if string(reference) == "#p" {
			return d.Item(d.Get(d.Root(), "contained"), 0)
		}
		return doc.None
	}}, d.Root()
}

// TestExpressions: the results follow the text of FHIRPath N1; "?" is an empty
// result, which an invariant is not broken by.
func TestExpressions(t *testing.T) {
	env, root := environment(t, resource)
	for text, want := range map[string]string{
		`status = 'final'`: "true", `Observation.status = 'final'`: "true", `Patient.status.exists()`: "false",
		`status != 'final'`: "false", `status ~ 'FINAL'`: "true", `code.text ~ 'some text'`: "true", `status !~ 'x'`: "true",
		`method.exists()`: "false", `method = 'x'`: "?", `method.text = 'x' or true`: "true", `method.text = 'x' and true`: "?",
		`method.text = 'x' and false`: "false", `false implies method.text = 'x'`: "true", `method.text = 'x' implies true`: "true",
		`true implies false`: "false", `true xor true`: "false", `true xor {}`: "?", `method.empty().not()`: "false",
		`code.coding.count() = 2`: "true", `code.coding.where(system = 'urn:x').code = 'a'`: "true", `code.coding[1].code = 'a'`: "true",
		`code.coding[5].code = 'a'`: "?", `code.coding.first().system = %loinc`: "true", `code.coding.last().code = 'a'`: "true",
		`code.coding.tail().code = 'a'`: "true", `code.coding.skip(1).code = 'a'`: "true", `code.coding.take(1).code = '1-8'`: "true",
		`code.coding.all(code.exists())`: "true", `code.coding.exists(code = 'zz')`: "false", `code.coding.select(code) = ('1-8' | 'a')`: "true",
		`code.coding.code.isDistinct()`: "true", `(identifier.value | '1').count() = 2`: "true", `identifier.value.combine('1').count() = 3`: "true",
		`identifier.value.intersect('1' | '9') = '1'`: "true", `identifier.value.exclude('1') = '2'`: "true",
		`'1' in identifier.value`: "true", `identifier.value contains '3'`: "false", `identifier.value.subsetOf('1' | '2' | '3')`: "true",
		`('1' | '3').supersetOf(identifier.value)`: "false", `code.coding.code.distinct().count() = 2`: "true",
		`value is Quantity`: "true", `value.is(Quantity)`: "true", `(value as Quantity).value = 70.5`: "true", `value.ofType(string).empty()`: "true",
		`value is FHIR.Quantity`: "true", `status is code`: "true", `status is string`: "true", `status is System.String`: "true", `3 is Integer`: "true",
		`value.value > 70 and value.value < 70.51`: "true", `value >= 70.5 'kg'`: "true", `value > 1 'L'`: "?", `value.value + 1 = 71.5`: "true",
		`7 div 2 = 3`: "true", `7 mod 2 = 1`: "true", `7 / 2 = 3.5`: "true", `1 / 0`: "?", `-1 < 0`: "true", `2 * 3 - 1 = 5`: "true", `0.1 + 0.2 = 0.3`: "true",
		`effective.start < effective.end`: "true", `effective.ofType(Period).end - 60 minutes > effective.start`: "true",
		`effective.end + 1 hour = @2025-11-05T22:45:00Z`: "true", `issued = effective.end`: "false", `issued < effective.end`: "true",
		`contained.birthDate < @1960-02-01`: "?", `contained.birthDate <= @1960-03`: "true", `@2024-01-31 + 1 month = @2024-02-29`: "true",
		`@2025-11-05 = @2025-11-05T10:00:00Z`: "?", `@T10:30 < @T11:00`: "true", `@2025-11-05T10:00:00 < @2025-11-05T11:00:00Z`: "?",
		`effective.start.toString().length() >= 8`: "true", `value.value.toString() = '70.50'`: "true", `(1 + 0.50).toString() = '1.5'`: "true",
		`@2026-05-02 <= @2026-05-01T23:30:00-02:00`: "?", `@2026-05-02 > @2026-04-30T10:00:00Z`: "true", `%context.code.coding.code contains 'a'`: "true", `status.startsWith('fi') and status.endsWith('al') and status.contains('in')`: "true",
		`status.matches('^f.*l$')`: "true", `status.matches('ina')`: "true", `status.matchesFull('ina')`: "false", `status.upper() = 'FINAL'`: "true",
		`status.substring(1, 2) = 'in'`: "true", `status.indexOf('n') = 2`: "true", `status.replace('f', 'F') = 'Final'`: "true", `'a,b'.split(',').count() = 2`: "true",
		`identifier.value.join('+') = '1+2'`: "true", `'a' & {} & 'b' = 'ab'`: "true", `'a' + 'b' = 'ab'`: "true", `'12'.toInteger() = 12`: "true", `'x'.toInteger().empty()`: "true",
		`status.extension('urn:e').value = true`: "true", `status.hasValue()`: "true", `component[1].value.hasValue()`: "false", `component[1].value.exists()`: "true",
		`component.value.count() = 2`: "true", `component[1].value.extension.value = 'why'`: "true", `component.value.ofType(integer) = 3`: "true",
		`subject.resolve() is Patient`: "true", `subject.resolve().birthDate.exists()`: "true", `contained.where($this is Patient).id = 'p'`: "true",
		`%resource.status = 'final'`: "true", `component.all(%resource.status = 'final')`: "true", `%resource.component.where(code.text = 'c').value = 3`: "true",
		`component.where($index = 1).code.text = 'd'`: "true", `iif(true, 1, 2) = 1`: "true", `method.iif(empty(), true, text.exists())`: "true", `code.iif(empty(), true, text.exists())`: "true", `iif(method.exists(), 1).empty()`: "true",
		`(1 | 2 | 3).aggregate($this + $total, 0) = 6`: "true", `(true | false).allTrue()`: "false", `(true | false).anyTrue()`: "true",
		`descendants().where($this is Coding).count() = 2`: "true", `component.children().count() > 3`: "true", `code.repeat(coding).count() = 2`: "true",
		"`status` = 'final'": "true", `status /* the code */ = 'final' // end`: "true", `{}.exists()`: "false", `note`: "true", `trace('x').exists()`: "true",
		`'it\'s' = 'it\u0027s'`: "true", `text.div.htmlChecks()`: "true", `code.coding.single()`: "!", `(1 | 2) and true`: "!", `'a' < 1`: "!",
		`now() > today()`: "unsupported", `code.memberOf('urn:x')`: "!", `conformsTo('urn:x')`: "!", `status.matches('(?=x)')`: "!", `%unknown`: "unsupported", `$that`: "unsupported",
		`status =`: "no", `(status`: "no", `'open`: "no", `status status`: "no", `where()`: "no", `exists(1,2)`: "no", `@2025-13`: "no", `#`: "no", ``: "no", `a.1`: "no", `'\u00'`: "no", `value is`: "no", `%`: "no",
	} {
		if got := result(env, root, text); got != want {
			t.Errorf("%s: got %s, want %s", text, got, want)
		}
	}
}

func result(env *fhirpath.Environment, root doc.Node, text string) string {
	x, err := fhirpath.Compile(text)
	switch {
	case errors.Is(err, fhirpath.ErrUnsupported):
		return "unsupported"
	case err != nil:
		return "no"
	}
	holds, known, err := x.Truth(env, root)
	switch {
	case err != nil:
		return "!"
	case !known:
		return "?"
	case holds:
		return "true"
	default:
		return "false"
	}
}

// TestBlame: the node that breaks an invariant, by its path.
func TestBlame(t *testing.T) {
	env, root := environment(t, resource)
	for text, want := range map[string]string{
		`component.all(value.hasValue())`:                                              "Observation.component[1]",
		`status = 'x' implies component.all(value.hasValue())`:                         "Observation.component[1]",
		`status = 'x' or code.coding.empty()`:                                          "Observation.code.coding[0]",
		`code.coding.empty() or component.all(value.hasValue())`:                       "",
		`status.exists() and code.coding.empty()`:                                      "Observation.code.coding[0]",
		`code.coding.empty() and status.exists()`:                                      "Observation.code.coding[0]",
		`note.empty() or status.empty()`:                                               "",
		`identifier.select(value.length()).isDistinct()`:                               "Observation.identifier[1]",
		`contained.id.combine(subject.select('p')).combine(contained.id).isDistinct()`: "Observation.contained[0].id",
		`component.exists().not()`:                                                     "",
	} {
		x, err := fhirpath.Compile(text)
		if err != nil {
			t.Fatal(err)
		}
		got := ""
		if at := x.Blame(env, root); at != doc.None {
			got = env.Types.Doc().Finding(at, "profile-invariant", issue.Text{}).Expression
		}
		if got != want {
			t.Errorf("%s: blames %q, want %q", text, got, want)
		}
	}
}

// A set of many values holds what a set of few does.
func TestManyValues(t *testing.T) {
	parts := []string{"1.5", "@2026-01-01", "true"}
	for i := range 40 {
		parts = append(parts, fmt.Sprintf("'t%d'", i), fmt.Sprint(i))
	}
	env, root := environment(t, resource)
	all := strings.Join(parts, " | ")
	for text, want := range map[string]string{
		`(` + all + `).count() = 83`:                          "true",
		`(` + all + `).combine('t39').isDistinct()`:           "false",
		`(` + all + `).combine(39).isDistinct()`:              "false",
		`(` + all + `).combine('t40').isDistinct()`:           "true",
		`('t7' | 'x' | 7).intersect(` + all + `).count() = 2`: "true",
		`('t7' | 't30' | 7).subsetOf(` + all + `)`:            "true",
		`(` + all + `).supersetOf('t30' | 'x')`:               "false",
		`(` + all + `).exclude('t7').count() = 82`:            "true",
	} {
		if got := result(env, root, text); got != want {
			t.Errorf("%s: got %s, want %s", text, got, want)
		}
	}
}

// Dates and times with a zone, against package time.
func TestMomentsAgreeWithInstants(t *testing.T) {
	env, root := environment(t, resource)
	draw := func(t *rapid.T, name string) time.Time {
		zone := time.FixedZone("", rapid.IntRange(-14*60, 14*60).Draw(t, name+" offset")*60)
		return time.Unix(rapid.Int64Range(1_700_000_000, 1_700_200_000).Draw(t, name), 0).In(zone)
	}
	rapid.Check(t, func(t *rapid.T) {
		a, b := draw(t, "a"), draw(t, "b")
		text := "@" + a.Format(time.RFC3339) + " <= @" + b.Format(time.RFC3339)
		if got, want := result(env, root, text), fmt.Sprint(!a.After(b)); got != want {
			t.Fatalf("%s: %s, want %s", text, got, want)
		}
	})
}

// FuzzCompile reads any text as an expression and evaluates it: it ends, and
// says the same twice.
func FuzzCompile(f *testing.F) {
	for _, text := range []string{`a.b = 'c'`, `code.coding.where(system = %loinc).exists() implies value > 3 'kg'`, `@2025-01-01 + 1 day`, `repeat(children())`, `$this as Quantity`} {
		f.Add(text)
	}
	env, root := environment(f, resource)
	f.Fuzz(func(t *testing.T, text string) {
		if first, second := result(env, root, text), result(env, root, text); first != second {
			t.Errorf("%s, then %s", first, second)
		}
	})
}
