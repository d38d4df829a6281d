package receive

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"filippo.io/age"
	"github.com/google/uuid"

	"runsheet.example/cmd/runsheet/internal/deliver"
	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/cmd/runsheet/internal/deliver/server"
	"runsheet.example/cmd/runsheet/internal/export"
	"runsheet.example/cmd/runsheet/internal/roster"
	"runsheet.example/fhirmap"
	"runsheet.example/testdata/oracle/servertest"
	packed "runsheet.example/testdata/unit"
)

const (
	month  = "../../../../testdata/month"
	system = "urn:oid:2.25.331383638406541845489215601853980652438"
)

var tool = fhirmap.Tool{Name: "runsheet", Version: "0.0.0"}

// unit is an inbox, a roster and a work folder.
type unit struct {
	t    *testing.T
	opts Options
}

func newUnit(t *testing.T, roster string) *unit {
	t.Helper()
	root := t.TempDir()
	u := &unit{t, Options{
		Inbox: filepath.Join(root, "inbox"), Work: filepath.Join(root, "work"), Roster: filepath.Join(root, "roster.csv"),
		Mapping: fhirmap.Options{Tool: tool}, Now: time.Date(2025, 12, 1, 9, 0, 0, 0, time.UTC),
	}}
	u.write("", "../roster.csv", roster)
	return u
}

// write writes a file of a folder in the inbox.
func (u *unit) write(folder, name, text string) {
	u.t.Helper()
	file := filepath.Join(u.opts.Inbox, folder, name)
	must(u.t, os.MkdirAll(filepath.Dir(file), 0o700))
	must(u.t, os.MkdirAll(u.opts.Inbox, 0o700))
	must(u.t, os.WriteFile(file, []byte(text), 0o600))
}

// files are the first sessions of the month as the log of another patient.
func files(t *testing.T, number string, sessions int, id string) map[string]string {
	t.Helper()
	out := map[string]string{}
	var keep []string
	read := func(name string) string {
		text, err := os.ReadFile(filepath.Join(month, name))
		must(t, err)
		return string(text)
	}
	for i, line := range strings.Split(read("sessions.csv"), "\n") {
		if i <= sessions {
			out["sessions.csv"] += line + "\n"
			name, _, _ := strings.Cut(line, ",")
			keep = append(keep, name)
		}
	}
	for _, name := range []string{"readings.csv", "medicines.csv"} {
		for _, line := range strings.Split(read(name), "\n") {
			if of, _, _ := strings.Cut(line, ","); slices.Contains(keep, of) {
				out[name] += line + "\n"
			}
		}
	}
	about := strings.Replace(read("log.toml"), "HHD-00042", number, 1)
	out["log.toml"] = strings.Replace(about, "0ee84880-ea27-4eaa-a5d9-a0c472f1caf2", uuid.NewSHA1(uuid.NameSpaceURL, []byte(id)).String(), 1)
	return out
}

// log puts a log into the inbox.
func (u *unit) log(folder string, files map[string]string) {
	u.t.Helper()
	for name, text := range files {
		u.write(folder, name, text)
	}
}

func (u *unit) run() Status {
	u.t.Helper()
	status, err := Run(context.Background(), u.opts)
	must(u.t, err)
	return status
}

func rosterOf(numbers ...string) string {
	out := "identifier_system,identifier_value,birth_date,call\n"
	for _, n := range numbers {
		out += system + "," + n + ",,the desk\n"
	}
	return out
}

// export writes files as a log and returns its export.
func exported(t *testing.T, of map[string]string) map[string]string {
	t.Helper()
	at := t.TempDir()
	for name, text := range of {
		must(t, os.WriteFile(filepath.Join(at, name), []byte(text), 0o600))
	}
	log, findings, err := export.Input{Path: at}.Read()
	must(t, err)
	to := filepath.Join(t.TempDir(), "export")
	_, _, err = export.Write(context.Background(), log, findings, export.Options{Mapping: fhirmap.Options{Tool: tool}, Form: export.Sessions, Out: to})
	must(t, err)
	out := map[string]string{}
	entries, err := os.ReadDir(to)
	must(t, err)
	for _, e := range entries {
		text, err := os.ReadFile(filepath.Join(to, e.Name()))
		must(t, err)
		out[e.Name()] = string(text)
	}
	return out
}

