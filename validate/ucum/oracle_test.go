package ucum_test

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"runsheet.example/validate/ucum"
)

// oracleVerdict is one line of testdata/oracle/ucum.mjs.
type oracleVerdict struct {
	Code               string
	Valid              bool
	Magnitude          float64
	Dimension          []int
	Special, Arbitrary bool
}

// knownUnitDifference gives the reason why our verdict on a unit differs from
// that of @lhncbc/ucum-lhc 7.1.10, or "" for a difference nobody has explained.
func knownUnitDifference(v oracleVerdict) string {
	_, err := ucum.Parse(v.Code)
	var syntax *ucum.SyntaxError
	switch {
	case errors.As(err, &syntax) && v.Valid:
		return knownRefusal(syntax)
	case strings.Contains(v.Code, "[LPF]"):
		return "UCUM table of units: [LPF] is 100; the oracle has 100 as its factor and 1 as its size"
	case strings.Contains(v.Code, "Bd"), strings.Contains(v.Code, "[diop]"), strings.Contains(v.Code, "[mesh_i]"):
		return "UCUM table of units: these are one over a unit; the oracle keeps that unit's dimension"
	}
	return ""
}

// knownRefusal gives the reason why we refuse a unit the oracle takes, or "".
func knownRefusal(e *ucum.SyntaxError) string {
	before, rest := e.Code[:e.Offset], e.Code[e.Offset:]
	switch {
	case isPrefixed(before, rest), prefixedTen.MatchString(e.Code):
		return "UCUM section 11: only metric atoms take a prefix; the oracle lets any unit have one"
	case strings.HasPrefix(e.Expected, "a number above 0"):
		return "UCUM section 8: a number is a positive integer; the oracle reads 0 as 1"
	case signedNumber.MatchString(e.Code):
		return "UCUM grammar: a number has no exponent; the oracle gives it one if it has a sign"
	case strings.HasPrefix(e.Expected, "a smaller exponent"):
		return "a limit of ours, far beyond any unit in use"
	case strings.HasPrefix(e.Expected, "nothing but a number beside"):
		return "UCUM section 22: a unit on a scale of its own stands beside no other; the oracle takes arbitrary units for numbers"
	}
	return ""
}

var (
	signedNumber = regexp.MustCompile(`(^|[./(])[0-9]+[-+][0-9]`)
	prefixedTen  = regexp.MustCompile(`(^|[./(])[a-zA-Z]{1,2}10[*^]`)
)

// isPrefixed reports whether rest is a prefix of one or two letters before
// what would be a unit without it.
func isPrefixed(before, rest string) bool {
	for length := 1; length <= 2 && length < len(rest); length++ {
		prefix, err := ucum.Parse(rest[:length] + "m")
		_, errUnit := ucum.Parse(before + rest[length:])
		if err == nil && errUnit == nil && prefix.Dimension().String() == "m" {
			return true
		}
	}
	return false
}

func TestOracleUnits(t *testing.T) {
	units, err := os.ReadFile(filepath.Join("testdata", "units.txt"))
	if err != nil {
		t.Fatal(err)
	}
	compareUnits(t, strings.Split(strings.TrimSuffix(string(units), "\n"), "\n"))
}

// Units put together at random, a fifth of them with a slip, from a fixed
// seed.
func TestOracleGeneratedUnits(t *testing.T) {
	g := unitGenerator{rand.New(rand.NewPCG(1993, 22))}
	var units []string
	for len(units) < 6000 {
		if unit := g.unit(); unit != "" {
			units = append(units, unit)
		}
	}
	compareUnits(t, units)
}

func compareUnits(t *testing.T, units []string) {
	t.Helper()
	if os.Getenv("RUNSHEET_NO_ORACLE") == "1" {
		t.Skip("RUNSHEET_NO_ORACLE=1: not compared with an independent engine")
	}
	script := filepath.Join("..", "..", "testdata", "oracle", "ucum.mjs")
	if _, err := os.Stat(script); err != nil { // the test is run again when it changes
		t.Fatal(err)
	}
	cmd := exec.Command("node", script)
	cmd.Stdin = strings.NewReader(strings.Join(units, "\n") + "\n")
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%v: the independent engines are installed by npm ci in testdata/oracle", err)
	}
	compared := 0
	for lines := bufio.NewScanner(bytes.NewReader(out)); lines.Scan(); compared++ {
		var v oracleVerdict
		if err := json.Unmarshal(lines.Bytes(), &v); err != nil {
			t.Fatal(err)
		}
		if difference := compareUnit(v); difference != "" && knownUnitDifference(v) == "" {
			t.Errorf("%q: %s", v.Code, difference)
		}
	}
	if compared != len(units) {
		t.Errorf("%d units compared, want %d", compared, len(units))
	}
}

func compareUnit(v oracleVerdict) string {
	unit, err := ucum.Parse(v.Code)
	if (err == nil) != v.Valid {
		if err != nil {
			return err.Error()
		}
		return "not valid for the oracle"
	}
	if err != nil {
		return ""
	}
	dimension := unit.Dimension()
	for i, e := range v.Dimension {
		if int(dimension[i]) != e {
			return "dimension " + dimension.String()
		}
	}
	if unit.IsSpecial() != v.Special {
		return "on a scale of its own or not"
	}
	size, err := ucum.Convert(1, v.Code, dimension.String())
	if err == nil && !v.Special && math.Abs(size/v.Magnitude-1) > 1e-12 {
		return "another size"
	}
	return ""
}

type unitGenerator struct{ *rand.Rand }

func (g unitGenerator) pick(from string) string {
	words := strings.Split(from, " ")
	return words[g.IntN(len(words))]
}

func (g unitGenerator) unit() string {
	unit := g.term(0)
	if g.IntN(6) == 0 {
		unit = "/" + unit
	}
	if g.IntN(5) == 0 {
		at := g.IntN(len(unit) + 1)
		unit = unit[:at] + g.pick(". / ( ) { } 2 m - [ ] h") + unit[at:]
		if at = g.IntN(len(unit)); g.IntN(2) == 0 {
			unit = unit[:at] + unit[at+1:]
		}
	}
	return unit
}

func (g unitGenerator) term(depth int) string {
	term := g.component(depth)
	for range g.IntN(4) {
		term += g.pick(". /") + g.component(depth)
	}
	return term
}

func (g unitGenerator) component(depth int) string {
	const atoms = "m kg s L mL min h d wk g ug mm[Hg] kPa bar cm[H2O] [iU] [arb'U] U mol mmol eq S mS G C K Hz rad u " +
		"[lb_av] [in_i] [pi] % Cel [degF] [pH] dB 10* 10^ 1 7 12 {x}"
	if g.IntN(12) == 0 && depth < 3 {
		return "(" + g.term(depth+1) + ")"
	}
	if g.IntN(12) == 0 {
		return g.pick(atoms) + "{y}"
	}
	return g.pick(atoms) + g.pick("    2 -1 -2 +1 3")
}
