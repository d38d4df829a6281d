package edit

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"
	"unicode/utf8"

	"runsheet.example/fhirmap/session"
)

// A save that fails at any step leaves the files as they were, says why in
// plain words, and can be tried again.
func TestFailedSavesLoseNothing(t *testing.T) {
	files := map[string]string{"sessions.csv": "session,date\na,b\n", "readings.csv": "session,time\n", "log.toml": about}
	for _, fault := range []struct {
		err  error
		want string
	}{{syscall.ENOSPC, "the log cannot be saved: the disk is full"}, {fs.ErrPermission, "the log cannot be saved: you may not write there, or it is read-only"}} {
		for at := 1; ; at++ {
			dir := folder(t, files)
			l := open(t, dir)
			if err := l.Set(session.SheetSessions, 2, "date", "c"); err != nil {
				t.Fatal(err)
			}
			steps := 0
			l.step = func(string) error {
				if steps++; steps == at {
					return &fs.PathError{Op: "write", Path: "x", Err: fault.err}
				}
				return nil
			}
			err := l.Save("")
			if steps < at {
				if at < 4 || err != nil {
					t.Errorf("%d steps, %v", at, err)
				}
				break
			}
			if err == nil || !strings.HasPrefix(err.Error(), fault.want) {
				t.Errorf("step %d: %v", at, err)
			}
			for name, text := range files {
				if read(t, dir, name) != text {
					t.Errorf("step %d: %s is %q", at, name, read(t, dir, name))
				}
			}
			l.step = func(string) error { return nil }
			if err := l.Save(""); err != nil || read(t, dir, "sessions.csv") != "session,date\na,c\n" {
				t.Errorf("step %d, again: %v", at, err)
			}
			if err := l.Undo(); err != nil || read(t, dir, "sessions.csv") != files["sessions.csv"] {
				t.Errorf("step %d, undone: %v", at, err)
			}
		}
	}
}

func TestReadOnlyFilesAreLeft(t *testing.T) {
	dir := folder(t, map[string]string{"sessions.csv": "session,date\na,b\n"})
	path := filepath.Join(dir, "sessions.csv")
	if err := os.Chmod(path, 0o400); err != nil {
		t.Fatal(err)
	}
	l := open(t, dir)
	_ = l.Set(session.SheetSessions, 2, "date", "c")
	if err := l.Save(""); err == nil || !strings.Contains(err.Error(), "read-only") || read(t, dir, "sessions.csv") != "session,date\na,b\n" {
		t.Errorf("%v", err)
	}
	if err := errors.Join(os.Chmod(path, 0o640), l.Save("")); err != nil {
		t.Fatal(err)
	}
	if info, err := os.Stat(path); err != nil || info.Mode().Perm() != 0o640 {
		t.Errorf("the mode is now %v, %v", info.Mode(), err)
	}
}

// The last versions are kept by number, whatever the clock says.
func TestFiftyVersionsAreKept(t *testing.T) {
	dir := folder(t, map[string]string{"sessions.csv": "session,date\na,0\n"})
	for i := range kept + 3 {
		l := open(t, dir)
		_ = l.Set(session.SheetSessions, 2, "date", fmt.Sprint(i+1))
		if err := l.Save(""); err != nil {
			t.Fatal(err)
		}
	}
	versions := versionsIn(filepath.Join(dir, historyName))
	if len(versions) != kept || versions[0] != 4 {
		t.Errorf("versions %v", versions)
	}
	for _, version := range versions { // newer ones look older
		when := time.Now().Add(-time.Duration(version) * time.Hour)
		if err := os.Chtimes(numbered(filepath.Join(dir, historyName), version), when, when); err != nil {
			t.Fatal(err)
		}
	}
	l := open(t, dir)
	for i := range kept {
		if err := l.Undo(); err != nil || l.Cell(session.SheetSessions, 2, "date") != fmt.Sprint(kept+2-i) {
			t.Fatalf("undo %d: %q, %v", i, l.Cell(session.SheetSessions, 2, "date"), err)
		}
	}
	if err := l.Undo(); !errors.Is(err, ErrNothingToUndo) {
		t.Error(err)
	}
}

