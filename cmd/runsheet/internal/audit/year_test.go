//go:build cluster

package audit_test

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"runsheet.example/cmd/runsheet/internal/audit"
	"runsheet.example/cmd/runsheet/internal/seal"
	"runsheet.example/validate/manifest"
)

// A year of a unit, month by month, from the first day of the unit's other tests
// on. .ci/cluster says where it is written, and how large it is.
var (
	yearDir      = os.Getenv("RUNSHEET_YEAR")
	yearPatients = number("RUNSHEET_PATIENTS", len(faults)+4)
	yearMonths   = number("RUNSHEET_MONTHS", 4)
)

func number(name string, otherwise int) int {
	if n, err := strconv.Atoi(os.Getenv(name)); err == nil {
		return n
	}
	return otherwise
}

// planted is where a fault is planted: a patient of the unit.
type planted struct {
	t      *testing.T
	dir    string   // of the patient
	number string   // of the patient
	row    int      // of the roster
	months []string // the folders of the exports
	// lastMonday begins the last whole week.
	lastMonday string
	// What the roster says of the patient, instead of five sessions a week in the
	// whole time.
	roster *string
	sign   func(path string, by int)
}

func (p planted) at(month int) string { return filepath.Join(p.dir, p.months[month]) }

// fault is what can be wrong with the records of one patient, with what must be
// found: ROW stands for the row of the roster, M1 for the second month.
type fault struct {
	name  string
	after bool // it happens after the year was sealed
	plant func(p planted)
	want  []string
}

// Whom a key belongs to.
const (
	ofUnit = iota
	expired
	stranger
)