// Each kind of item is taken, and is the same record as an export of the log.
func TestKinds(t *testing.T) {
	rows := "identifier_system,identifier_value,map\n"
	for i := range 7 {
		rows += fmt.Sprintf("%s,N-%d,german.toml\n", system, i+1)
	}
	u := newUnit(t, rows)
	key, err := age.GenerateX25519Identity()
	must(t, err)
	u.opts.Identities = []age.Identity{key}
	u.log("deep/er/a log", files(t, "N-1", 2, "1"))
	u.write("", "b.zip", packed.Zip(t, files(t, "N-2", 2, "2")))
	var sealed bytes.Buffer
	w, err := age.Encrypt(&sealed, key.Recipient())
	must(t, err)
	_, err = w.Write([]byte(packed.Zip(t, files(t, "N-3", 2, "3"))))
	must(t, err)
	must(t, w.Close())
	u.write("", "c.zip.age", sealed.String())
	u.log("d", exported(t, files(t, "N-4", 2, "4")))
	u.write("", "e.zip", packed.Zip(t, exported(t, files(t, "N-5", 2, "5"))))
	sheet := map[string]string{}
	for _, name := range []string{"log.toml", "map.toml", "protokoll.csv"} {
		text, err := os.ReadFile(filepath.Join(month, "..", "sheets", "german", name))
		must(t, err)
		sheet[name] = strings.Replace(string(text), "HHD-10002", "N-6", 1)
	}
	u.log("f", sheet)
	u.write("", "../german.toml", sheet["map.toml"])
	delete(sheet, "map.toml") // the roster names it
	sheet["log.toml"] = strings.Replace(sheet["log.toml"], "N-6", "N-7", 1)
	sheet["log.toml"] = strings.Replace(sheet["log.toml"], "5b0a3f06", "5b0a3f07", 1)
	u.log("g", sheet)
	status := u.run()
	for i, row := range status.Rows {
		if row.Sessions < 2 || row.LeftOut != 0 || i < 5 && row.First != "2025-10-20" {
			t.Errorf("row %d: %+v", i, row)
		}
	}
	if len(status.Aside) > 0 {
		t.Error(status.Aside)
	}
	want := exported(t, files(t, "N-1", 2, "1"))
	for name, text := range want {
		got, err := os.ReadFile(filepath.Join(u.opts.Work, filepath.FromSlash(place(roster.Identifier{System: system, Value: "N-1"}, uuid.NewSHA1(uuid.NameSpaceURL, []byte("1")).String())), exportName, name))
		must(t, err)
		if string(got) != text {
			t.Errorf("%s has other bytes than the export of the log", name)
		}
	}
}

