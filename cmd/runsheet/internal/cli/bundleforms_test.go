package cli

import (
	"archive/zip"
	"bytes"
	"io"
	"os"
	"path/filepath"
	"testing"

	"filippo.io/age"
)

// What was encrypted for a key is opened with it and is, byte for byte, the
// export; without the key it is not.
func TestSealedIsTheExport(t *testing.T) {
	key, err := age.GenerateX25519Identity()
	if err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	plain, sealedZip, sealedJSON := filepath.Join(folder, "out"), filepath.Join(folder, "out.zip.age"), filepath.Join(folder, "month.json.age")
	command(t, exitDone, "export", monthLog, "-o", plain)
	command(t, exitDone, "export", monthLog, "-o", sealedZip, "--encrypt-to", key.Recipient().String())
	command(t, exitDone, "export", monthLog, "-o", sealedJSON, "--as", "document", "--encrypt-to", key.Recipient().String())

	text := opened(t, sealedZip, key)
	archive, err := zip.NewReader(bytes.NewReader(text), int64(len(text)))
	if err != nil {
		t.Fatal(err)
	}
	names, err := os.ReadDir(plain)
	if err != nil || len(names) != len(archive.File) {
		t.Fatalf("%d files in the zip, %d in the folder (%v)", len(archive.File), len(names), err)
	}
	for _, f := range archive.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		got, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		if want, err := os.ReadFile(filepath.Join(plain, f.Name)); err != nil || !bytes.Equal(got, want) {
			t.Errorf("%s is another file (%v)", f.Name, err)
		}
	}
	document := filepath.Join(folder, "month.json")
	command(t, exitDone, "export", monthLog, "-o", document, "--as", "document")
	if want, err := os.ReadFile(document); err != nil || !bytes.Equal(opened(t, sealedJSON, key), want) {
		t.Errorf("the document is another (%v)", err)
	}

	stranger, err := age.GenerateX25519Identity()
	if err != nil {
		t.Fatal(err)
	}
	content, err := os.ReadFile(sealedZip)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := age.Decrypt(bytes.NewReader(content), stranger); err == nil {
		t.Error("opened with another key")
	}
}

func opened(t *testing.T, path string, key age.Identity) []byte {
	t.Helper()
	file, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	r, err := age.Decrypt(file, key)
	if err != nil {
		t.Fatal(err)
	}
	text, err := io.ReadAll(r)
	if err != nil {
		t.Fatal(err)
	}
	return text
}
