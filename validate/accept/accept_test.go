package accept_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"runsheet.example/validate/accept"
	"runsheet.example/validate/issue"
)

var today = time.Date(2026, 1, 5, 23, 0, 0, 0, time.UTC)

// entry is a list of one entry, with these lines in place of those of their keys.
func entry(lines ...string) string {
	all := []string{`rule = "unit-not-ucum"`, `reason = "r"`, `until = 2026-01-05`, `by = "b"`}
	for _, line := range lines {
		key, _, _ := strings.Cut(line, " ")
		kept := all[:0]
		for _, other := range all {
			if !strings.HasPrefix(other, key+" ") {
				kept = append(kept, other)
			}
		}
		all = append(kept, line)
	}
	return "format = 1\n\n[[accept]]\n" + strings.Join(all, "\n")
}

func TestWrongListsAreRefused(t *testing.T) {
	for name, test := range map[string]struct{ text, want string }{
		"no TOML":           {"format = 1\nformat", "list line 2, column "},
		"other format":      {"format = 2\n", "list: format = 2: expected format = 1"},
		"no format":         {"", "list: format = 0: expected format = 1"},
		"unknown key":       {entry(`rules = "x"`), `list line 8, column 1: unknown key "accept.rules"`},
		"unknown table":     {"format = 1\n[accepted]\n", `list line 2, column 2: unknown key "accepted"`},
		"no rule":           {entry(`rule = " "`), "list line 3: the entry has no rule"},
		"no such rule":      {entry(`rule = "unit-ucum"`), `list line 3: rule = "unit-ucum": there is no such rule; runsheet rules lists them`},
		"nothing but rule":  {"format = 1\n[[accept]]\nrule = \"json-bom\"", "list line 2: the entry has no reason, by, until"},
		"no such day":       {entry(`until = 2026-02-30`), "list line 7, column "},
		"no such day, text": {entry(`until = "2026-02-30"`), "list"},
		"with a time":       {entry(`until = 2026-02-01T00:00:00Z`), "list"},
		"inline":            {`format = 1` + "\n" + `accept = [{rule = "json-bom", reason = "r", by = "b", until = 2026-01-05}]`, "list: each entry needs a heading [[accept]] of its own"},
	} {
		_, err := accept.Parse([]byte(test.text), "list", today)
		if err == nil || !strings.HasPrefix(err.Error(), test.want) {
			t.Errorf("%s: error %v, want %s", name, err, test.want)
		}
	}
}

func TestEntriesMatch(t *testing.T) {
	const at = "Bundle.entry[12].resource.value.code"
	for name, test := range map[string]struct {
		entry string
		want  bool
	}{
		"rule":                 {entry(), true},
		"other rule":           {entry(`rule = "unit-text"`), false},
		"resource":             {entry(`record = "Observation/w1"`), true},
		"fullUrl":              {entry(`record = "urn:uuid:1"`), true},
		"other resource":       {entry(`record = "Observation/w"`), false},
		"file":                 {entry(`record = "out/a.json"`), true},
		"name of the file":     {entry(`record = "a.json"`), true},
		"end of the name":      {entry(`record = ".json"`), false},
		"path":                 {entry(`path = "` + at + `"`), true},
		"any index":            {entry(`path = "Bundle.entry[*].resource.value.code"`), true},
		"other index":          {entry(`path = "Bundle.entry[1].resource.value.code"`), false},
		"part of the path":     {entry(`path = "Bundle.entry[12].resource.value"`), false},
		"a dot is a dot":       {entry(`path = "Bundle.entry[12].resource.value_code"`), false},
		"resource, other path": {entry(`record = "Observation/w1"`, `path = "Bundle"`), false},
		"last day":             {entry(`until = 2026-01-05`), true},
		"expired":              {entry(`until = 2026-01-04`), false},
	} {
		list, err := accept.Parse([]byte(test.entry), "list", today)
		if err != nil {
			t.Fatal(err)
		}
		f := issue.At("unit-not-ucum")
		f.File, f.Expression = "out/a.json", at
		list.Apply(&f, "Observation/w1", "urn:uuid:1")
		if got := f.Accepted != nil; got != test.want {
			t.Errorf("%s: accepted is %v", name, got)
		}
		if test.want && f.Accepted.String() != "until 2026-01-05 by b: r" {
			t.Errorf("%s: accepted %s", name, f.Accepted)
		}
	}
}

func TestListReportsItsEntries(t *testing.T) {
	text := entry() + "\n" + entry(`until = 2025-12-31`)[len("format = 1\n"):] + "\n" +
		entry(`rule = "json-bom"`)[len("format = 1\n"):] + "\n" + entry(`rule = "json-bom"`, `until = 2025-12-31`)[len("format = 1\n"):]
	list, err := accept.Parse([]byte(text), "list", today)
	if err != nil {
		t.Fatal(err)
	}
	f := issue.At("unit-not-ucum")
	list.Apply(&f)
	var got []string
	list.Report(func(f issue.Finding) {
		got = append(got, fmt.Sprint(f.File, " ", f.Line, " ", f.Rule, ": ", f.Details))
	})
	want := []string{
		"list 9 accept-expired: this entry has expired, and the findings that it matches count again",
		"list 15 accept-unused: no finding matches this entry",
		"list 21 accept-expired: this entry has expired, and no finding matches it",
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// FuzzParse holds that any file is either refused or a list whose entries have
// all that is required, and that applying one never fails.
func FuzzParse(f *testing.F) {
	f.Add([]byte(entry()))
	f.Add([]byte(entry(`path = "a[*].b("`, `record = "x"`)))
	f.Add([]byte("format = 1\naccept = [{}]\n[[accept]]"))
	f.Fuzz(func(t *testing.T, data []byte) {
		list, err := accept.Parse(data, "list", today)
		if err != nil {
			return
		}
		for _, rule := range issue.Rules() {
			one := issue.At(rule.ID)
			one.Expression = "a[1].b("
			list.Apply(&one, "x")
			if a := one.Accepted; a != nil && (a.By == "" || a.Reason == "" || a.Until < "2026-01-05") {
				t.Fatalf("accepted by %+v", a)
			}
		}
		list.Report(func(f issue.Finding) {
			if f.Line < 1 || f.Line > 1+strings.Count(string(data), "\n") {
				t.Fatalf("line %d", f.Line)
			}
		})
	})
}