// Every mess is set aside, with its reason, once, and nothing of it is exported.
func TestMess(t *testing.T) {
	tests := []struct {
		name   string
		roster string
		make   func(u *unit)
		aside  map[string]string // reason by item
		taken  []string          // items
	}{
		{"nobody", rosterOf("N-1"), func(u *unit) { u.log("a", files(t, "N-2", 1, "a")) }, map[string]string{"a": "nobody on the roster has the number it gives"}, nil},
		{"two rows", rosterOf("N-1", "N-2", "N-1"), func(u *unit) { u.log("a", files(t, "N-1", 1, "a")) }, map[string]string{"a": "rows 2 and 4 of the roster have the number it gives"}, nil},
		{"birth date", strings.Replace(rosterOf("N-1"), "N-1,,", "N-1,1966-03-08,", 1), func(u *unit) { u.log("a", files(t, "N-1", 1, "a")) }, map[string]string{"a": "its birth date is not the one in row 2 of the roster, which has the number it gives"}, nil},
		{"two patients in a zip", rosterOf("N-1", "N-2"), func(u *unit) {
			all := map[string]string{}
			for name, text := range files(u.t, "N-1", 1, "a") {
				all["one/"+name] = text
			}
			for name, text := range files(u.t, "N-2", 1, "b") {
				all["two/"+name] = text
			}
			u.write("", "a.zip", packed.Zip(u.t, all))
		}, map[string]string{"a.zip/one": "a.zip holds logs of 2 patients: look whose it is and take it apart", "a.zip/two": "a.zip holds logs of 2 patients: look whose it is and take it apart"}, nil},
		{"two patients in a zip, one of whom has sent the same log", rosterOf("N-1", "N-2"), func(u *unit) {
			all := map[string]string{}
			for name, text := range files(u.t, "N-1", 1, "a") {
				all["one/"+name] = text
				u.write("b", name, text)
			}
			for name, text := range files(u.t, "N-2", 1, "b") {
				all["two/"+name] = text
			}
			u.write("", "a.zip", packed.Zip(u.t, all))
		}, map[string]string{"a.zip/one": "a.zip holds logs of 2 patients", "a.zip/two": "a.zip holds logs of 2 patients"}, []string{"b"}},
		{"two patients in a zip, one of whom is not on the roster", rosterOf("N-1"), func(u *unit) {
			all := map[string]string{}
			for i, number := range []string{"N-1", "N-2"} {
				for name, text := range files(u.t, number, 1, number) {
					all[fmt.Sprint(i, "/", name)] = text
				}
			}
			u.write("", "a.zip", packed.Zip(u.t, all))
		}, map[string]string{"a.zip/0": "a.zip holds logs of 2 patients", "a.zip/1": "a.zip holds logs of 2 patients"}, nil},
		{"two patients in an export", rosterOf("N-1", "N-2"), func(u *unit) {
			one := exported(u.t, files(u.t, "N-1", 2, "a"))
			two := exported(u.t, files(u.t, "N-2", 2, "a"))
			for name := range one {
				if strings.HasPrefix(name, "session") {
					one[name] = two[name] // the digest is another too
					break
				}
			}
			u.log("a", one)
		}, map[string]string{"a": "was changed since it was exported: export again"}, nil},
		{"older version", rosterOf("N-1"), func(u *unit) {
			u.log("old", files(u.t, "N-1", 1, "a"))
			u.log("new", files(u.t, "N-1", 2, "a"))
		}, map[string]string{"old": "it is older than new, which was taken"}, []string{"new"}},
		{"neither is newer", rosterOf("N-1"), func(u *unit) {
			u.log("a", files(u.t, "N-1", 1, "a"))
			other := files(u.t, "N-1", 1, "a")
			other["log.toml"] += "# another\n"
			u.log("b", other)
		}, map[string]string{"a": "it is one of 2 different versions of a log", "b": "it is one of 2 different versions of a log"}, nil},
		{"copied log", rosterOf("N-1", "N-2"), func(u *unit) {
			u.log("a", files(u.t, "N-1", 1, "a"))
			u.run()
			u.log("b", files(u.t, "N-2", 1, "a"))
		}, map[string]string{"b": "the log's id is also that of another patient's log"}, []string{"a"}},
		{"second log of the same days", rosterOf("N-1"), func(u *unit) {
			u.log("a", files(u.t, "N-1", 1, "a"))
			u.run()
			u.log("b", files(u.t, "N-1", 1, "b"))
		}, map[string]string{"b": "it has a session on 2025-10-20, and so has another log of the same patient, a"}, []string{"a"}},
		{"not a log", rosterOf("N-1"), func(u *unit) {
			u.write("", "photo.jpg", "x")
			u.write("", ".hidden", "x")
			u.write("", "a.zip", "PK")
			u.write("", "b.zip.age", "age-encryption.org/v1")
			u.write("", "c.zip", packed.Zip(u.t, map[string]string{"../x": "y"}))
			u.write("", "d.zip", packed.Zip(u.t, map[string]string{"inner.zip": "PK"}))
			u.write("", "e.zip", packed.Zip(u.t, nil))
		}, map[string]string{
			"photo.jpg": "neither a log", "a.zip": "the zip file is damaged", "b.zip.age": "it is encrypted: give the unit's private key with --identity",
			"c.zip": "a name in the zip file leads out of it", "d.zip/inner.zip": "it is an archive in an archive", "e.zip": "there is neither a log nor an export in it",
		}, nil},
		{"for oneself", rosterOf("N-1"), func(u *unit) {
			of := files(u.t, "N-1", 1, "a")
			of["log.toml"] = strings.Replace(of["log.toml"], "identifier_value", "# identifier_value", 1)
			u.log("a", of)
		}, map[string]string{"a": "it does not say whose it is"}, nil},
		{"no session is free of mistakes", rosterOf("N-1"), func(u *unit) {
			of := files(u.t, "N-1", 1, "a")
			of["sessions.csv"] = strings.Replace(of["sessions.csv"], "18:35", "18.99", 1)
			u.log("a", of)
		}, map[string]string{"a": "no session is free of mistakes"}, nil},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			u := newUnit(t, test.roster)
			test.make(u)
			for range 2 { // the second run says the same
				status := u.run()
				got := map[string]string{}
				for _, a := range status.Aside {
					if _, twice := got[a.Item]; twice {
						t.Errorf("%s is listed twice", a.Item)
					}
					got[a.Item] = a.Reason
				}
				for item, reason := range test.aside {
					if !strings.Contains(got[item], reason) {
						t.Errorf("%s: %q, expected %q", item, got[item], reason)
					}
				}
				if len(got) != len(test.aside) || status.Complete() {
					t.Errorf("set aside: %v", got)
				}
				var taken []string
				for _, row := range status.Rows {
					if row.Item != "" {
						taken = append(taken, row.Item)
					}
				}
				if !slices.Equal(taken, test.taken) {
					t.Errorf("taken: %v", taken)
				}
			}
		})
	}
}

