package main

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httputil"
	"net/url"
	"os"
	"os/exec"
	"regexp"
	"strings"
	"sync"
)

// server is a running server and the way to it, which counts what is asked and
// can lose an answer.
type server struct {
	// base is the server's own address, through the address that counts.
	base string

	command []string
	process *exec.Cmd
	stdin   io.Closer
	front   *http.Server

	mu               sync.Mutex
	origin           *url.URL // where the server itself listens
	requests, writes int
	lose             int // the write whose answer is lost; 0 for none
}

// start starts the server and waits until it says where it is.
func start(command []string) (*server, error) {
	if len(command) == 0 {
		return nil, errors.New("name the server's command behind --")
	}
	s := &server{command: command}
	if err := s.run(); err != nil {
		return nil, err
	}
	if err := s.listen(); err != nil {
		s.stop()
		return nil, err
	}
	return s, nil
}

// run starts the server's process.
func (s *server) run() error {
	s.process = exec.Command(s.command[0], s.command[1:]...)
	s.process.Stderr = os.Stderr
	stdin, errIn := s.process.StdinPipe()
	stdout, errOut := s.process.StdoutPipe()
	if err := errors.Join(errIn, errOut); err != nil {
		return err
	}
	s.stdin = stdin
	if err := s.process.Start(); err != nil {
		return err
	}
	line, err := bufio.NewReader(stdout).ReadString('\n')
	if err != nil {
		_ = s.process.Wait()
		return fmt.Errorf("the server did not start: %w", err)
	}
	go func() { _, _ = io.Copy(io.Discard, stdout) }()
	origin, err := url.Parse(strings.TrimSpace(line))
	s.mu.Lock()
	defer s.mu.Unlock()
	s.origin = origin
	return err
}

// wipe starts the server anew, empty, at the same address.
func (s *server) wipe() error {
	_ = s.stdin.Close()
	_ = s.process.Wait()
	return s.run()
}

// listen opens the way that counts. The server sees the address that was
// asked, so that the links it writes lead here too.
func (s *server) listen() error {
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return err
	}
	s.base = "http://" + listener.Addr().String() + s.origin.Path
	way := &httputil.ReverseProxy{
		Rewrite: func(r *httputil.ProxyRequest) {
			s.mu.Lock()
			defer s.mu.Unlock()
			r.Out.URL.Scheme, r.Out.URL.Host, r.Out.Host = s.origin.Scheme, s.origin.Host, r.In.Host
		},
		ModifyResponse: func(r *http.Response) error {
			if s.count(r.Request) {
				return errors.New("lost on purpose")
			}
			return nil
		},
		// Nothing is answered: the connection ends.
		ErrorHandler: func(http.ResponseWriter, *http.Request, error) { panic(http.ErrAbortHandler) },
	}
	//nolint:gosec // on this computer only, for the length of a run
	s.front = &http.Server{Handler: http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		body, err := io.ReadAll(r.Body)
		if err != nil {
			panic(http.ErrAbortHandler)
		}
		r.Body = io.NopCloser(bytes.NewReader(body))
		way.ServeHTTP(w, r.WithContext(context.WithValue(r.Context(), writing{}, writes(r, body))))
	})}
	go func() { _ = s.front.Serve(listener) }()
	return nil
}

// writing is the key in a request's context of whether it may change something.
type writing struct{}

// writes reports whether a request may change something: a search in a body
// does not, and neither does a batch of reads.
func writes(r *http.Request, body []byte) bool {
	reads := bytes.HasPrefix(body, []byte(`{"resourceType":"Bundle"`)) && !changes.Match(body)
	return r.Method != http.MethodGet && !strings.HasSuffix(r.URL.Path, "/_search") && !reads
}

var changes = regexp.MustCompile(`"method":\s*"(POST|PUT|PATCH|DELETE)"`)

// count counts a request and says whether its answer is to be lost.
func (s *server) count(r *http.Request) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.requests++
	if r.Context().Value(writing{}) != true {
		return false
	}
	s.writes++
	return s.writes == s.lose
}

// begin counts from zero; the answer to write number lose is lost.
func (s *server) begin(lose int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.requests, s.writes, s.lose = 0, 0, lose
}

func (s *server) counted() (requests, writes int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.requests, s.writes
}

func (s *server) stop() {
	if s.front != nil {
		_ = s.front.Close()
	}
	_ = s.stdin.Close()
	_ = s.process.Wait()
}
