// Command dist writes the archives in which the program is handed out: one for
// each system and processor, with the program, README, LICENSE and
// THIRD-PARTY-LICENSES.txt. The last holds NOTICE and the licence files of Go and
// of exactly the modules linked into that program, as its build information
// names them; a module without one is an error. The same source gives the same
// bytes. SHA256SUMS lists the archives.
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
)

var platforms = []platform{
	{"linux", "amd64"}, {"linux", "arm64"}, {"darwin", "amd64"}, {"darwin", "arm64"}, {"windows", "amd64"}, {"windows", "arm64"},
}

type platform struct{ system, processor string }

func main() {
	log.SetFlags(0)
	to := flag.String("o", "dist", "the folder to write to")
	flag.Parse()
	if err := run(*to); err != nil {
		log.Fatal("dist: ", err)
	}
}

func run(to string) error {
	if err := os.MkdirAll(to, 0o755); err != nil {
		return err
	}
	var sums strings.Builder
	for _, p := range platforms {
		name, archive, err := p.archive(".")
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

// archive builds the program from the source in root and packs it.
func (p platform) archive(root string) (name string, packed []byte, err error) {
	folder, err := os.MkdirTemp("", "dist")
	if err != nil {
		return "", nil, err
	}
	defer os.RemoveAll(folder)
	program := "runsheet"
	if p.system == "windows" {
		program += ".exe"
	}
	built := filepath.Join(folder, program)
	if _, err := p.goCommand(root, "build", "-trimpath", "-buildvcs=false", "-o", built, "./cmd/runsheet"); err != nil {
		return "", nil, err
	}
	notices, err := thirdParty(root, built)
	if err != nil {
		return "", nil, err
	}
	files := []file{{name: "THIRD-PARTY-LICENSES.txt", text: notices}}
	for _, from := range []string{built, filepath.Join(root, "LICENSE"), filepath.Join(root, "README.md")} {
		text, err := os.ReadFile(from)
		if err != nil {
			return "", nil, err
		}
		files = append(files, file{filepath.Base(from), text, from == built})
	}
	name = "runsheet-" + p.system + "-" + p.processor
	if p.system == "windows" {
		packed, err = zipped(name, files)
		return name + ".zip", packed, err
	}
	packed, err = tarred(name, files)
	return name + ".tar.gz", packed, err
}

// goCommand runs go for the platform, with the module in root, and returns what
// it prints.
func (p platform) goCommand(root string, args ...string) (string, error) {
	absolute, err := filepath.Abs(root)
	if err != nil {
		return "", err
	}
	command := exec.Command("go", args...)
	command.Dir = absolute
	command.Env = append(os.Environ(), "CGO_ENABLED=0", "GOOS="+p.system, "GOARCH="+p.processor)
	command.Stderr = os.Stderr
	out, err := command.Output()
	return strings.TrimSpace(string(out)), err
}
