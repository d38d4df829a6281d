// Package servertest runs a FHIR server that is not ours for tests: the one in
// testdata/oracle/server, in memory, on this computer only.
package servertest

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"
)

// Server is a running server.
type Server struct {
	// Base is its base URL.
	Base string
	root string
}

// Switches are what differs from a server that does everything; see the head
// of server.mjs for the names.
type Switches map[string]any

// Fault is what is to go wrong with the write of a number, counted from 1.
type Fault struct {
	On   int    `json:"on"`
	Kind string `json:"kind"`
}

// Request is one request the server got.
type Request struct {
	Method, URL, Kind string
	// Condition is the header If-None-Exist.
	Condition     string
	Write         bool
	Status, Bytes int
}

// State is what the server holds and what it was asked since the last reset
// or faults.
type State struct {
	Resources []json.RawMessage
	Requests  []Request
	Tokens    int
}

// process is the running server. It ends when its standard input does, so that
// is kept until the tests end.
type process struct {
	base  string
	stdin io.Closer
}

// start starts the server once for all tests of a package.
var start = sync.OnceValues(func() (process, error) {
	cmd := exec.Command("node", filepath.Join(oracle(), "server", "server.mjs"))
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	stdin, errIn := cmd.StdinPipe()
	stdout, errOut := cmd.StdoutPipe()
	if err := errors.Join(errIn, errOut); err != nil {
		return process{}, err
	}
	if err := cmd.Start(); err != nil {
		return process{}, err
	}
	line, err := bufio.NewReader(stdout).ReadString('\n')
	if err != nil {
		return process{}, fmt.Errorf("the server did not start: %w\n%s", err, stderr.String())
	}
	go func() { _, _ = io.Copy(io.Discard, stdout) }()
	return process{strings.TrimSpace(line), stdin}, nil
})

// oracle is the folder of the engines that are not ours.
func oracle() string {
	_, here, _, _ := runtime.Caller(0)
	return filepath.Join(filepath.Dir(here), "..")
}

// Start gives the server, empty and doing everything. A server that cannot be
// started fails the test: delivery that was never tried proves nothing.
// RUNSHEET_NO_ORACLE=1 says so on purpose.
func Start(t testing.TB) *Server {
	t.Helper()
	if os.Getenv("RUNSHEET_NO_ORACLE") == "1" {
		t.Skip("RUNSHEET_NO_ORACLE=1: nothing is sent to a server that is not ours")
	}
	if _, err := os.Stat(filepath.Join(oracle(), "node_modules", "@medplum", "fhir-router")); err != nil {
		t.Fatal("the FHIR server for tests is not installed: run `npm ci` in testdata/oracle, or set RUNSHEET_NO_ORACLE=1 to go without")
	}
	dependOn(t, oracle())
	running, err := start()
	must(t, err)
	s := &Server{Base: running.base, root: strings.TrimSuffix(running.base, "/fhir")}
	s.Reset(t, nil)
	return s
}

// dependOn looks at the server's files, so that Go runs the test again when
// one has changed.
func dependOn(t testing.TB, folder string) {
	err := filepath.WalkDir(folder, func(path string, entry fs.DirEntry, err error) error {
		if err == nil && entry.IsDir() && path != folder && entry.Name() != "server" {
			return filepath.SkipDir
		}
		if err == nil {
			_, err = os.Stat(path)
		}
		return err
	})
	must(t, err)
}

// Patient is the patient the server knows by an identifier.
func Patient(system, value string) map[string]any {
	return map[string]any{
		"resourceType": "Patient", "id": "known",
		"identifier": []any{map[string]any{"system": system, "value": value}},
	}
}

// Reset empties the server and sets its switches.
func (s *Server) Reset(t testing.TB, switches Switches, patients ...map[string]any) {
	t.Helper()
	body := map[string]any{"patients": append([]map[string]any{}, patients...)}
	for name, value := range switches {
		body[name] = value
	}
	s.call(t, "reset", body)
}

// Switch changes switches and keeps what the server holds.
func (s *Server) Switch(t testing.TB, switches Switches) {
	t.Helper()
	s.call(t, "switch", switches)
}

// Faults sets what is to go wrong with the next writes.
func (s *Server) Faults(t testing.TB, faults ...Fault) {
	t.Helper()
	if faults == nil {
		faults = []Fault{}
	}
	s.call(t, "faults", faults)
}

// Edit changes a resource as somebody at the clinic would.
func (s *Server) Edit(t testing.TB, resource any) {
	t.Helper()
	s.call(t, "edit", resource)
}

// Delete deletes resources, named Type/id, as somebody at the clinic would.
func (s *Server) Delete(t testing.TB, references ...string) {
	t.Helper()
	s.call(t, "delete", references)
}

// Save keeps a copy of what the server holds; Restore goes back to it, as from
// a backup.
func (s *Server) Save(t testing.TB) {
	t.Helper()
	s.call(t, "save", nil)
}

// Restore goes back to what [Server.Save] kept.
func (s *Server) Restore(t testing.TB) {
	t.Helper()
	s.call(t, "restore", nil)
}

// State is what the server holds.
func (s *Server) State(t testing.TB) State {
	t.Helper()
	return s.call(t, "state", nil)
}

func (s *Server) call(t testing.TB, what string, body any) State {
	t.Helper()
	text, err := json.Marshal(body)
	must(t, err)
	client := http.Client{Timeout: time.Minute}
	response, err := client.Post(s.root+"/-/"+what, "application/json", bytes.NewReader(text))
	must(t, err)
	defer response.Body.Close()
	if response.StatusCode != http.StatusOK {
		text, _ := io.ReadAll(response.Body)
		t.Fatalf("%s: %s\n%s", what, response.Status, text)
	}
	var state State
	must(t, json.NewDecoder(response.Body).Decode(&state))
	return state
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
