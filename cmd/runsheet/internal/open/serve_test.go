package open

import (
	"bytes"
	"context"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"runsheet.example/fhirmap"
)

const data = "../../../../testdata"

var tool = fhirmap.Tool{Name: "runsheet", Version: "test"}

// copied is a copy of the demo month.
func copied(t testing.TB) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "month")
	if err := os.CopyFS(dir, os.DirFS(data+"/month")); err != nil {
		t.Fatal(err)
	}
	return dir
}

// client is a browser that has used the key of a server.
type client struct {
	t   testing.TB
	s   *server
	jar []*http.Cookie
}

func newClient(t testing.TB, log string) *client {
	t.Helper()
	s := newServer(Options{Log: log, LogID: "0ee84880-ea27-4eaa-a5d9-a0c472f1caf3", Tool: tool, Say: func(string) {}, Idle: time.Hour,
		Now: func() time.Time { return time.Date(2025, 11, 17, 9, 0, 0, 0, time.UTC) }}, 4711)
	c := &client{t: t, s: s}
	answer := c.do(httptest.NewRequest(http.MethodGet, "/?key="+s.guard.newKey(), nil))
	c.jar = answer.Result().Cookies()
	if len(c.jar) != 1 {
		t.Fatalf("the key gives %d cookies: %d", len(c.jar), answer.Code)
	}
	return c
}

func (c *client) do(r *http.Request) *httptest.ResponseRecorder {
	if r.Host == "example.com" { // the default of httptest
		r.Host = "127.0.0.1:4711"
	}
	for _, one := range c.jar {
		r.AddCookie(one)
	}
	w := httptest.NewRecorder()
	c.s.handler().ServeHTTP(w, r)
	return w
}

func (c *client) get(path string) (int, string) {
	w := c.do(httptest.NewRequest(http.MethodGet, path, nil))
	return w.Code, w.Body.String()
}

func (c *client) post(path string, form map[string]string) (int, string, string) {
	values := make([]string, 0, len(form))
	for name, value := range form {
		values = append(values, escaped(name)+"="+escaped(value))
	}
	r := httptest.NewRequest(http.MethodPost, path, strings.NewReader(strings.Join(values, "&")))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	w := c.do(r)
	return w.Code, w.Body.String(), w.Header().Get("Location")
}

// Whoever is not the person's own browser is refused before anything is read or
// changed.
func TestForeignRequestsAreRefused(t *testing.T) {
	log := copied(t)
	before := contents(t, log)
	c := newClient(t, log)
	undo := func(change func(*http.Request)) *http.Request {
		r := httptest.NewRequest(http.MethodPost, "/undo", nil)
		change(r)
		return r
	}
	host := func(name string) *http.Request { return undo(func(r *http.Request) { r.Host = name }) }
	origin := func(name, site string) *http.Request {
		return undo(func(r *http.Request) {
			r.Header.Set("Origin", name)
			r.Header.Set("Sec-Fetch-Site", site)
		})
	}
	for name, r := range map[string]*http.Request{
		"another name":               host("evil.example:4711"),
		"a name that begins like us": host("127.0.0.1.evil.example:4711"),
		"another address":            host("192.168.1.7:4711"),
		"another port":               host("127.0.0.1:80"),
		"no port":                    host("127.0.0.1"),
		"an empty host":              host(""),
		"another origin":             origin("https://evil.example", ""),
		"a page of another port":     origin("http://127.0.0.1:80", "same-site"),
		"a sandboxed page":           origin("null", "cross-site"),
	} {
		if w := c.do(r); w.Code != http.StatusForbidden {
			t.Errorf("%s: %d", name, w.Code)
		}
	}
	for _, good := range []string{"127.0.0.1:4711", "localhost:4711", "[::1]:4711", "127.0.0.2:4711"} {
		r := httptest.NewRequest(http.MethodGet, "/", nil)
		if r.Host = good; c.do(r).Code != http.StatusOK {
			t.Errorf("%s is refused", good)
		}
	}
	c.jar = nil
	for _, path := range []string{"/", "/session/2", "/?key=", "/?key=" + secret(), "/style.css"} {
		if code, page := c.get(path); code != http.StatusForbidden || !strings.Contains(page, refusal[0]) {
			t.Errorf("without a cookie %s is answered by %d", path, code)
		}
	}
	if !bytes.Equal(before, contents(t, log)) {
		t.Error("a refused request changed the log")
	}
}

// contents are all files of a log, one after another.
func contents(t testing.TB, dir string) []byte {
	t.Helper()
	var all bytes.Buffer
	names, _ := filepath.Glob(filepath.Join(dir, "*.*"))
	for _, name := range names {
		if data, err := os.ReadFile(name); err == nil {
			all.WriteString(filepath.Base(name) + "\n")
			all.Write(data)
		}
	}
	return all.Bytes()
}

