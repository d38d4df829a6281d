//go:build release

package main

import (
	"bytes"
	"crypto/sha256"
	"debug/buildinfo"
	"debug/elf"
	"debug/macho"
	"debug/pe"
	"encoding/json"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"runsheet.example/cmd/runsheet/internal/cli"
)

const (
	root = "../../.."
	dist = root + "/dist" // what .ci/release has just written
)

// sourceCopy copies the source to a new folder, without what is made from it.
func sourceCopy(t *testing.T) string {
	t.Helper()
	to := t.TempDir()
	err := filepath.WalkDir(root, func(path string, entry fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name, _ := filepath.Rel(root, path)
		switch base := entry.Name(); {
		case entry.IsDir() && name != "." && (strings.HasPrefix(base, ".") || base == "testdata" || base == "node_modules" || name == "dist" || name == "bin" || name == "out"):
			return fs.SkipDir
		case entry.IsDir():
			return os.MkdirAll(filepath.Join(to, name), 0o755)
		case !entry.Type().IsRegular():
			return nil
		}
		return os.WriteFile(filepath.Join(to, name), []byte(read(t, path)), 0o600)
	})
	if err != nil {
		t.Fatal(err)
	}
	return to
}

// Made from a copy of the source in another folder, every archive has the same
// bytes; for this computer also when nothing was compiled before.
func TestReproducible(t *testing.T) {
	source, again := sourceCopy(t), t.TempDir()
	if err := run(source, again); err != nil {
		t.Fatal(err)
	}
	made, err := os.ReadDir(again)
	if err != nil || len(made) != len(platforms)+1 {
		t.Fatalf("%d files, %v", len(made), err)
	}
	for _, f := range made {
		if read(t, filepath.Join(again, f.Name())) != read(t, filepath.Join(dist, f.Name())) {
			t.Errorf("%s has other bytes when made again", f.Name())
		}
	}
	t.Setenv("GOCACHE", t.TempDir())
	shared, err := sharedFiles(source)
	if err != nil {
		t.Fatal(err)
	}
	name, archive, err := platform{runtime.GOOS, runtime.GOARCH}.archive(source, shared)
	if err != nil || string(archive) != read(t, filepath.Join(dist, name)) {
		t.Errorf("%s has other bytes when all of it is compiled again; %v", name, err)
	}
}

// Each archive is listed with its checksum and holds a program for its platform,
// the documents, and the terms and the bill of everything in that program.
func TestContent(t *testing.T) {
	sums := read(t, filepath.Join(dist, "SHA256SUMS"))
	for _, p := range platforms {
		t.Run(p.system+"-"+p.processor, func(t *testing.T) {
			name, folder := unpacked(t, p)
			archive := read(t, filepath.Join(dist, name))
			if line := fmt.Sprintf("%x  %s\n", sha256.Sum256([]byte(archive)), name); !strings.Contains(sums, line) {
				t.Errorf("not in SHA256SUMS: %s", line)
			}
			program := filepath.Join(folder, p.program())
			if got := builtFor(program); got != p {
				t.Errorf("the program is for %v", got)
			}
			for _, name := range documents {
				if read(t, filepath.Join(folder, name)) != read(t, filepath.Join(root, name)) {
					t.Errorf("%s is another", name)
				}
			}
			for _, name := range []string{"man/runsheet.1", "man/runsheet-profiles-pack.1", "completions/_runsheet", "completions/runsheet.bash", "completions/runsheet.fish", "completions/runsheet.ps1"} {
				if len(read(t, filepath.Join(folder, name))) < 500 {
					t.Errorf("%s is cut short", name)
				}
			}
			checkTerms(t, folder, program)
			checkBill(t, folder, program)
		})
	}
}

// unpacked unpacks the archive of a platform.
func unpacked(t *testing.T, p platform) (name, folder string) {
	t.Helper()
	name = p.folder() + ".zip"
	if p.system == "linux" {
		name = p.folder() + ".tar.gz"
	}
	return name, filepath.Join(unpack(t, name, []byte(read(t, filepath.Join(dist, name)))), p.folder())
}