// An older version that comes after the newer one has left the inbox is known,
// and so are bytes that come again under another name.
func TestMemory(t *testing.T) {
	u := newUnit(t, rosterOf("N-1"))
	u.log("new", files(t, "N-1", 2, "a"))
	u.run()
	must(t, os.Rename(filepath.Join(u.opts.Inbox, "new"), filepath.Join(u.opts.Inbox, "again")))
	u.log("old", files(t, "N-1", 1, "a"))
	status := u.run()
	if len(status.Same) != 1 || status.Same[0] != (Same{"again", "new"}) {
		t.Error(status.Same)
	}
	if len(status.Aside) != 1 || status.Aside[0].Reason != "it is older than new, which was taken: it ends on 2025-10-20, the other on 2025-10-21; if it corrects that one, ask for it again after the next treatment" {
		t.Error(status.Aside)
	}
	if status.Rows[0].Sessions != 2 {
		t.Errorf("%+v", status.Rows[0])
	}
}

// A correction that ends at the same moment is the newer version if it came
// later, also after all is read again by another version of the program.
func TestCorrectionComesLater(t *testing.T) {
	u := newUnit(t, rosterOf("N-1"))
	u.log("a", files(t, "N-1", 2, "a"))
	u.run()
	corrected := files(t, "N-1", 2, "a")
	corrected["sessions.csv"] = strings.Replace(corrected["sessions.csv"], "70.", "71.", 1)
	u.log("b", corrected)
	for range 2 {
		if status := u.run(); status.Rows[0].Item != "b" || !strings.HasSuffix(status.Rows[0].Since, " changed") || len(status.Aside) > 0 {
			t.Errorf("%+v", status)
		}
	}
	u.opts.Mapping.Tool.Version = "0.0.1"
	if status := u.run(); status.Rows[0].Item != "b" || len(status.Aside) > 0 {
		t.Errorf("%+v", status)
	}
}

// A date that is later than the day the log came is a mistake: the log with the
// right one is the newer version, also once that day has come.
func TestLateDateCorrected(t *testing.T) {
	u := newUnit(t, rosterOf("N-1"))
	wrong := files(t, "N-1", 2, "a")
	wrong["sessions.csv"] = strings.Replace(wrong["sessions.csv"], "a,2025-10-21", "a,2025-12-21", 1)
	u.log("a", wrong)
	u.run()
	u.log("b", files(t, "N-1", 2, "a"))
	for range 2 {
		if status := u.run(); status.Rows[0].Item != "b" || status.Rows[0].Last != "2025-10-21" || len(status.Aside) > 0 {
			t.Errorf("%+v", status)
		}
		u.opts.Now, u.opts.Mapping.Tool.Version = u.opts.Now.AddDate(0, 1, 0), "0.0.1"
	}
}

// A correction of which no session can be taken is listed until it is mended, and
// what was taken stays when another version of the program reads all again, also
// if the last version has left the inbox.
func TestReadAgain(t *testing.T) {
	u := newUnit(t, rosterOf("N-1"))
	u.log("a", files(t, "N-1", 1, "a"))
	u.run()
	second := files(t, "N-1", 1, "a")
	second["log.toml"] += "# second\n"
	u.log("b", second)
	u.run()
	third := files(t, "N-1", 1, "a")
	third["sessions.csv"] = strings.Replace(third["sessions.csv"], "18:35", "18.99", 1)
	u.log("c", third)
	for i := range 3 {
		status := u.run()
		if len(status.Aside) != 1 || status.Aside[0].Item != "c" || !strings.Contains(status.Aside[0].Reason, "no session is free of mistakes") || status.Rows[0].Item != "b" {
			t.Errorf("run %d: %+v", i, status)
		}
		if u.opts.Mapping.Tool.Version = fmt.Sprint("0.0.", i+1); i == 1 {
			must(t, os.RemoveAll(filepath.Join(u.opts.Inbox, "b")))
		}
	}
}

