// Package open shows the log of one person as pages in the browser of the same
// computer ([Serve]). It reads and checks the log with package export, as the
// commands do, changes it with package edit, and shows what an export would
// write. No request leaves the computer.
//
// The log on disk is the only store: a page is made from it each time and says
// which version of the log it was made from.
package open

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"time"

	"runsheet.example/fhirmap"
	"runsheet.example/fhirmap/session/columnmap"
	"runsheet.example/fhirmap/session/edit"
	"runsheet.example/validate/issue"
)

// idleLimit is how long the program waits for a request before it ends.
const idleLimit = 60 * time.Minute

// Options are what [Serve] needs.
type Options struct {
	// Log is the folder of the log. It need not exist yet.
	Log string
	// File is a workbook or sheet that the log becomes a copy of, "" for none.
	File string
	// LogID is the id of a log that the person begins here.
	LogID string
	Tool  fhirmap.Tool
	// Browser opens a file in the browser; nil leaves that to the person.
	Browser func(file string) error
	// Say tells the person at the terminal what happens.
	Say func(line string)
	// Idle ends the program after so long without a request; zero means 60
	// minutes.
	Idle time.Duration
	// Now is the clock; nil means that of the system.
	Now func() time.Time
}

// server is one running program.
type server struct {
	opts  Options
	guard *guard
	base  string       // http://127.0.0.1:PORT
	keys  []string     // files that open the page
	files *edit.Cache  // of the log
	last  atomic.Int64 // when the last request came, in nanoseconds
	ended chan string  // why it ends
	held  *edit.Held
	// own is a sheet of the person's own whose columns are not confirmed yet;
	// copied is the file that the log was made from, with what was found then.
	own         *columnmap.Proposal
	ownName     string
	copied      string
	opened      string // the file that the log is an earlier copy of
	copiedFound []issue.Finding
	checks      *checker
	sent        deliveries
}

// Serve shows the log until the person closes it, ctx ends, or nobody asks for
// a page for the time of [Options.Idle]. It listens on 127.0.0.1 and nowhere else.
func Serve(ctx context.Context, opts Options) error {
	if opts.Now == nil {
		opts.Now = time.Now
	}
	if opts.Idle == 0 {
		opts.Idle = idleLimit
	}
	listener, err := net.Listen("tcp4", "127.0.0.1:0")
	if err != nil {
		return fmt.Errorf("opening a port on this computer: %w", err)
	}
	defer func() { _ = listener.Close() }()
	s := newServer(opts, listener.Addr().(*net.TCPAddr).Port)
	if err := s.open(); err != nil {
		var locked *edit.LockedError
		if errors.As(err, &locked) {
			return callFirst(ctx, locked, opts)
		}
		return err
	}
	defer s.release()
	defer s.removeFiles()
	file, err := s.invite()
	if err != nil {
		return err
	}
	opts.Say("The log " + opts.Log + " is open, on this computer only. To end: Close on the page, or Ctrl-C here.")
	opts.show(file)
	return s.run(ctx, listener)
}

func newServer(opts Options, port int) *server {
	s := &server{opts: opts, guard: newGuard(port), base: fmt.Sprintf("http://127.0.0.1:%d", port), ended: make(chan string, 1)}
	s.files = new(edit.Cache)
	s.checks = &checker{dir: opts.Log, files: s.files}
	s.last.Store(opts.Now().UnixNano())
	return s
}

// open makes the copy that is asked for, once, and keeps a second process away.
func (s *server) open() error {
	switch {
	case s.opts.File == "":
	case s.missing():
		data, err := os.ReadFile(s.opts.File)
		if err == nil {
			err = s.take(filepath.Base(s.opts.File), data)
		}
		return err
	default:
		s.opened = filepath.Base(s.opts.File)
		s.opts.Say("The copy that was made of " + s.opts.File + " before is opened; what the file became since is not in it.")
	}
	return s.hold()
}

// hold keeps a second process away from the log, once there is one.
func (s *server) hold() error {
	if s.missing() {
		return nil
	}
	held, err := edit.Lock(s.opts.Log)
	if err != nil {
		return err
	}
	s.held = held
	return held.Say(s.base + " " + s.guard.control)
}

func (s *server) release() {
	if s.held != nil {
		s.held.Release()
	}
}