var faults = []fault{
	{"missing month", false, func(p planted) { must(p.t, os.RemoveAll(p.at(1))) }, []string{"complete audit-month-absent ROW"}},
	{"missing patient", false, func(p planted) { must(p.t, os.RemoveAll(p.dir)) }, []string{"complete audit-patient-absent ROW"}},
	{"swapped files", false, func(p planted) {
		list := sessions(p.t, p.at(1))
		must(p.t, os.Rename(list[2], list[2]+"-"))
		must(p.t, os.Rename(list[3], list[2]))
		must(p.t, os.Rename(list[2]+"-", list[3]))
	}, []string{"whole audit-resource-extra M1/session", "whole audit-resource-missing M1/session", "whole month-manifest-hash M1/manifest.json"}},
	{"one byte", false, func(p planted) { byteOf(p.t, sessions(p.t, p.at(1))[4]) }, []string{"whole month-manifest-hash M1/manifest.json"}},
	{"edited value, digest mended", false, func(p planted) { editValue(p.t, p.at(1)) }, []string{"recomputed calc-value-differs M1/session"}},
	{"method of another version", false, func(p planted) {
		rewrite(p.t, p.at(1), `"uf-rate-per-kg-1"`, `"uf-rate-per-kg-7"`)
	}, []string{"recomputed audit-method-unknown M1/session"}},
	{"status that does not exist", false, func(p planted) {
		rewrite(p.t, p.at(1), `"status":"final"`, `"status":"finall"`)
	}, []string{"valid M1/session"}},
	{"two rule versions", false, func(p planted) { edit(p.t, p.at(1), func(m *manifest.Manifest) { m.Rules = sum(nil) }) }, []string{"whole audit-versions M1/manifest.json"}},
	{"gap with a reason", false, func(p planted) {
		drop(p.t, p.at(1), "2025-02-10", "2025-02-16")
		*p.roster = ",,,5,2025-02-10/2025-02-16 hospital"
	}, nil},
	{"gap without a reason", false, func(p planted) { drop(p.t, p.at(1), "2025-02-10", "2025-02-16") }, []string{"complete audit-week-unexplained ROW"}},
	{"one session gone", false, func(p planted) { drop(p.t, p.at(1), "2025-02-11", "2025-02-11") }, []string{"complete audit-week-unexplained ROW"}},
	{"absent last week", false, func(p planted) { drop(p.t, p.at(len(p.months)-1), p.lastMonday, "2025-12-31") }, []string{"complete audit-week-unexplained ROW"}},
	{"fewer than the roster plans", false, func(p planted) { *p.roster = ",,,7," }, []string{"complete audit-plan-differs ROW", "complete audit-week-unexplained ROW"}},
	{"second log", false, func(p planted) {
		exportLog(p.t, filepath.Join(p.dir, "other"), p.number, "another log of "+p.number, p.months[1])
	},
		[]string{"complete audit-log-second ROW", "complete month-record-session-twice M1/session", "complete month-record-session-twice other/M1/session"}},
	{"two exports of a month", false, func(p planted) {
		must(p.t, os.CopyFS(filepath.Join(p.dir, "again"), os.DirFS(p.at(1))))
	}, []string{"whole audit-session-twice TWICE"}},
	{"after the last day on the roster", false, func(p planted) { *p.roster = ",,2025-02-20,5," }, []string{"complete audit-patient-unknown ROW"}},
	{"extra file", false, func(p planted) { must(p.t, os.WriteFile(filepath.Join(p.at(1), "note.txt"), nil, 0o600)) }, []string{"whole audit-file-extra M1/note.txt"}},
	{"extra folder", false, func(p planted) {
		must(p.t, os.Mkdir(filepath.Join(p.at(1), "more"), 0o700))
		must(p.t, os.WriteFile(filepath.Join(p.at(1), "more", "note.txt"), nil, 0o600))
	}, []string{"whole audit-file-extra M1/more/note.txt"}},
	{"missing file", false, func(p planted) { // of a session that nothing else needs
		list := sessions(p.t, p.at(1))
		must(p.t, os.Remove(list[len(list)-1]))
	}, []string{"complete audit-week-unexplained ROW", "whole month-manifest-missing M1/manifest.json"}},
	{"link in place of a file", false, func(p planted) {
		path := sessions(p.t, p.at(1))[0]
		away := filepath.Join(p.t.TempDir(), "away.json")
		must(p.t, os.Rename(path, away))
		must(p.t, os.Symlink(away, path))
	}, []string{"complete audit-week-unexplained ROW", "whole audit-link M1/session", "whole month-manifest-missing M1/manifest.json"}},
	{"link to a folder", false, func(p planted) { must(p.t, os.Symlink(p.t.TempDir(), filepath.Join(p.at(1), "more"))) }, []string{"whole audit-link M1/more"}},
	{"file that the manifest does not name", false, func(p planted) {
		edit(p.t, p.at(1), func(m *manifest.Manifest) { m.Files = slices.Delete(m.Files, 5, 6) })
	}, []string{"whole audit-file-extra M1/session"}},
	{"resource that the manifest does not have", false, func(p planted) {
		edit(p.t, p.at(1), func(m *manifest.Manifest) { m.Files[1].Resources = m.Files[1].Resources[1:] })
	}, []string{"whole audit-resource-extra M1/session"}},
	{"resource that the file does not have", false, func(p planted) {
		edit(p.t, p.at(1), func(m *manifest.Manifest) {
			m.Files[1].Resources = append(m.Files[1].Resources, manifest.Resource{Type: "Observation", ID: "x"})
		})
	}, []string{"whole audit-resource-missing M1/session"}},
	{"path out of the folder", false, func(p planted) {
		edit(p.t, p.at(1), func(m *manifest.Manifest) {
			m.Files = append(m.Files, manifest.File{File: "../x.json", SHA256: sum(nil)})
		})
	}, []string{"whole month-manifest-form M1/manifest.json", "whole month-manifest-root M1/manifest.json"}},
	{"no manifest", false, func(p planted) { must(p.t, os.Remove(filepath.Join(p.at(1), manifest.Name))) }, []string{"whole audit-manifest-absent M1"}},
	{"forged manifest", true, func(p planted) {
		edit(p.t, p.at(1), func(m *manifest.Manifest) { m.Log.TimeZone = "Europe/Paris" })
	}, []string{"signed audit-signature-absent M1/manifest.json", "whole audit-sealed-absent year.json"}},
	{"month taken away after the year was sealed", true, func(p planted) { must(p.t, os.RemoveAll(p.at(1))) },
		[]string{"complete audit-month-absent ROW", "whole audit-sealed-absent year.json"}},
	{"expired signer", true, func(p planted) { p.sign(filepath.Join(p.at(1), manifest.Name), expired) }, []string{"signed audit-signer-unknown M1/manifest.json"}},
	{"signed by a stranger", true, func(p planted) { p.sign(filepath.Join(p.at(1), manifest.Name), stranger) }, []string{"signed audit-signer-unknown M1/manifest.json"}},
	{"signature of another file", true, func(p planted) {
		p.sign(filepath.Join(p.at(0), manifest.Name), ofUnit)
		must(p.t, os.Rename(filepath.Join(p.at(0), manifest.Name+seal.Ending), filepath.Join(p.at(1), manifest.Name+seal.Ending)))
	}, []string{"signed audit-signature-wrong M1/manifest.json.sig"}},
	// The last one: it moves the rows of the roster behind it.
	{"not on the roster", false, func(p planted) { *p.roster = "" }, []string{"complete audit-patient-unknown FIRST"}},
}

// rewrite changes a text in the first session of an export, and mends the
// manifest.
func rewrite(t *testing.T, dir, from, to string) {
	t.Helper()
	path := sessions(t, dir)[0]
	text, err := os.ReadFile(path)
	must(t, err)
	changed := bytes.Replace(text, []byte(from), []byte(to), 1)
	if bytes.Equal(changed, text) {
		t.Fatalf("%s is not in %s", from, path)
	}
	replace(t, path, changed)
	edit(t, dir, func(m *manifest.Manifest) {
		for i := range m.Files {
			if m.Files[i].File == filepath.Base(path) {
				m.Files[i].SHA256 = sum(changed)
			}
		}
	})
}