// Of many programs that save at once, each either changes what it has read or
// is told that it cannot; no change that was saved is lost.
func TestManyEditorsAtOnce(t *testing.T) {
	dir := folder(t, map[string]string{"sessions.csv": "session,date\n"})
	var wait sync.WaitGroup
	for editor := range 4 {
		wait.Go(func() {
			for i := 0; i < 5; {
				l, err := Open(dir)
				if err != nil {
					t.Error(err)
					return
				}
				if _, err := l.AddRow(session.SheetSessions, map[string]string{"session": fmt.Sprint(editor, "-", i)}); err != nil {
					t.Error(err)
					return
				}
				var changed *ChangedError
				switch err := l.Save(l.Digest()); {
				case err == nil:
					i++
				case !errors.As(err, &changed):
					t.Error(err)
					return
				}
			}
		})
	}
	wait.Wait()
	l := open(t, dir)
	var names []string
	for _, row := range l.Rows(session.SheetSessions) {
		names = append(names, l.Cell(session.SheetSessions, row, "session"))
	}
	slices.Sort(names)
	if names = slices.Compact(names); len(names) != 20 {
		t.Errorf("%d rows: %v", len(names), names)
	}
}

// FuzzEdit holds that a file of any bytes is either refused or keeps its bytes
// when nothing changes, and otherwise reads back as it was changed.
func FuzzEdit(f *testing.F) {
	f.Add([]byte("session,date\r\na,\"b\r\n\"\"c\"\r\n\r\nd"), 0, "x;\"\n")
	f.Add([]byte("sep=;\nsession;date\n\xE9;b\n"), 1, "→")
	f.Add([]byte("\xFF\xFEs\x00,\x00d\x00\n\x00a\x00\n\x00"), 0, "ü")
	f.Add([]byte("session,date\ra,b\rc,d"), 1, "x\r")
	f.Add([]byte("session,date\na,\"b\nc,d\n"), 1, "=1+1")
	f.Fuzz(func(t *testing.T, data []byte, at int, text string) {
		raw, err := session.ReadRawText("sessions.csv", data)
		if err != nil {
			return
		}
		table := newTable(session.SheetSessions, raw.Text)
		if got := table.text(); string(got) != string(raw.Text) {
			t.Fatalf("unchanged, %q is written as %q", raw.Text, got)
		}
		if text, err = checked(text); err != nil || len(table.rows) < 2 {
			return
		}
		i := 1 + int(uint(at)%uint(len(table.rows)-1))
		number, column := table.rows[i].Number, table.headings()[0:min(1, len(table.headings()))]
		if table.row(number) != i || len(column) == 0 {
			return
		}
		rows := make([][]string, len(table.rows))
		for j, r := range table.rows {
			rows[j] = slices.Clone(r.Cells)
		}
		table.write(&table.rows[i], 0, text)
		if table.rows[i].Broken || !utf8.ValidString(string(raw.Text)) {
			return
		}
		raw.Text = table.text()
		written, err := raw.Bytes()
		if err != nil {
			return
		}
		again, err := session.ReadRawText("sessions.csv", written)
		if err != nil {
			t.Fatalf("%q cannot be read again: %v", written, err)
		}
		back := newTable(session.SheetSessions, again.Text)
		if back.delimiter != table.delimiter {
			return // the first line is a row of its own: nothing names the separator
		}
		if len(back.rows) != len(rows) {
			t.Fatalf("%d rows, before %d: %q", len(back.rows), len(rows), written)
		}
		for j, r := range back.rows {
			want := rows[j]
			if j == i {
				want = slices.Clone(want)
				want[0] = text
			}
			if !slices.Equal(r.Cells, want) {
				t.Fatalf("row %d is %q, want %q, in %q", j, r.Cells, want, written)
			}
		}
	})
}
