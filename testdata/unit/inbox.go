package unit

import (
	"archive/zip"
	"bytes"
	"fmt"
	"maps"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"filippo.io/age"
)

// Unit is what the unit has.
type Unit struct {
	Inbox, Roster, Key string
	People             []Person
	// Aside is a part of the reason why an item is set aside, by the item, and
	// Same the item whose bytes an item has.
	Aside, Same map[string]string

	t         testing.TB
	program   string
	recipient age.Recipient
}

// New writes the inbox, the roster and the key into a folder. The exports that
// some people send are made by the program.
func New(t testing.TB, root, program string) *Unit {
	t.Helper()
	u := &Unit{
		Inbox: filepath.Join(root, "inbox"), Roster: filepath.Join(root, "roster.csv"), Key: filepath.Join(root, "key.txt"),
		Aside: map[string]string{}, Same: map[string]string{}, t: t, program: program,
	}
	key, err := age.GenerateX25519Identity()
	must(t, err)
	u.recipient = key.Recipient()
	u.write("../key.txt", key.String()+"\n")
	for i := range people {
		p := newPerson(i)
		p.Item = u.pack(p, 1, fmt.Sprintf("%02d/november", i))
		p.count()
		u.People = append(u.People, p)
	}
	u.messes()
	u.roster()
	return u
}

// count counts the treatments of the version that arrived last.
func (p *Person) count() {
	version := 1
	if p.Corrected != "" {
		version = 2
	}
	p.LeftOut = 0
	if p.mistake > 0 && version == 1 {
		p.LeftOut = 1
	}
	p.Sessions = len(p.nights(version)) - p.LeftOut
}

func (u *Unit) write(name, text string) {
	u.t.Helper()
	file := filepath.Join(u.Inbox, filepath.FromSlash(name))
	must(u.t, os.MkdirAll(filepath.Dir(file), 0o700))
	must(u.t, os.WriteFile(file, []byte(text), 0o600))
}

func (u *Unit) writeAll(folder string, files map[string]string) {
	u.t.Helper()
	for name, text := range files {
		u.write(path.Join(folder, name), text)
	}
}

// pack writes what a person sends, and returns the item's path.
func (u *Unit) pack(p Person, version int, name string) string {
	u.t.Helper()
	switch p.form {
	case "german", "american", "wide", "rows", "unit":
		files := p.foreign(u.t, version)
		if p.form == "german" { // the roster names the map
			u.write("../german.toml", files["map.toml"])
			delete(files, "map.toml")
		}
		u.writeAll(name, files)
		return name
	case "workbook":
		u.write(name+".xlsx", u.made(p, version, ".xlsx", "check", "--annotate")["."])
		return name + ".xlsx"
	case "workbook age":
		u.write(name+".xlsx.age", u.sealed(u.made(p, version, ".xlsx", "check", "--annotate")["."]))
		return name + ".xlsx.age"
	case "zip":
		u.write(name+".zip", Zip(u.t, below("my log/", p.folder(version))))
		return name + ".zip/my log"
	case "age":
		u.write(name+".zip.age", u.sealed(Zip(u.t, p.folder(version))))
		return name + ".zip.age"
	case "export":
		u.writeAll(name, u.exported(p, version))
		return name
	case "export zip":
		u.write(name+".zip", Zip(u.t, u.exported(p, version)))
		return name + ".zip"
	case "export age":
		u.write(name+".zip.age", u.sealed(Zip(u.t, u.exported(p, version))))
		return name + ".zip.age"
	case "response":
		u.write(name+".json", p.response(u.t, version))
		return name + ".json"
	default:
		u.writeAll(name, p.folder(version))
		return name
	}
}

func below(folder string, files map[string]string) map[string]string {
	out := map[string]string{}
	for name, text := range files {
		out[folder+name] = text
	}
	return out
}

func (u *Unit) exported(p Person, version int) map[string]string {
	return u.made(p, version, "", "export", "-o")
}

// made is what the program makes of a log, by file name; that of a single file
// is a point.
func (u *Unit) made(p Person, version int, ending, command, out string) map[string]string {
	u.t.Helper()
	from, to := u.t.TempDir(), filepath.Join(u.t.TempDir(), "made"+ending)
	for name, text := range p.folder(version) {
		must(u.t, os.WriteFile(filepath.Join(from, name), []byte(text), 0o600))
	}
	if said, err := exec.Command(u.program, command, from, out, to).CombinedOutput(); err != nil {
		u.t.Fatalf("%s of %s: %v\n%s", command, p.Number, err, said)
	}
	files := map[string]string{}
	must(u.t, filepath.WalkDir(to, func(file string, e os.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		text, err := os.ReadFile(file)
		name, _ := filepath.Rel(to, file)
		files[name] = string(text)
		return err
	}))
	return files
}

