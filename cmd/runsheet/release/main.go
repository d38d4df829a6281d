// Command release writes the archives in which the program is handed out: one for
// each system and processor. An archive holds the program, what it is and is not
// (README, CHANGELOG, SECURITY), the terms of everything in it, a CycloneDX bill of
// materials, manual pages and shell completions; on macOS also a file that opens
// the page on a double click. SHA256SUMS lists the archives. The same source and
// the same Go give the same bytes, in any folder.
package main

import (
	"crypto/sha256"
	"flag"
	"fmt"
	"log"
	"os"
	"os/exec"
	"path/filepath"
	"strings"

	"runsheet.example/cmd/runsheet/internal/cli"
)

var platforms = []platform{
	{"linux", "amd64"}, {"linux", "arm64"}, {"darwin", "amd64"}, {"darwin", "arm64"}, {"windows", "amd64"}, {"windows", "arm64"},
}

type platform struct{ system, processor string }

func main() {
	log.SetFlags(0)
	to := flag.String("o", "dist", "the folder to write to")
	flag.Parse()
	if err := run(".", *to); err != nil {
		log.Fatal("release: ", err)
	}
}

// run writes the archives of the source in root to a folder.
func run(root, to string) error {
	if err := os.MkdirAll(to, 0o755); err != nil {
		return err
	}
	shared, err := sharedFiles(root)
	if err != nil {
		return err
	}
	var sums strings.Builder
	for _, p := range platforms {
		name, archive, err := p.archive(root, shared)
		if err != nil {
			return fmt.Errorf("%s/%s: %w", p.system, p.processor, err)
		}
		if err := os.WriteFile(filepath.Join(to, name), archive, 0o644); err != nil {
			return err
		}
		fmt.Fprintf(&sums, "%x  %s\n", sha256.Sum256(archive), name)
	}
	return os.WriteFile(filepath.Join(to, "SHA256SUMS"), []byte(sums.String()), 0o644)
}

// documents are the files of the source that every archive holds.
var documents = []string{"README.md", "CHANGELOG.md", "SECURITY.md", "LICENSE"}

// sharedFiles returns the files that do not depend on the platform.
func sharedFiles(root string) ([]file, error) {
	files, err := manual(cli.Root())
	for _, name := range documents {
		text, failed := os.ReadFile(filepath.Join(root, name))
		if failed != nil {
			return nil, failed
		}
		files = append(files, file{name: name, text: text})
	}
	return files, err
}

// folder is the name of the folder in the platform's archive.
func (p platform) folder() string {
	return "runsheet-" + cli.Version + "-" + p.system + "-" + p.processor
}

// program is the name of the program in the platform's archive.
func (p platform) program() string {
	if p.system == "windows" {
		return "runsheet.exe"
	}
	return "runsheet"
}

// openCommand is what Finder runs, in a window of its own, on a double click on a
// file that ends in .command. The program itself cannot tell a double click from a
// line typed in a terminal there.
const openCommand = "#!/bin/sh\nexec \"$(dirname \"$0\")/runsheet\" open\n"

// archive builds the program from the source in root and packs it.
func (p platform) archive(root string, shared []file) (name string, packed []byte, err error) {
	folder, err := os.MkdirTemp("", "release")
	if err != nil {
		return "", nil, err
	}
	defer os.RemoveAll(folder)
	built := filepath.Join(folder, p.program())
	if _, err := p.goCommand(root, "build", "-trimpath", "-buildvcs=false", "-ldflags=-s -w", "-o", built, "./cmd/runsheet"); err != nil {
		return "", nil, err
	}
	program, err := os.ReadFile(built)
	if err != nil {
		return "", nil, err
	}
	notices, err := thirdParty(root, built)
	if err != nil {
		return "", nil, err
	}
	bill, err := billOfMaterials(built)
	if err != nil {
		return "", nil, err
	}
	files := append([]file{
		{p.program(), program, true},
		{"THIRD-PARTY-LICENSES.txt", notices, false},
		{"sbom.cdx.json", bill, false},
	}, shared...)
	if p.system == "darwin" {
		files = append(files, file{"Open Runsheet.command", []byte(openCommand), true})
	}
	if p.system == "linux" {
		packed, err = tarred(p.folder(), files)
		return p.folder() + ".tar.gz", packed, err
	}
	packed, err = zipped(p.folder(), files)
	return p.folder() + ".zip", packed, err
}

// goCommand runs go for the platform, with the module in root and without the
// settings of this computer that change a program, and returns what it prints.
func (p platform) goCommand(root string, args ...string) (string, error) {
	absolute, err := filepath.Abs(root)
	if err != nil {
		return "", err
	}
	command := exec.Command("go", args...)
	command.Dir = absolute
	command.Env = append(os.Environ(), "CGO_ENABLED=0", "GOOS="+p.system, "GOARCH="+p.processor,
		"GOFLAGS=", "GOEXPERIMENT=", "GOFIPS140=off", "GOAMD64=v1", "GOARM64=v8.0", "GOWORK=off")
	command.Stderr = os.Stderr
	out, err := command.Output()
	return strings.TrimSpace(string(out)), err
}