// Of somebody whose log came and was set aside nobody says that nothing came.
func TestSetAsideIsNotNothing(t *testing.T) {
	u := newUnit(t, rosterOf("N-1", "N-2", "N-3"))
	of := files(t, "N-1", 1, "a")
	of["sessions.csv"] = strings.Replace(of["sessions.csv"], "18:35", "18.99", 1)
	u.log("a", of)
	u.log("b", files(t, "N-2", 1, "b"))
	other := files(t, "N-2", 1, "b")
	other["log.toml"] += "# another\n"
	u.log("c", other)
	for range 2 {
		status := u.run()
		for i, want := range []string{"a", "b, c", ""} {
			if row := status.Rows[i]; row.Held != want || strings.Contains(row.Say, "have not received") != (want == "") || !row.NeedsSomebody() {
				t.Errorf("%+v", row)
			}
		}
		if want := "Received from 2 patients; nothing from 1; 3 files or folders set aside."; status.Summary() != want {
			t.Error(status.Summary())
		}
	}
}

// What patients sent is as it was.
func TestInboxStays(t *testing.T) {
	u := newUnit(t, rosterOf("N-1"))
	u.log("a", files(t, "N-1", 2, "a"))
	u.write("", "b.zip", packed.Zip(t, files(t, "N-1", 2, "b")))
	before, err := newItem("", u.opts.Inbox, logKind)
	must(t, err)
	u.run()
	after, err := newItem("", u.opts.Inbox, logKind)
	must(t, err)
	if before.sha256 != after.sha256 {
		t.Error("a file in the inbox was changed")
	}
	u.opts.Work = filepath.Join(u.opts.Inbox, "work")
	if _, err := Run(context.Background(), u.opts); err == nil {
		t.Error("a work folder in the inbox is taken")
	}
}

func TestRoster(t *testing.T) {
	for text, want := range map[string]string{
		"":                         "empty",
		"identifier_system,name\n": `row 1, column 2: the heading "name"`,
		rosterOf(""):               "row 2, column 2: identifier_value is missing",
		"identifier_system,identifier_value,patient\ns,1,p1\n":                                           "row 2, column 3: \"p1\": expected Patient/ID",
		"identifier_system,identifier_value,patient\ns,1,Patient/a\ns,2,Patient/a\n":                     "row 3, column 3: row 2 has another number for the same patient",
		"identifier_system;identifier_value;hospital_system\ns;1;x\n":                                    "hospital_system and hospital_value go together",
		"identifier_system,identifier_value,birth_date\ns,1,23/4/1962\n":                                 "expected a day such as 1962-04-23",
		"identifier_system,identifier_value,patient,hospital_system,hospital_value\ns,1,Patient/a,h,2\n": "not both",
	} {
		u := newUnit(t, text)
		must(t, os.MkdirAll(u.opts.Inbox, 0o700))
		if _, err := Run(context.Background(), u.opts); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, expected %q", text, err, want)
		}
	}
}

// patient is a patient at the server by its id and numbers.
func patient(id string, numbers ...string) map[string]any {
	var all []any
	for i := 0; i < len(numbers); i += 2 {
		all = append(all, map[string]any{"system": numbers[i], "value": numbers[i+1]})
	}
	return map[string]any{"resourceType": "Patient", "id": id, "identifier": all}
}

func (u *unit) to(s *servertest.Server) {
	target, err := server.ParseTarget(s.Base)
	must(u.t, err)
	u.opts.Server = &Server{Target: target.String(), Send: true, Sender: func(ctx context.Context, r *receipt.Receipt, patient string) (*deliver.Sender, error) {
		return deliver.NewSender(ctx, server.NewClient(target, server.Options{}), r, deliver.Options{Patient: patient})
	}}
}

// counts are the resources at the server by the patient they are filed under.
func counts(t *testing.T, s *servertest.Server) map[string]int {
	t.Helper()
	out := map[string]int{}
	for _, text := range s.State(t).Resources {
		var r struct{ Subject struct{ Reference string } }
		must(t, json.Unmarshal(text, &r))
		out[r.Subject.Reference]++
	}
	return out
}

