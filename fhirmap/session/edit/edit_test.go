package edit

import (
	"bytes"
	"errors"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"runsheet.example/fhirmap/session"
)

const about = "[log]\r\nformat = 1\r\nid = \"0b0f6d3e-9f0f-4c0a-9d3c-111111111111\" # never changes\r\ntime_zone = \"Europe/London\"\r\n\r\n[patient]\r\nsex = \"\"\r\n\r\n# [[prescription]]\r\n# weekdays = [\"mon\"]"

// inMemory is a folder whose files need no disk, "" where there is none: many
// saves would wait for it.
var inMemory = func() string {
	if info, err := os.Stat("/dev/shm"); err == nil && info.IsDir() {
		return "/dev/shm"
	}
	return ""
}()

// folder writes a log of these files.
func folder(t testing.TB, files map[string]string) string {
	dir := t.TempDir()
	for name, text := range files {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

func open(t testing.TB, dir string) *Log {
	t.Helper()
	l, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func read(t testing.TB, dir, name string) string {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(dir, name))
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

func TestOneChangeChangesItsBytesAlone(t *testing.T) {
	utf16 := func(text string) string {
		raw := "\xFF\xFE"
		for _, r := range text {
			raw += string([]byte{byte(r), byte(r >> 8)})
		}
		return raw
	}
	for name, test := range map[string]struct {
		file   string
		row    int
		column string
		text   string
		want   string
	}{
		"plain":             {"session,date\r\na,2025-11-03\r\n", 2, "date", "2025-11-04", "session,date\r\na,2025-11-04\r\n"},
		"other quoting":     {"\"session\";date\n'a';\"x\"\n\"b\"; y \n", 2, "session", "c", "\"session\";date\nc;\"x\"\n\"b\"; y \n"},
		"kept quotes":       {"session,date\n\"a\",b\n", 2, "session", "c", "session,date\n\"c\",b\n"},
		"needs quotes":      {"session;notes\na;b\n", 2, "notes", "x;\"y\"\r\nz", "session;notes\na;\"x;\"\"y\"\"\nz\"\n"},
		"no line end":       {"session,date\na,b", 2, "date", "c", "session,date\na,c"},
		"short row":         {"session,date,notes\na\r\nb\n", 2, "notes", "x", "session,date,notes\na,,x\r\nb\n"},
		"empty rows":        {"session,date\n\n\na,b\n\nc,d\n", 6, "date", "x", "session,date\n\n\na,b\n\nc,x\n"},
		"line in cell":      {"session,notes\na,\"1\n2\"\nb,c\n", 3, "notes", "x", "session,notes\na,\"1\n2\"\nb,x\n"},
		"sep line":          {"sep=;\r\nsession;date\r\na;b\r\n", 3, "date", "c", "sep=;\r\nsession;date\r\na;c\r\n"},
		"mark":              {"\xEF\xBB\xBFsession,date\na,b\n", 2, "session", "é", "\xEF\xBB\xBFsession,date\né,b\n"},
		"windows-1252":      {"session,notes\n\xE9,b\n", 2, "notes", "ü", "session,notes\n\xE9,\xFC\n"},
		"beyond that":       {"session,notes\n\xE9,b\n", 2, "notes", "→", "\xEF\xBB\xBFsession,notes\né,→\n"},
		"misread otherwise": {"session,notes\n\xE9,b\n", 2, "session", "Ã©", "\xEF\xBB\xBFsession,notes\nÃ©,b\n"},
		"utf-16":            {utf16("session\tnotes\r\na\tb\r\n"), 2, "notes", "→", utf16("session\tnotes\r\na\t→\r\n")},
		"carriage returns":  {"session,notes\ra,b\rc,d\r", 3, "notes", "x", "session,notes\ra,b\rc,x\r"},
		"new column":        {"session,date\na,b\nc,d\n", 3, "notes", "x", "session,date,notes\na,b\nc,d,x\n"},
		"other heading":     {"Session , DATE\na,b\n", 2, "date", "x", "Session , DATE\na,x\n"},
		"own column":        {"session,my own\na,b\n", 2, "my own", "x", "session,my own\na,x\n"},
		"in lb":             {"session,weight_before_lb\na,150\n", 2, "weight_before_kg", "70", "session,weight_before_lb,weight_before_kg\na,150,70\n"},
		"formula":           {"session,notes\na,b\n", 2, "notes", "=1+1", "session,notes\na,=1+1\n"},
		"HTML":              {"session,notes\na,b\n", 2, "notes", "<b>&\x01\x1B", "session,notes\na,<b>&\x01\x1B\n"},
		"emptied":           {"session,notes\na,b\n", 2, "notes", "", "session,notes\na,\n"},
		"stray cells":       {"session\na,,\n", 2, "notes", "x", "session,notes\na,x,\n"},
	} {
		dir := folder(t, map[string]string{"Sessions.csv": test.file, "log.toml": about, "readings.csv": "session,time\n"})
		l := open(t, dir)
		if err := errors.Join(l.Set(session.SheetSessions, test.row, test.column, test.text), l.Save(l.Digest())); err != nil {
			t.Errorf("%s: %v", name, err)
		} else if got := read(t, dir, "Sessions.csv"); got != test.want {
			t.Errorf("%s:\n got %q\nwant %q", name, got, test.want)
		}
		if want := strings.ReplaceAll(test.text, "\r\n", "\n"); open(t, dir).Cell(session.SheetSessions, test.row, test.column) != want {
			t.Errorf("%s: read again as %q", name, open(t, dir).Cell(session.SheetSessions, test.row, test.column))
		}
		if read(t, dir, "log.toml") != about || read(t, dir, "readings.csv") != "session,time\n" {
			t.Errorf("%s: another file changed", name)
		}
		if err := l.Undo(); err != nil || read(t, dir, "Sessions.csv") != test.file {
			t.Errorf("%s: undone to %q, %v", name, read(t, dir, "Sessions.csv"), err)
		}
	}
}

func TestRefusedChanges(t *testing.T) {
	for name, test := range map[string]struct {
		file         string
		row          int
		column, text string
		want         string
	}{
		"no such row":      {"session,date\na,b\n", 3, "date", "x", "Sessions.csv: there is no row 3"},
		"headings":         {"session,date\na,b\n", 1, "date", "x", "Sessions.csv: there is no row 1"},
		"no such column":   {"session,date\na,b\n", 2, "dates", "x", `Sessions.csv: the sheet sessions has no column "dates"`},
		"zero byte":        {"session,date\na,b\n", 2, "date", "\x00", "the text holds a zero byte"},
		"not UTF-8":        {"session,date\na,b\n", 2, "date", "\xFF", "the text is not UTF-8"},
		"too long":         {"session,date\na,b\n", 2, "date", strings.Repeat("x", 1<<15), "the text is longer than a cell"},
		"quotation marks":  {"session,date\na\"b,c\nd,e\n", 2, "date", "x", "Sessions.csv: the quotation marks in row 2 do not pair"},
		"no headings":      {"", 2, "date", "x", "Sessions.csv: there is no row 2"},
		"shifted cells":    {"session\na,b\nc\n", 3, "notes", "x", "Sessions.csv: row 2 has more cells than there are headings"},
		"a workbook":       {"PK\x03\x04", 2, "date", "x", "Sessions.csv: the file is a workbook"},
		"broken UTF-16":    {"\xFF\xFEs\x00\x00\xD8,\x00", 2, "date", "x", "Sessions.csv: some letters of the file cannot be read"},
		"broken with mark": {"\xEF\xBB\xBFsession\na\xFF\n", 2, "session", "x", "Sessions.csv: some letters of the file cannot be read"},
	} {
		dir := folder(t, map[string]string{"Sessions.csv": test.file})
		l := open(t, dir)
		if err := l.Set(session.SheetSessions, test.row, test.column, test.text); err == nil || !strings.HasPrefix(err.Error(), test.want) {
			t.Errorf("%s: %v", name, err)
		}
		if err := l.Save(""); err != nil || read(t, dir, "Sessions.csv") != test.file {
			t.Errorf("%s: %v, the file changed to %q", name, err, read(t, dir, "Sessions.csv"))
		}
	}
}

func TestRowsAreAddedAndRemoved(t *testing.T) {
	dir := folder(t, map[string]string{"sessions.csv": "session;date;mine\na;\"x\ny\";\n\nb;z;1", "log.toml": about})
	l := open(t, dir)
	add := func(want int, sheet session.Sheet, texts map[string]string) {
		t.Helper()
		if got, err := l.AddRow(sheet, texts); err != nil || got != want {
			t.Fatalf("row %d, %v", got, err)
		}
	}
	add(5, session.SheetSessions, map[string]string{"date": "2025-11-03", "notes": "x;y"})
	add(2, session.SheetReadings, map[string]string{"session": "a", "time": "18:30"})
	if err := l.RemoveRow(session.SheetSessions, 2); err != nil {
		t.Fatal(err)
	}
	if got := l.Rows(session.SheetSessions); !slices.Equal(got, []int{3, 4}) {
		t.Errorf("rows %v", got)
	}
	if err := l.Save(""); err != nil {
		t.Fatal(err)
	}
	if got := read(t, dir, "sessions.csv"); got != "session;date;mine;notes\n\nb;z;1\n;2025-11-03;;\"x;y\"\n" {
		t.Errorf("sessions %q", got)
	}
	readings := read(t, dir, "readings.csv")
	if !strings.HasPrefix(readings, "\xEF\xBB\xBFsession;time;") || !strings.Contains(readings, "\r\na;18:30;;") {
		t.Errorf("readings %q", readings)
	}
	if err := l.Undo(); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(filepath.Join(dir, "readings.csv")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the new file stays: %v", err)
	}
	if err := l.Undo(); !errors.Is(err, ErrNothingToUndo) {
		t.Errorf("undone twice: %v", err)
	}
}

func TestAboutChanges(t *testing.T) {
	dir := folder(t, map[string]string{"log.toml": about, "sessions.csv": "session,date\n"})
	l := open(t, dir)
	for _, step := range []struct{ key, text, old, changed string }{
		{"patient.sex", "female", `sex = ""`, `sex = "female"`},
		{"patient.name", "A \"B\"\x01", `sex = "female"`, "sex = \"female\"\r\nname = \"A \\\"B\\\"\\u0001\""},
		{"log.time_zone", "Europe/Berlin", "Europe/London", "Europe/Berlin"},
		{"clinic.name", "C", `["mon"]`, "[\"mon\"]\r\n\r\n[clinic]\r\nname = \"C\"\r\n"},
		{"prescription.valid_from", "2025-11-01", "\"C\"\r\n", "\"C\"\r\n\r\n[[prescription]]\r\nvalid_from = \"2025-11-01\"\r\n"},
		{"prescription.1.weekdays", "mon; wed", "-01\"\r\n", "-01\"\r\nweekdays = [\"mon\", \"wed\"]\r\n"},
		{"prescription.2.dry_weight_kg", "70,5", "\"wed\"]\r\n", "\"wed\"]\r\n\r\n[[prescription]]\r\ndry_weight_kg = \"70,5\"\r\n"},
	} {
		before := read(t, dir, "log.toml")
		if err := errors.Join(l.SetAbout(step.key, step.text), l.Save("")); err != nil {
			t.Fatalf("%s: %v", step.key, err)
		}
		if got, want := read(t, dir, "log.toml"), strings.Replace(before, step.old, step.changed, 1); got != want {
			t.Errorf("%s:\n got %q\nwant %q", step.key, got, want)
		}
		if got := open(t, dir).About(step.key); got != strings.ReplaceAll(step.text, ";", ",") {
			t.Errorf("%s reads %q", step.key, got)
		}
	}
	if n := l.AboutParts("prescription"); n != 2 {
		t.Errorf("%d prescriptions", n)
	}
	if err := l.SetAbout("prescription.4.name", "x"); err == nil {
		t.Error("a table after one that is not there")
	}
}

func TestWhatAnotherProgramWroteStays(t *testing.T) {
	files := map[string]string{"sessions.csv": "session,date\na,b\n", "log.toml": about}
	dir := folder(t, files)
	mine, other := open(t, dir), open(t, dir)
	page := mine.Digest()
	for _, l := range []*Log{mine, other} {
		if err := l.Set(session.SheetSessions, 2, "date", "by "+l.Digest()[:3]); err != nil {
			t.Fatal(err)
		}
	}
	_ = other.Set(session.SheetSessions, 2, "date", "theirs")
	if err := other.Save(""); err != nil {
		t.Fatal(err)
	}
	var changed *ChangedError
	if err := mine.Save(""); !errors.As(err, &changed) {
		t.Fatalf("saved over it: %v", err)
	}
	if !slices.Equal(changed.Files, []string{"sessions.csv"}) {
		t.Errorf("%+v", changed)
	}
	// A page made before the other save is refused too, by a program that has
	// read the log again since.
	again := open(t, dir)
	_ = again.SetAbout("patient.sex", "male")
	if err := again.Save(page); !errors.As(err, &changed) {
		t.Errorf("a stale page was saved: %v", err)
	}
	if err := again.Save(again.Digest()); err != nil {
		t.Error(err)
	}
	// Nor is it undone.
	if err := os.WriteFile(filepath.Join(dir, "log.toml"), []byte(about+"\n# by hand\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := again.Undo(); !errors.As(err, &changed) || read(t, dir, "log.toml") != about+"\n# by hand\n" {
		t.Errorf("undone over it: %v", err)
	}
}

func TestLogIsOpenOnce(t *testing.T) {
	dir := folder(t, map[string]string{"log.toml": about})
	held, err := Lock(dir)
	if err != nil {
		t.Fatal(err)
	}
	if err := held.Say("http://127.0.0.1:1234"); err != nil {
		t.Fatal(err)
	}
	var locked *LockedError
	if _, err := Lock(dir); !errors.As(err, &locked) || locked.Who != "http://127.0.0.1:1234" {
		t.Errorf("opened twice: %v", err)
	}
	held.Release()
	again, err := Lock(dir)
	if err != nil {
		t.Fatal(err)
	}
	again.Release()
}

// Random changes: a reader finds the cells that were set, all other rows keep
// their bytes, and each undo returns the bytes before.
func TestChangesAreReadBackAndUndone(t *testing.T) {
	texts := rapid.OneOf(rapid.StringMatching(`[a-z0-9 ,;"\n\r=<]{0,8}`), rapid.StringN(0, 6, 30)).Filter(func(s string) bool { return !strings.ContainsRune(s, 0) })
	rapid.Check(t, func(t *rapid.T) {
		dir, err := os.MkdirTemp(inMemory, "edit")
		if err != nil {
			t.Fatal(err)
		}
		defer os.RemoveAll(dir)
		first := rapid.SampledFrom([]string{
			"session,date,notes\r\na,b,c\r\nd,\"e\r\nf\",\r\n\r\ng\r\n", "\xEF\xBB\xBFsession;date\nä;b\n\n\nc;d", "sep=;\nsession;date;mine\n\xE9;\"\";1\nx;y;\n",
		}).Draw(t, "file")
		if err := os.WriteFile(filepath.Join(dir, "sessions.csv"), []byte(first), 0o600); err != nil {
			t.Fatal(err)
		}
		before := []string{first}
		for range rapid.IntRange(1, 4).Draw(t, "saves") {
			l, err := Open(dir)
			if err != nil {
				t.Fatal(err)
			}
			untouched := map[string]int{}
			for _, r := range l.sheet(session.SheetSessions).rows[1:] {
				untouched[string(withoutEnd(r.Raw))]++
			}
			want := map[[2]any]string{}
			for range rapid.IntRange(1, 4).Draw(t, "changes") {
				rows := l.Rows(session.SheetSessions)
				column := rapid.SampledFrom([]string{"session", "date", "notes", "start"}).Draw(t, "column")
				text := texts.Draw(t, "text")
				switch what := rapid.IntRange(0, 5).Draw(t, "what"); {
				case what == 0 || len(rows) == 0:
					n, err := l.AddRow(session.SheetSessions, map[string]string{column: text})
					if err != nil {
						t.Fatal(err)
					}
					want[[2]any{n, column}] = text
				case what == 1:
					n := rapid.SampledFrom(rows).Draw(t, "row")
					for _, r := range l.sheet(session.SheetSessions).rows {
						if r.Number == n {
							untouched[string(withoutEnd(r.Raw))]--
						}
					}
					if err := l.RemoveRow(session.SheetSessions, n); err != nil {
						t.Fatal(err)
					}
					moved := map[[2]any]string{}
					for at, text := range want {
						if row := at[0].(int); row < n {
							moved[at] = text
						} else if row > n {
							moved[[2]any{row - 1, at[1]}] = text
						}
					}
					want = moved
				default:
					n := rapid.SampledFrom(rows).Draw(t, "row")
					for _, r := range l.sheet(session.SheetSessions).rows {
						if r.Number == n {
							untouched[string(withoutEnd(r.Raw))]--
						}
					}
					if err := l.Set(session.SheetSessions, n, column, text); err != nil {
						t.Fatal(err)
					}
					want[[2]any{n, column}] = text
				}
			}
			if err := l.Save(l.Digest()); err != nil {
				t.Fatal(err)
			}
			now, err := os.ReadFile(filepath.Join(dir, "sessions.csv"))
			if err != nil {
				t.Fatal(err)
			}
			again, err := Open(dir)
			if err != nil {
				t.Fatal(err)
			}
			for at, text := range want {
				if got := again.Cell(session.SheetSessions, at[0].(int), at[1].(string)); got != lineEnds.ReplaceAllString(text, "\n") {
					t.Fatalf("%v reads %q, want %q, in %q", at, got, text, now)
				}
			}
			for _, r := range again.sheet(session.SheetSessions).rows {
				untouched[string(withoutEnd(r.Raw))]--
			}
			for row, n := range untouched {
				if n > 0 {
					t.Fatalf("row %q is gone from %q", row, now)
				}
			}
			if !bytes.Equal(now, []byte(before[len(before)-1])) {
				before = append(before, string(now))
			}
		}
		for _, bytes := range slices.Backward(before[:len(before)-1]) {
			l, err := Open(dir)
			if err != nil {
				t.Fatal(err)
			}
			if err := l.Undo(); err != nil {
				t.Fatal(err)
			}
			if now, _ := os.ReadFile(filepath.Join(dir, "sessions.csv")); string(now) != bytes {
				t.Fatalf("undone to %q, want %q", now, bytes)
			}
		}
	})
}

// The readers of logs take no notice of the history.
func TestReadersIgnoreTheHistory(t *testing.T) {
	dir := folder(t, map[string]string{"sessions.csv": "session,date\na,2025-11-03\n", "log.toml": about})
	count := func() map[string]int {
		_, findings, err := session.ReadFolder(dir, session.Options{})
		if err != nil {
			t.Fatal(err)
		}
		rules := map[string]int{}
		for _, f := range findings {
			rules[f.Rule]++
		}
		return rules
	}
	before := count()
	l := open(t, dir)
	_ = l.Set(session.SheetSessions, 2, "session", "b")
	if err := l.Save(""); err != nil {
		t.Fatal(err)
	}
	if after := count(); !maps.Equal(before, after) {
		t.Errorf("%v, then %v", before, after)
	}
}

// Logs from one cache do not share changes, saved or not, and a file that
// another program changed is read again.
func TestCachedFilesAreNotShared(t *testing.T) {
	dir := folder(t, map[string]string{"sessions.csv": "session,date\na,1\nb,2\n"})
	var cache Cache
	opened := func() *Log {
		l, err := cache.Open(dir)
		if err != nil {
			t.Fatal(err)
		}
		return l
	}
	cells := func(l *Log) (all []string) {
		for _, row := range l.Rows(session.SheetSessions) {
			all = append(all, l.Cell(session.SheetSessions, row, "session")+l.Cell(session.SheetSessions, row, "date"))
		}
		return all
	}
	first := opened()
	_ = cells(first)
	second := opened()
	err := errors.Join(first.Set(session.SheetSessions, 2, "date", "x"), first.RemoveRow(session.SheetSessions, 3))
	if _, add := first.AddRow(session.SheetSessions, map[string]string{"session": "c"}); err != nil || add != nil {
		t.Fatal(err, add)
	}
	if got := cells(second); !slices.Equal(got, []string{"a1", "b2"}) || !slices.Equal(cells(opened()), got) {
		t.Errorf("a change that is not saved is in another log: %q", got)
	}
	if err := first.Save(""); err != nil {
		t.Fatal(err)
	}
	if err := first.Set(session.SheetSessions, 2, "date", "y"); err != nil {
		t.Fatal(err)
	}
	if got := cells(opened()); !slices.Equal(got, []string{"ax", "c"}) {
		t.Errorf("after the save the log has %q", got)
	}
	if err := os.WriteFile(filepath.Join(dir, "sessions.csv"), []byte("session,date\nz,9\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if got := cells(opened()); !slices.Equal(got, []string{"z9"}) {
		t.Errorf("the file of another program is read as %q", got)
	}
}