// callFirst asks the process that has the log open to open its page again. It
// is known by what it wrote into the lock, which only its owner can read.
func callFirst(ctx context.Context, locked *edit.LockedError, opts Options) error {
	address, control, _ := strings.Cut(locked.Who, " ")
	ctx, cancel := context.WithTimeout(ctx, 5*time.Second)
	defer cancel()
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, address+"/again", nil)
	if err != nil || !strings.HasPrefix(address, "http://127.0.0.1:") {
		return fmt.Errorf("%s: the log is open in another window of Runsheet", opts.Log)
	}
	r.Header.Set("Authorization", "Bearer "+control)
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		return fmt.Errorf("%s: the log is open in another window of Runsheet, which does not answer", opts.Log)
	}
	defer answer.Body.Close()
	file, err := io.ReadAll(io.LimitReader(answer.Body, 4096))
	if err != nil || answer.StatusCode != http.StatusOK {
		return fmt.Errorf("%s: the log is open in another window of Runsheet, which does not open its page again", opts.Log)
	}
	opts.Say("The log " + opts.Log + " is open already, at " + address + ".")
	opts.show(string(file))
	return nil
}

// show opens a page that leads to the log in the browser, or says how to.
func (o Options) show(file string) {
	if o.Browser == nil || o.Browser(file) != nil {
		o.Say("Open this file in your browser; it works once: " + file)
	}
}

// run answers requests until the end, and says why it ends.
func (s *server) run(ctx context.Context, listener net.Listener) error {
	web := &http.Server{Handler: s.handler(), ReadHeaderTimeout: 10 * time.Second, MaxHeaderBytes: 1 << 16}
	failed := make(chan error, 1)
	go func() { failed <- web.Serve(listener) }()
	tick := time.NewTicker(min(time.Minute, s.opts.Idle/2))
	defer tick.Stop()
	why := ""
	for why == "" {
		select {
		case err := <-failed:
			return err
		case <-ctx.Done():
			why = "stopped"
		case why = <-s.ended:
		case <-tick.C:
			if s.opts.Now().Sub(time.Unix(0, s.last.Load())) >= s.opts.Idle {
				why = fmt.Sprintf("no page was asked for in %s", s.opts.Idle)
			}
		}
	}
	patience, cancel := context.WithTimeout(context.Background(), 5*time.Second)
	defer cancel()
	err := web.Shutdown(patience)
	s.opts.Say("Closed (" + why + "). Everything that was saved is in " + s.opts.Log + ".")
	return err
}

// end asks run to stop.
func (s *server) end(why string) {
	select {
	case s.ended <- why:
	default: // it is ending already
	}
}

// invite makes a key and a file that opens the page with it.
func (s *server) invite() (string, error) {
	file, err := redirectFile(s.base + "/?key=" + s.guard.newKey())
	if err == nil {
		s.keys = append(s.keys, file)
	}
	return file, err
}

func (s *server) removeFiles() {
	for _, file := range s.keys {
		os.Remove(file)
	}
}

// handler is the whole server: the guard around the pages, and the request of a
// second process, which has no cookie.
func (s *server) handler() http.Handler {
	guarded := s.guard.protect(s.pages(), s.refuse, func(w http.ResponseWriter, r *http.Request) {
		s.removeFiles()
		s.render(w, http.StatusOK, "entered", frame{Lang: languageOf("", r), Title: "Runsheet"})
	})
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method == http.MethodPost && r.URL.Path == "/again" && s.guard.isOurs(r.Host) && same(r.Header.Get("Authorization"), "Bearer "+s.guard.control) {
			file, err := s.invite()
			if err != nil {
				http.Error(w, err.Error(), http.StatusInternalServerError)
			}
			_, _ = io.WriteString(w, file)
			return
		}
		guarded.ServeHTTP(w, r)
	})
}

// refuse answers a request that is not let through, in one plain sentence.
func (s *server) refuse(w http.ResponseWriter) {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(http.StatusForbidden)
	fmt.Fprintf(w, "<!doctype html><html lang=en><meta charset=utf-8><title>Runsheet</title><link rel=icon href=\"data:,\"><p>%s<p lang=de>%s\n", refusal[0], refusal[1])
}

// refusal is what a browser without our cookie is told in each language, such
// as one that opens a bookmark after the end.
var refusal = [...]string{
	"This page is closed. Start Runsheet again to open your log.",
	"Diese Seite ist geschlossen. Starten Sie Runsheet neu, um Ihr Protokoll zu öffnen.",
}