// builtFor reads from a program's header what it runs on. A program for macOS
// counts only with a signature, without which arm64 refuses it, and one for
// Windows only with a console.
func builtFor(program string) platform {
	if f, err := elf.Open(program); err == nil {
		defer f.Close()
		return platform{"linux", map[elf.Machine]string{elf.EM_X86_64: "amd64", elf.EM_AARCH64: "arm64"}[f.Machine]}
	}
	if f, err := macho.Open(program); err == nil {
		defer f.Close()
		const codeSignature = 0x1d // LC_CODE_SIGNATURE of <mach-o/loader.h>
		signed := f.Cpu == macho.CpuAmd64
		for _, load := range f.Loads {
			signed = signed || f.ByteOrder.Uint32(load.Raw()) == codeSignature
		}
		if signed {
			return platform{"darwin", map[macho.Cpu]string{macho.CpuAmd64: "amd64", macho.CpuArm64: "arm64"}[f.Cpu]}
		}
	}
	if f, err := pe.Open(program); err == nil {
		defer f.Close()
		if header, ok := f.OptionalHeader.(*pe.OptionalHeader64); ok && header.Subsystem == pe.IMAGE_SUBSYSTEM_WINDOWS_CUI {
			return platform{"windows", map[uint16]string{pe.IMAGE_FILE_MACHINE_AMD64: "amd64", pe.IMAGE_FILE_MACHINE_ARM64: "arm64"}[f.Machine]}
		}
	}
	return platform{}
}

func checkTerms(t *testing.T, folder, program string) {
	t.Helper()
	terms := read(t, filepath.Join(folder, "THIRD-PARTY-LICENSES.txt"))
	info, err := buildinfo.ReadFile(program)
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range info.Deps {
		if !strings.Contains(terms, "\n"+m.Path+" "+m.Version+", ") {
			t.Errorf("no terms of %s", m.Path)
		}
	}
	for _, part := range []string{read(t, root+"/NOTICE"), "\nGo " + info.GoVersion + ", LICENSE\n", "CC0 1.0", "loinc.org/license"} {
		if !strings.Contains(terms, part) {
			t.Errorf("not in the terms: %.60q", part)
		}
	}
}

func checkBill(t *testing.T, folder, program string) {
	t.Helper()
	var out struct {
		Metadata     struct{ Component component }
		Components   []component
		Dependencies []struct{ DependsOn []string }
	}
	if err := json.Unmarshal([]byte(read(t, filepath.Join(folder, "sbom.cdx.json"))), &out); err != nil {
		t.Fatal(err)
	}
	main := out.Metadata.Component
	if main.Version != cli.Version || main.Hashes[0].Content != fmt.Sprintf("%x", sha256.Sum256([]byte(read(t, program)))) {
		t.Errorf("the bill is of %+v", main)
	}
	info, err := buildinfo.ReadFile(program)
	if err != nil {
		t.Fatal(err)
	}
	listed := map[string]string{}
	for _, c := range out.Components {
		listed[c.Name] = c.Version
	}
	if "go"+listed["std"] != info.GoVersion || len(listed) != len(info.Deps)+1 || len(out.Dependencies[0].DependsOn) != len(listed) {
		t.Errorf("listed: %v", listed)
	}
	for _, m := range info.Deps {
		if listed[m.Path] != m.Version {
			t.Errorf("%s is %s, listed %q", m.Path, m.Version, listed[m.Path])
		}
	}
}

// The programs for Linux run, the one for another processor in an emulator, and
// say the same.
func TestRuns(t *testing.T) {
	_, mac := unpacked(t, platforms[2])
	click := filepath.Join(mac, "Open Runsheet.command")
	if err := os.WriteFile(filepath.Join(mac, "runsheet"), []byte("#!/bin/sh\necho \"opens $*\"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command(click).CombinedOutput(); string(out) != "opens open\n" {
		t.Errorf("%s: %v: %s", click, err, out)
	}
	emulator := map[string]string{"amd64": "qemu-x86_64", "arm64": "qemu-aarch64"}
	var said [][]byte
	for _, p := range platforms {
		if p.system != "linux" {
			continue
		}
		_, folder := unpacked(t, p)
		command := []string{filepath.Join(folder, p.program()), "check", root + "/testdata/mistakes", "--all"}
		if p.processor != runtime.GOARCH {
			command = append([]string{emulator[p.processor]}, command...)
		}
		out, err := exec.Command(command[0], command[1:]...).Output()
		if exit, ok := err.(*exec.ExitError); !ok || exit.ExitCode() != 3 {
			t.Fatalf("%s: %v: %s", p.processor, err, out)
		}
		said = append(said, out)
	}
	if !bytes.Equal(said[0], said[1]) || !bytes.Contains(said[0], []byte("sessions.csv")) {
		t.Errorf("said %s\nand %s", said[0], said[1])
	}
}
