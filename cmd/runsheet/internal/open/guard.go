package open

import (
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"net"
	"net/http"
	"net/netip"
	"strconv"
	"sync"
)

// secret returns 192 random bits as text for a URL.
func secret() string {
	bits := make([]byte, 24)
	_, _ = rand.Read(bits) // it never fails (documentation of crypto/rand)
	return base64.RawURLEncoding.EncodeToString(bits)
}

func same(a, b string) bool { return subtle.ConstantTimeCompare([]byte(a), []byte(b)) == 1 }

// guard decides which requests reach the pages. It refuses a foreign Host first
// (DNS rebinding), then what a page of another site sends, then whoever has no
// cookie.
type guard struct {
	port    int
	cookie  string // value of the cookie
	control string // what a second process shows to ask for a new key

	mu  sync.Mutex
	key string // opens the page once; "" when it is used
}

func newGuard(port int) *guard {
	return &guard{port: port, cookie: secret(), control: secret()}
}

// newKey makes a key and voids the one before.
func (g *guard) newKey() string {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.key = secret()
	return g.key
}

// spend reports whether a key is the valid one, and voids it.
func (g *guard) spend(key string) bool {
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.key == "" || !same(g.key, key) {
		return false
	}
	g.key = ""
	return true
}

// cookieName contains the port: cookies do not distinguish ports (RFC 6265,
// section 8.5), and two logs may be open at a time.
func (g *guard) cookieName() string { return "runsheet-" + strconv.Itoa(g.port) }

// isOurs reports whether a Host header names this server: a loopback address or
// localhost, with our port. The address is parsed, since a name such as
// 127.0.0.1.evil.example begins like one.
func (g *guard) isOurs(host string) bool {
	name, port, err := net.SplitHostPort(host)
	if err != nil || port != strconv.Itoa(g.port) {
		return false
	}
	address, err := netip.ParseAddr(name)
	return name == "localhost" || err == nil && address.IsLoopback()
}

// headers are on every answer: nothing but our own files is loaded, no other
// page frames ours, and nothing is kept by the browser.
var headers = map[string]string{
	"Content-Security-Policy": "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; form-action 'self'; frame-ancestors 'none'; base-uri 'none'",
	"X-Content-Type-Options":  "nosniff",
	"Referrer-Policy":         "no-referrer",
	"Cache-Control":           "no-store",
}

// protect wraps the pages. refused writes the answer to a request that is not
// let through; entered writes the page that follows the use of the key.
func (g *guard) protect(pages http.Handler, refused func(http.ResponseWriter), entered http.HandlerFunc) http.Handler {
	var origins http.CrossOriginProtection
	origins.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { refused(w) }))
	inside := origins.Handler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if key := r.URL.Query().Get("key"); key != "" && r.Method == http.MethodGet && g.spend(key) {
			http.SetCookie(w, &http.Cookie{Name: g.cookieName(), Value: g.cookie, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode})
			entered(w, r)
			return
		}
		if c, err := r.Cookie(g.cookieName()); err != nil || !same(c.Value, g.cookie) {
			refused(w)
			return
		}
		pages.ServeHTTP(w, r)
	}))
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		for name, value := range headers {
			w.Header().Set(name, value)
		}
		if !g.isOurs(r.Host) {
			refused(w)
			return
		}
		inside.ServeHTTP(w, r)
	})
}
