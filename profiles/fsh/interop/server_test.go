//go:build interop

package interop

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"os"
	"os/exec"
	"regexp"
	"strings"
	"sync"
	"testing"
)

// server is a running server and the way to it, which counts requests and can
// lose an answer.
type server struct {
	*testing.T
	// base is the server's base URL, through the address that counts.
	base string

	process *exec.Cmd
	stdin   io.Closer

	mu               sync.Mutex
	origin           *url.URL // where the server itself listens
	requests, writes int
	lose             int // the write whose answer is lost; 0 for none
}

// start starts the server of the command in HAPI_SERVER, which must listen on
// this computer, print its base URL as the first line, and end with its
// standard input.
func start(t *testing.T) *server {
	t.Helper()
	s := &server{T: t}
	s.run()
	front := httptest.NewServer(s.way())
	s.base = front.URL + s.origin.Path
	t.Cleanup(func() {
		front.Close()
		s.stop()
	})
	return s
}

// run starts the server's process and waits for its address.
func (s *server) run() {
	s.Helper()
	command := strings.Fields(os.Getenv("HAPI_SERVER"))
	if len(command) == 0 {
		s.Fatal("HAPI_SERVER holds no command: run bash .ci/interop")
	}
	s.process = exec.Command(command[0], command[1:]...)
	s.process.Stderr = os.Stderr
	stdin, errIn := s.process.StdinPipe()
	stdout, errOut := s.process.StdoutPipe()
	must(s.T, errors.Join(errIn, errOut))
	s.stdin = stdin
	must(s.T, s.process.Start())
	line, err := bufio.NewReader(stdout).ReadString('\n')
	must(s.T, err)
	go func() { _, _ = io.Copy(io.Discard, stdout) }()
	origin, err := url.Parse(strings.TrimSpace(line))
	must(s.T, err)
	s.mu.Lock()
	defer s.mu.Unlock()
	s.origin = origin
}

func (s *server) stop() {
	_ = s.stdin.Close()
	_ = s.process.Wait()
}

// wipe starts the server anew, empty, at the same address.
func (s *server) wipe() {
	s.stop()
	s.run()
}

// way is the proxy that counts. The server sees the address that was asked, so
// that the links it writes lead here too.
func (s *server) way() http.Handler {
	proxy := &httputil.ReverseProxy{
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
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		body, err := io.ReadAll(r.Body)
		if err != nil {
			panic(http.ErrAbortHandler)
		}
		r.Body = io.NopCloser(bytes.NewReader(body))
		proxy.ServeHTTP(w, r.WithContext(context.WithValue(r.Context(), writing{}, writes(r, body))))
	})
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

// count counts a request and reports whether its answer is to be lost.
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

// do sends a request as somebody at the clinic would, and returns the status
// and the answer.
func (s *server) do(method, path string, body any) (int, string) {
	s.Helper()
	text, isText := body.([]byte)
	if !isText && body != nil {
		var err error
		text, err = json.Marshal(body)
		must(s.T, err)
	}
	request, err := http.NewRequest(method, s.base+path, bytes.NewReader(text))
	must(s.T, err)
	request.Header.Set("Content-Type", "application/fhir+json")
	response, err := http.DefaultClient.Do(request)
	must(s.T, err)
	defer response.Body.Close()
	answer, err := io.ReadAll(response.Body)
	must(s.T, err)
	return response.StatusCode, string(answer)
}

// mustDo sends a request that the server must carry out.
func (s *server) mustDo(method, path string, body any) {
	s.Helper()
	if status, answer := s.do(method, path, body); status != http.StatusOK && status != http.StatusCreated {
		const most = 600
		s.Fatalf("%s %s: %d %s", method, path, status, answer[:min(len(answer), most)])
	}
}