func TestKeyAndHeaders(t *testing.T) {
	c := newClient(t, copied(t))
	cookie := c.jar[0]
	if !cookie.HttpOnly || cookie.SameSite != http.SameSiteStrictMode || cookie.Name != "runsheet-4711" || len(cookie.Value) != 32 {
		t.Errorf("the cookie is %v", cookie)
	}
	key := c.s.guard.newKey()
	c.jar = nil
	if code, _ := c.get("/?key=" + key); code != http.StatusOK {
		t.Errorf("the key is answered by %d", code)
	}
	if code, _ := c.get("/?key=" + key); code != http.StatusForbidden {
		t.Errorf("the key is good for a second time: %d", code)
	}
	w := c.do(httptest.NewRequest(http.MethodGet, "/", nil))
	for name, want := range map[string]string{
		"Content-Security-Policy": "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; form-action 'self'; frame-ancestors 'none'; base-uri 'none'",
		"X-Content-Type-Options":  "nosniff", "Referrer-Policy": "no-referrer", "Cache-Control": "no-store",
	} {
		if w.Header().Get(name) != want {
			t.Errorf("%s: %q", name, w.Header().Get(name))
		}
	}
}

var (
	inFile = regexp.MustCompile(`works once: (.*)`)
	inLink = regexp.MustCompile(`href="(http://127\.0\.0\.1:\d+)(/\?key=[^"]+)"`)
)

// running starts the program and returns the address and the key of its page.
func running(t *testing.T, ctx context.Context, log string, idle time.Duration) (base, key string, ended chan error, said func() string) {
	t.Helper()
	t.Setenv("HOME", t.TempDir())
	t.Setenv("USERPROFILE", os.Getenv("HOME"))
	var lines strings.Builder
	var mu sync.Mutex
	ready := make(chan string, 4)
	ended = make(chan error, 1)
	opts := Options{Log: log, Tool: tool, Idle: idle, Say: func(line string) {
		mu.Lock()
		defer mu.Unlock()
		lines.WriteString(line + "\n")
		if m := inFile.FindStringSubmatch(line); m != nil {
			ready <- m[1]
		}
	}}
	go func() { ended <- Serve(ctx, opts) }()
	said = func() string { mu.Lock(); defer mu.Unlock(); return lines.String() }
	select {
	case file := <-ready:
		info, err := os.Stat(file)
		if err != nil || info.Mode().Perm() != 0o600 {
			t.Errorf("the page that opens the browser: %v %v", info, err)
		}
		text, _ := os.ReadFile(file)
		m := inLink.FindSubmatch(text)
		if m == nil {
			t.Fatalf("no link in %s", text)
		}
		return string(m[1]), string(m[2]), ended, said
	case err := <-ended:
		t.Fatalf("it ended: %v %s", err, said())
	case <-time.After(30 * time.Second):
		t.Fatal("it does not begin")
	}
	return "", "", nil, nil
}

func TestServeUntilClosed(t *testing.T) {
	log := copied(t)
	base, key, ended, said := running(t, t.Context(), log, time.Hour)
	jar, _ := cookiejar.New(nil)
	web := &http.Client{Jar: jar}
	fetch := func(method, path string) string {
		r, _ := http.NewRequest(method, base+path, nil)
		answer, err := web.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		defer answer.Body.Close()
		text, _ := io.ReadAll(answer.Body)
		return string(text)
	}
	fetch(http.MethodGet, key)
	if left, _ := filepath.Glob(filepath.Join(os.Getenv("HOME"), "*.html")); len(left) > 0 {
		t.Errorf("the page that opens the browser stays when it was used: %v", left)
	}
	if page := fetch(http.MethodGet, "/month/2025-11"); !strings.Contains(page, "Monday, 3 November 2025") {
		t.Error("the month is not shown")
	}
	// A second call says where the first one is, and how to open its page.
	var again []string
	if err := Serve(t.Context(), Options{Log: log, Tool: tool, Say: func(line string) { again = append(again, line) }}); err != nil {
		t.Error(err)
	}
	if len(again) != 2 || !strings.Contains(again[0], base) || !strings.Contains(again[1], "works once: ") {
		t.Fatalf("the second call says %q", again)
	}
	_, file, _ := strings.Cut(again[1], "works once: ")
	if text, err := os.ReadFile(file); err != nil || inLink.FindSubmatch(text) == nil || strings.Contains(said(), file) {
		t.Errorf("%s does not lead to the page: %v", file, err)
	}
	fetch(http.MethodPost, "/close")
	if err := <-ended; err != nil {
		t.Error(err)
	}
	if text := said(); !strings.Contains(text, "Closed (on the page)") || strings.Contains(text, key) {
		t.Errorf("it says %q", text)
	}
	if left, _ := filepath.Glob(filepath.Join(os.Getenv("HOME"), "*.html")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

func TestServeEndsByItself(t *testing.T) {
	_, _, ended, said := running(t, t.Context(), copied(t), 50*time.Millisecond)
	if err := <-ended; err != nil || !strings.Contains(said(), "no page was asked for in 50ms") {
		t.Errorf("%v %q", err, said())
	}
	ctx, cancel := context.WithCancel(t.Context())
	_, _, ended, said = running(t, ctx, copied(t), time.Hour)
	cancel()
	if err := <-ended; err != nil || !strings.Contains(said(), "Closed (stopped)") {
		t.Errorf("%v %q", err, said())
	}
}