// Records of several patients reach the server once, each under its own patient,
// also where the roster knows the patient by the hospital's number only; corrected
// logs amend them; one patient that fails stops no other.
func TestSendAll(t *testing.T) {
	s := servertest.Start(t)
	const hospital = "https://hospital.example/numbers"
	s.Reset(t, nil, patient("a", system, "N-1"), patient("b", hospital, "77"), patient("c", system, "N-3"), patient("d", hospital, "88"), patient("e", hospital, "88"))
	u := newUnit(t, "identifier_system,identifier_value,patient,hospital_system,hospital_value\n"+
		system+",N-1,,,\n"+system+",N-2,,"+hospital+",77\n"+system+",N-3,Patient/c,,\n"+system+",N-4,,"+hospital+",88\n"+system+",N-5,,,\n")
	for i := range 5 {
		u.log(fmt.Sprint("log", i+1), files(t, fmt.Sprint("N-", i+1), 2, fmt.Sprint(i)))
	}
	u.to(s)
	first := u.run()
	for i, want := range []string{"created", "created", "created", "", "the server has no patient with the log's identifier"} {
		if row := first.Rows[i]; !strings.Contains(row.Server, want) || row.Failed != (i > 2) {
			t.Errorf("%s: %q", row.Number, row.Server)
		}
	}
	before := counts(t, s)
	if before["Patient/a"] == 0 || before["Patient/a"] != before["Patient/b"] || before["Patient/a"] != before["Patient/c"] || before["Patient/d"]+before["Patient/e"] > 0 {
		t.Error(before)
	}
	second := u.run()
	if after := counts(t, s); fmt.Sprint(after) != fmt.Sprint(before) || second.Rows[0].Server != "has all of it" {
		t.Errorf("%v, then %v; %q", before, after, second.Rows[0].Server)
	}
	corrected := files(t, "N-2", 2, "1")
	corrected["sessions.csv"] = strings.Replace(corrected["sessions.csv"], "70.", "71.", 1)
	u.log("log2 again", corrected)
	third := u.run()
	if row := third.Rows[1]; row.Item != "log2 again" || !strings.Contains(row.Server, "corrected") || row.Failed {
		t.Errorf("%+v", row)
	}
	if fourth := u.run(); fourth.Rows[1].Server != "has all of it" {
		t.Errorf("%+v", fourth.Rows[1])
	}
}

// The status page has no finding of axe-core, does not scroll sideways and asks
// nobody for anything; no form of the status lets a file name do harm.
func TestPage(t *testing.T) {
	dir := t.TempDir()
	status := Status{Day: "2025-12-01", Aside: []Aside{{"=cmd()", "<b>no</b>"}}, Same: []Same{{"a", "b"}}, Rows: []Row{
		{Number: "N-1", Hospital: "Patient/1", Item: "<script>alert(1)</script>", Received: "2025-12-01", First: "2025-11-01", Last: "2025-11-30", Sessions: 20, LeftOut: 1, Errors: 2, Reply: "people/a/b/reply.xlsx", Call: "the desk", Say: "1 session.", Server: "has all of it"},
		{Number: "N-2", Say: "We have not received your treatment log."},
	}}
	must(t, status.write(dir))
	page, err := os.ReadFile(filepath.Join(dir, "status.html"))
	must(t, err)
	if bytes.Contains(page, []byte("<script")) || bytes.Contains(page, []byte("<b>no")) {
		t.Error("a name stands in the page as HTML")
	}
	table, err := os.ReadFile(filepath.Join(dir, "status.csv"))
	must(t, err)
	if !bytes.Contains(table, []byte(",'=cmd(),")) {
		t.Errorf("a spreadsheet takes a name for a formula: %s", table)
	}
	out, err := exec.Command("node", "../../../../testdata/oracle/page.mjs", filepath.Join(dir, "status.html"), filepath.Join(dir, "printed.pdf")).Output()
	must(t, err)
	var seen struct {
		Violations, Requests, Errors []string
		Sideways                     map[string]int
	}
	must(t, json.Unmarshal(out, &seen))
	if len(seen.Violations)+len(seen.Requests)+len(seen.Errors) > 0 || seen.Sideways["320"] > 0 || len(seen.Sideways) != 3 {
		t.Errorf("%s", out)
	}
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