// Zip packs files.
func Zip(t testing.TB, files map[string]string) string {
	t.Helper()
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, name := range slices.Sorted(maps.Keys(files)) {
		f, err := w.Create(name)
		must(t, err)
		_, err = f.Write([]byte(files[name]))
		must(t, err)
	}
	must(t, w.Close())
	return out.String()
}

func (u *Unit) sealed(text string) string {
	u.t.Helper()
	var out bytes.Buffer
	w, err := age.Encrypt(&out, u.recipient)
	must(u.t, err)
	_, err = w.Write([]byte(text))
	must(u.t, err)
	must(u.t, w.Close())
	return out.String()
}

// other is a person beside the forty who sends a folder.
func other(number string) Person {
	p := newPerson(38)
	p.Number, p.logID = number, logID(number)
	return p
}

// messes writes three of each mess but the mistakes, which three people have in
// their logs. What comes late is written by [Unit.Correct].
func (u *Unit) messes() {
	for i := range 3 {
		stranger := fmt.Sprint("mess/stranger ", i)
		u.writeAll(stranger, other(fmt.Sprint("NOBODY-", i)).folder(1))
		u.Aside[stranger] = "nobody on the roster"
		double := fmt.Sprintf("mess/double %d.zip", i)
		u.write(double, Zip(u.t, other(fmt.Sprint("DOUBLE-", i)).folder(1)))
		u.Aside[double] = "of the roster have the number"
		same := u.People[30+i]
		again := fmt.Sprint("mess/same ", i)
		u.writeAll(again, same.folder(1))
		u.Same[again] = same.Item
	}
	// Two people in one file: two of whom nothing else comes; one whose log also
	// comes by itself, with the same bytes; and two exports.
	u.mixed("mess/mixed 0.zip", other("MIXED-0").folder(1), other("MIXED-1").folder(1))
	u.mixed("mess/mixed 1.zip", u.People[33].folder(1), other("MIXED-0").folder(1))
	u.mixed("mess/mixed 2.zip", u.exported(other("MIXED-0"), 1), u.exported(other("MIXED-1"), 1))
	// Of two logs with one id that arrive together nobody knows whose it is.
	for _, number := range []string{"COPY-0", "COPY-1"} {
		p := other(number)
		p.logID = logID("copied")
		u.writeAll("mess/"+number, p.folder(1))
		u.Aside["mess/"+number] = "also that of another patient's log"
	}
	u.older(0)
}

func (u *Unit) mixed(name string, one, two map[string]string) {
	files := below("a/", one)
	maps.Copy(files, below("b/", two))
	u.write(name, Zip(u.t, files))
	u.Aside[name+"/a"], u.Aside[name+"/b"] = "holds logs of 2 patients", "holds logs of 2 patients"
}

// older writes a version of a log that ends earlier than the one that was sent.
func (u *Unit) older(i int) {
	p := u.People[26+i]
	p.weeks--
	name := fmt.Sprint("mess/older ", i)
	u.writeAll(name, p.folder(1))
	u.Aside[name] = "it is older than"
}

// roster writes the roster.
func (u *Unit) roster() {
	out := "identifier_system,identifier_value,patient,hospital_system,hospital_value,birth_date,map,call\n"
	for _, p := range u.People {
		system, columnMap := "", ""
		if p.Hospital != "" {
			system = HospitalSystem
		}
		if p.form == "german" {
			columnMap = "german.toml"
		}
		out += strings.Join([]string{System, p.Number, p.Reference, system, p.Hospital, p.birth, columnMap, "the home team"}, ",") + "\n"
	}
	for _, number := range []string{"DOUBLE-0", "DOUBLE-1", "DOUBLE-2", "DOUBLE-0", "DOUBLE-1", "DOUBLE-2", "MIXED-0", "MIXED-1", "COPY-0", "COPY-1", "COPY-2", "COPY-3"} {
		out += System + "," + number + ",,,,,,the home team\n"
	}
	u.write("../roster.csv", out)
}

// corrected are those who send again: two foreign sheets, and one of each other
// form; three mend their mistakes.
var corrected = []int{0, 4, 7, 12, 14, 18, 22, 35, 36, 37}

// Correct writes ten corrected logs, and what comes late: two older versions, and
// two logs that were made from copies of another patient's.
func (u *Unit) Correct() {
	u.t.Helper()
	for _, i := range corrected {
		p := &u.People[i]
		p.Corrected = u.pack(*p, 2, fmt.Sprintf("%02d/november again", i))
		p.count()
	}
	u.older(1)
	u.older(2)
	for i := range 2 {
		p := other(fmt.Sprint("COPY-", 2+i))
		p.logID = u.People[28+i].logID
		u.writeAll("mess/"+p.Number, p.folder(1))
		u.Aside["mess/"+p.Number] = "also that of another patient's log"
	}
}
