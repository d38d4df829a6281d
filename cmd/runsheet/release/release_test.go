package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/spf13/cobra"

	"runsheet.example/cmd/runsheet/internal/cli"
)

// unpack writes an archive to a new folder.
func unpack(t *testing.T, name string, archive []byte) string {
	t.Helper()
	folder := t.TempDir()
	put := func(name string, mode fs.FileMode, from io.Reader) {
		text, err := io.ReadAll(from)
		path := filepath.Join(folder, filepath.FromSlash(name))
		if err = errors.Join(err, os.MkdirAll(filepath.Dir(path), 0o755), os.WriteFile(path, text, mode)); err != nil {
			t.Fatal(err)
		}
	}
	if strings.HasSuffix(name, ".zip") {
		r, err := zip.NewReader(bytes.NewReader(archive), int64(len(archive)))
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range r.File {
			from, err := f.Open()
			if err != nil {
				t.Fatal(err)
			}
			put(f.Name, f.Mode(), from)
		}
		return folder
	}
	plain, err := gzip.NewReader(bytes.NewReader(archive))
	if err != nil {
		t.Fatal(err)
	}
	r := tar.NewReader(plain)
	for {
		h, err := r.Next()
		if errors.Is(err, io.EOF) {
			return folder
		}
		if err != nil {
			t.Fatal(err)
		}
		put(h.Name, h.FileInfo().Mode(), r)
	}
}

func read(t *testing.T, name string) string {
	t.Helper()
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// Both forms keep the names, the content and that the program may be run.
func TestPack(t *testing.T) {
	files := []file{{"a.txt", []byte("a\n"), false}, {"run", []byte("r"), true}}
	for name, pack := range map[string]func(string, []file) ([]byte, error){"x.zip": zipped, "x.tar.gz": tarred} {
		archive, err := pack("x", files)
		if err != nil {
			t.Fatal(err)
		}
		folder := unpack(t, name, archive)
		for _, f := range files {
			path := filepath.Join(folder, "x", f.name)
			info, err := os.Stat(path)
			if err != nil || read(t, path) != string(f.text) || runtime.GOOS != "windows" && (info.Mode()&0o100 != 0) != f.isProgram {
				t.Errorf("%s: %s: %v %v", name, f.name, info, err)
			}
		}
	}
}

func TestTermsOfAModule(t *testing.T) {
	for _, tc := range []struct {
		name, files string // names, each holding its name, but for those that end in =
		want        string // names in the terms, or "" for an error
	}{
		{"at the root", "LICENSE", "LICENSE"},
		{"spelt otherwise, with more", "Licence.md NOTICE.txt PATENTS", "Licence.md NOTICE.txt PATENTS"},
		{"two", "LICENSE-MIT COPYING", "COPYING LICENSE-MIT"},
		{"of a part", "LICENSE json/LICENSE", "LICENSE json/LICENSE"},
		{"not of tests and tools", "LICENSE testdata/LICENSE .github/LICENSE doc/LICENSE", "LICENSE"},
		{"none", "README.md", ""},
		{"code only", "license.go", ""},
		{"patents only", "PATENTS", ""},
		{"of a part only", "json/LICENSE", ""},
		{"empty", "LICENSE=", ""},
	} {
		folder := t.TempDir()
		for _, name := range strings.Fields(tc.files) {
			text := name
			if bare, isEmpty := strings.CutSuffix(name, "="); isEmpty {
				name, text = bare, "\n"
			}
			path := filepath.Join(folder, filepath.FromSlash(name))
			if err := errors.Join(os.MkdirAll(filepath.Dir(path), 0o755), os.WriteFile(path, []byte(text), 0o600)); err != nil {
				t.Fatal(err)
			}
		}
		var out bytes.Buffer
		err := addLicences(&out, "m v1", folder, "doc")
		var got []string
		for line := range strings.Lines(out.String()) {
			if name, isHead := strings.CutPrefix(strings.TrimSpace(line), "m v1, "); isHead {
				got = append(got, name)
			}
		}
		if (err != nil) != (tc.want == "") || err == nil && strings.Join(got, " ") != tc.want {
			t.Errorf("%s: got %q, %v", tc.name, got, err)
		}
	}
}

// Help stands in a manual page as it is printed, whatever begins its lines.
func TestManualPage(t *testing.T) {
	root := &cobra.Command{Use: "tool", Short: "Do it", Long: "'quoted'\n.dot \\ and -\n  key = 1", Example: "  tool go"}
	root.AddCommand(&cobra.Command{Use: "go LOG", Short: "Go on", Run: func(*cobra.Command, []string) {}})
	files := pages(root)
	want := ".TH TOOL 1 \"\" \"runsheet " + cli.Version + "\"\n.SH NAME\ntool \\- Do it\n.SH SYNOPSIS\n.nf\ntool\n.fi\n" +
		".SH DESCRIPTION\n.nf\n\\&'quoted'\n\\&.dot \\e and \\-\n  key = 1\n.fi\n.SH EXAMPLES\n.nf\n  tool go\n.fi\n.SH COMMANDS\n.nf\ntool\\-go(1)  Go on\n.fi\n"
	if len(files) != 2 || files[0].name != "man/tool.1" || files[1].name != "man/tool-go.1" || string(files[0].text) != want {
		t.Errorf("%d files, the first:\n%s", len(files), files[0].text)
	}
}

// Every command has a page, and every shell that a person is likely to use its
// completions.
func TestManual(t *testing.T) {
	files, err := manual(cli.Root())
	if err != nil {
		t.Fatal(err)
	}
	names := map[string]bool{}
	for _, f := range files {
		names[f.name] = len(f.text) > 0
	}
	for _, c := range cli.Root().Commands() {
		if !names["man/runsheet-"+c.Name()+".1"] {
			t.Errorf("no page of %s", c.Name())
		}
	}
	for _, name := range []string{"_runsheet", "runsheet.bash", "runsheet.fish", "runsheet.ps1"} {
		if !names["completions/"+name] {
			t.Errorf("no %s", name)
		}
	}
}

// A package URL is in lower case, with "+" escaped.
func TestModule(t *testing.T) {
	if got := module("library", "example.org/Some/v2", "v2.0.0+incompatible").PURL; got != "pkg:golang/example.org/some/v2@v2.0.0%2Bincompatible" {
		t.Error(got)
	}
}
