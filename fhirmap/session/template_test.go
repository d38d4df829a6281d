package session

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

const someUUID = "5f9c7a39-7f2c-4c43-9d4e-8f6f0c2b7a10"

func TestTemplateUnfilledSaysWhatIsMissing(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "my log")
	if err := WriteTemplate(dir, TemplateOptions{LogID: someUUID}); err != nil {
		t.Fatal(err)
	}
	log, findings, err := ReadFolder(dir, Options{})
	if err != nil {
		t.Fatal(err)
	}
	want := []string{
		"about-time-zone log.toml row 11 (log.time_zone)",
		"about-identifier log.toml row 25 (patient.identifier_system)",
		"log-empty sessions.csv",
	}
	if got := said(findings); !slices.Equal(got, want) {
		t.Errorf("findings %q, want %q", got, want)
	}
	if log.About.LogID != someUUID {
		t.Errorf("log id = %q", log.About.LogID)
	}
}

// TestTemplateExamplesAreValid takes the remark signs from the examples, as
// the template tells people to, and reads the result.
func TestTemplateExamplesAreValid(t *testing.T) {
	var lines []string
	files, err := templateFiles(TemplateOptions{LogID: someUUID, Clinic: Clinic{TimeZone: "Europe/London", IdentifierSystem: "urn:oid:2.25.1"}})
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range strings.Split(strings.ReplaceAll(string(files[1].data), "\r", ""), "\n") {
		bare := strings.TrimPrefix(line, "# ")
		if bare != line && (strings.HasPrefix(bare, "[[") || strings.Contains(bare, " = ")) && !strings.Contains(bare, "order_") && !strings.Contains(bare, "flow_l_h") {
			line = bare
		}
		lines = append(lines, line)
	}
	about := strings.Join(lines, "\n")
	about = strings.Replace(about, `identifier_value = ""`, `identifier_value = "1"`, 1)
	log, findings := read(t, map[string]string{aboutFile: about, "sessions.csv": oneNight})
	if got := said(findings); len(got) > 0 {
		t.Errorf("findings %q", got)
	}
	if len(log.About.Prescriptions) != 1 || len(log.About.Accesses) != 1 || len(log.About.Devices) != 1 {
		t.Errorf("read %+v", log.About)
	}
}

func TestTemplateNeverWritesOver(t *testing.T) {
	parent := t.TempDir()
	for _, name := range []string{"folder", "file"} {
		path := filepath.Join(parent, name)
		if name == "folder" {
			if err := os.Mkdir(path, 0o700); err != nil {
				t.Fatal(err)
			}
		} else if err := os.WriteFile(path, []byte("mine"), 0o600); err != nil {
			t.Fatal(err)
		}
		if err := WriteTemplate(path, TemplateOptions{LogID: someUUID}); !errors.Is(err, fs.ErrExist) {
			t.Errorf("%s: error %v, want ErrExist", name, err)
		}
	}
	if err := WriteTemplate(filepath.Join(parent, "no", "such"), TemplateOptions{}); err == nil {
		t.Error("a folder in a folder that is not there was written")
	}
	entries, err := os.ReadDir(parent)
	if err != nil || len(entries) != 2 {
		t.Errorf("left behind: %v, %v", entries, err)
	}
}
