package deliver

import (
	"context"
	"crypto"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/rsa"
	"crypto/x509"
	"encoding/json"
	"encoding/pem"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/go-jose/go-jose/v4"

	"runsheet.example/cmd/runsheet/internal/deliver/server"
	"runsheet.example/fhirmap"
	"runsheet.example/testdata/oracle/servertest"
)

// A token that runs out in the middle is renewed once and the month goes on.
func TestTokenRunsOut(t *testing.T) {
	s := servertest.Start(t)
	sessions := mapped(t, smallLog, fhirmap.Options{})
	elliptic384, err := ecdsa.GenerateKey(elliptic.P384(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	rsa2048, err := rsa.GenerateKey(rand.Reader, 2048)
	if err != nil {
		t.Fatal(err)
	}
	for name, key := range map[string]crypto.Signer{"ES384": elliptic384, "RS384": rsa2048} {
		t.Run(name, func(t *testing.T) {
			s.Reset(t, servertest.Switches{"tokens": map[string]any{"client": "unit", "key": publicKey(t, key, name), "uses": 4}}, smallPatient)
			for _, file := range []string{jwkFile(t, key, name), pemFile(t, key)} {
				target, err := server.ParseTarget(s.Base)
				if err != nil {
					t.Fatal(err)
				}
				backend, err := server.NewBackend(target, "unit", file, "k1", server.Options{})
				if err != nil {
					t.Fatal(err)
				}
				d := newDelivery(t, s, Transaction)
				d.auth = backend
				d.mustSend(sessions)
				d.same(sessions)
			}
			if n := s.State(t).Tokens; n < 3 {
				t.Errorf("%d tokens given out, want one for each four requests", n)
			}
		})
	}
}

func publicKey(t *testing.T, key crypto.Signer, algorithm string) json.RawMessage {
	t.Helper()
	text, err := (&jose.JSONWebKey{Key: key.Public(), KeyID: "k1", Algorithm: algorithm}).MarshalJSON()
	if err != nil {
		t.Fatal(err)
	}
	return text
}

func jwkFile(t *testing.T, key crypto.Signer, algorithm string) string {
	t.Helper()
	text, err := (&jose.JSONWebKey{Key: key, KeyID: "k1", Algorithm: algorithm}).MarshalJSON()
	if err != nil {
		t.Fatal(err)
	}
	return write(t, "key.json", text)
}

func pemFile(t *testing.T, key crypto.Signer) string {
	t.Helper()
	der, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		t.Fatal(err)
	}
	return write(t, "key.pem", pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: der}))
}

func write(t *testing.T, name string, text []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, text, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// A fixed token that is refused ends the run at the second refusal, before an
// account is locked; a new token in the file goes on.
func TestTokenRefused(t *testing.T) {
	s := servertest.Start(t)
	sessions := mapped(t, smallLog, fhirmap.Options{})
	s.Reset(t, servertest.Switches{"tokens": map[string]any{"fixed": []string{"first", "second"}, "uses": 8}}, smallPatient)
	path := write(t, "token", []byte("first\n"))
	d := newDelivery(t, s, Transaction)
	d.auth = &server.TokenFile{Path: path}
	err := d.send(sessions)
	if err == nil || !strings.Contains(err.Error(), "does not accept the token") || strings.Contains(err.Error(), "first") {
		t.Fatalf("send: %v", err)
	}
	refused := 0
	for _, r := range s.State(t).Requests {
		if r.Status == 401 {
			refused++
		}
	}
	if refused != 1 {
		t.Errorf("%d requests with a refused token, want 1", refused)
	}
	if err := os.WriteFile(path, []byte("second"), 0o600); err != nil {
		t.Fatal(err)
	}
	d.mustSend(sessions)
	d.same(sessions)
	other := newDelivery(t, s, Transaction)
	if err := other.send(sessions); err == nil {
		t.Error("sent without a token")
	}
}

// A key of the wrong kind, a wrong client and a wrong key give one plain
// sentence, none of it secret.
func TestBackendRefused(t *testing.T) {
	s := servertest.Start(t)
	p256, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	target, err := server.ParseTarget(s.Base)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := server.NewBackend(target, "unit", pemFile(t, p256), "", server.Options{}); err == nil || !strings.Contains(err.Error(), "P-384") {
		t.Errorf("P-256: %v", err)
	}
	if _, err := server.NewBackend(target, "unit", write(t, "x", []byte("nonsense")), "", server.Options{}); err == nil || strings.Contains(err.Error(), "nonsense") {
		t.Errorf("no key: %v", err)
	}
	key, err := ecdsa.GenerateKey(elliptic.P384(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	s.Reset(t, servertest.Switches{"tokens": map[string]any{"client": "somebody else", "key": publicKey(t, key, "ES384")}}, smallPatient)
	backend, err := server.NewBackend(target, "unit", jwkFile(t, key, "ES384"), "", server.Options{})
	if err != nil {
		t.Fatal(err)
	}
	d := newDelivery(t, s, Transaction)
	d.auth = backend
	if err := d.send(nil); err == nil || !strings.Contains(err.Error(), "look at the client id") {
		t.Errorf("wrong client: %v", err)
	}
}

// A token endpoint that is busy is asked again with another assertion; the wait
// is the one it asks for, and a refusal ends the run at once.
func TestTokenEndpointBusy(t *testing.T) {
	key, err := ecdsa.GenerateKey(elliptic.P384(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		name    string
		answers []int
		asked   int
		err     string
	}{
		{"busy, then given", []int{429, 503, 200}, 3, ""},
		{"always busy", []int{503, 503, 503, 503, 503, 503, 200}, 6, "answered 503"},
		{"refused", []int{401, 200}, 1, "look at the client id"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			assertions := map[string]bool{}
			asked := 0
			var endpoint *httptest.Server
			endpoint = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
				if r.Method == http.MethodGet {
					fmt.Fprintf(w, `{"token_endpoint":"%s/token"}`, endpoint.URL)
					return
				}
				assertions[r.FormValue("client_assertion")] = true
				w.Header().Set("Retry-After", "7")
				w.WriteHeader(tt.answers[asked])
				asked++
				fmt.Fprint(w, `{"access_token":"abc","expires_in":60}`)
			}))
			defer endpoint.Close()
			target, err := server.ParseTarget(endpoint.URL)
			if err != nil {
				t.Fatal(err)
			}
			var waits []time.Duration
			backend, err := server.NewBackend(target, "unit", jwkFile(t, key, "ES384"), "k1", server.Options{
				Wait: func(_ context.Context, d time.Duration) error { waits = append(waits, d); return nil },
			})
			if err != nil {
				t.Fatal(err)
			}
			token, err := backend.Token(context.Background())
			if (err == nil) != (tt.err == "") || err != nil && !strings.Contains(err.Error(), tt.err) || err == nil && token != "abc" {
				t.Errorf("token %q, error %v; want error %q", token, err, tt.err)
			}
			if asked != tt.asked || len(assertions) != asked || len(waits) != asked-1 {
				t.Errorf("asked %d times with %d assertions and %d waits, want %d", asked, len(assertions), len(waits), tt.asked)
			}
			for _, d := range waits {
				if d != 7*time.Second {
					t.Errorf("waited %v, want the 7 s asked for", d)
				}
			}
		})
	}
}