// year returns the months of the year, and links its exports into a folder; they
// are made once.
func year(t *testing.T, unit string) (months []string) {
	for n := range yearMonths {
		months = append(months, fmt.Sprintf("2025-%02d", n+1))
	}
	made := filepath.Join(yearDir, "made")
	t.Run("export", func(t *testing.T) {
		for i := range yearPatients {
			number := fmt.Sprintf("N-%03d", i+1)
			t.Run(number, func(t *testing.T) {
				t.Parallel()
				to := filepath.Join(made, number)
				if _, err := os.Stat(to); err != nil {
					exportLog(t, to+".part", number, number, months...)
					must(t, os.Rename(to+".part", to))
				}
			})
		}
	})
	must(t, os.RemoveAll(unit))
	linkAll(t, made, unit)
	return months
}

// Each fault of a unit's year is found by its verdict, none by another one, and
// nothing is found of the other patients. The report is left beside the unit, in
// each form.
func TestYear(t *testing.T) {
	if yearDir == "" {
		yearDir = t.TempDir()
	}
	unit := filepath.Join(yearDir, "unit")
	months := year(t, unit)
	opts := audit.Options{From: first, Roster: filepath.Join(yearDir, "roster.csv"), Signers: filepath.Join(yearDir, "signers"), Seals: []string{filepath.Join(yearDir, "year.json")}}
	end := day(t, months[len(months)-1]+"-01").AddDate(0, 1, -1)
	opts.To = end.Format(time.DateOnly)
	lastMonday := end.AddDate(0, 0, -6-int(end.Weekday())).Format(time.DateOnly) // Sunday is 0
	must(t, os.WriteFile(filepath.Join(yearDir, "to"), []byte(opts.To), 0o600))
	// As the program says them, so that its reports are the same.
	opts.Now, opts.Program = time.Now(), os.Getenv("RUNSHEET_PROGRAM")
	var keys [3][]byte
	signers := ""
	for i, line := range []string{"unit ", `former valid-before="20250101Z" `, ""} {
		secret, public := keyPair(t)
		if keys[i] = secret; line != "" {
			signers += line + public
		}
	}
	must(t, os.WriteFile(opts.Signers, []byte(signers), 0o600))
	sign := func(path string, by int) {
		text, err := os.ReadFile(path)
		must(t, err)
		signature, err := seal.Sign(bytes.NewReader(text), keys[by])
		must(t, err)
		must(t, os.WriteFile(path+seal.Ending, signature, 0o600))
	}
	lines := make([]string, yearPatients)
	var want []string
	plant := func(after bool) {
		for i := range lines {
			number := fmt.Sprintf("N-%03d", i+1)
			p := planted{t: t, dir: filepath.Join(unit, number), number: number, row: i + 2, months: months, lastMonday: lastMonday, roster: &lines[i], sign: sign}
			// Between two patients with a fault there are others without.
			every := max(yearPatients/(len(faults)+1), 1)
			if !after {
				lines[i] = ",,,5,"
			}
			if n := i / every; i%every == 0 && n < len(faults) && faults[n].after == after {
				faults[n].plant(p)
				want = append(want, p.expected(faults[n].want)...)
			}
		}
	}
	plant(false)
	list, err := seal.Make(unit)
	must(t, err)
	must(t, os.WriteFile(opts.Seals[0], list, 0o600))
	sign(opts.Seals[0], ofUnit)
	plant(true)
	text := "identifier_system,identifier_value,from,to,sessions_per_week,leave\n"
	for i, line := range lines {
		if line != "" {
			text += fmt.Sprintf("%s,N-%03d%s\n", system, i+1, line)
		}
	}
	must(t, os.WriteFile(opts.Roster, []byte(text), 0o600))

	r, err := audit.Run(t.Context(), []string{unit}, opts)
	must(t, err)
	for _, format := range audit.Formats {
		var out bytes.Buffer
		must(t, r.Print(&out, format, false))
		must(t, os.WriteFile(filepath.Join(yearDir, "report."+format), out.Bytes(), 0o600))
	}
	got := found(r, unit)
	for i, text := range got {
		if text = strings.ReplaceAll(strings.ReplaceAll(text, unit+"/", ""), yearDir+"/", ""); strings.HasPrefix(text, "valid ") {
			words := strings.Fields(text)
			text = words[0] + " " + words[2]
		}
		got[i] = text
	}
	slices.Sort(got)
	slices.Sort(want)
	if diff := cmp.Diff(slices.Compact(want), slices.Compact(got)); diff != "" {
		t.Error(diff)
	}
	t.Logf("%d faults in %d patients, %d sessions", len(faults), yearPatients, r.Patients[0].Done*len(r.Patients))
}

// expected are the findings of a fault with its places.
func (p planted) expected(want []string) (out []string) {
	for _, text := range want {
		words := strings.SplitN(text, " ", 3)
		place := words[len(words)-1]
		switch {
		case place == "ROW":
			place = fmt.Sprint("row ", p.row)
		case place == "FIRST":
			place = p.number + "/" + p.months[0]
		case place == "TWICE":
			place = fmt.Sprintf("%s/%s and %s/again", p.number, p.months[1], p.number)
		case place != "year.json":
			place = p.number + "/" + strings.Replace(place, "M1", p.months[1], 1)
		}
		out = append(out, strings.Join(append(words[:len(words)-1], place), " "))
	}
	return out
}
