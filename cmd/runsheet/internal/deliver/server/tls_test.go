package server

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"math/big"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/go-jose/go-jose/v4"
)

// pemFile writes one block of PEM.
func pemFile(t *testing.T, kind string, der []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), kind)
	if err := os.WriteFile(path, pem.EncodeToMemory(&pem.Block{Type: kind, Bytes: der}), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// client makes a client certificate that vouches for itself.
func client(t *testing.T) (certificate *x509.Certificate, files TLSFiles) {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	template := &x509.Certificate{
		SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "unit"}, NotAfter: time.Now().Add(time.Hour),
		ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageClientAuth}, IsCA: true, BasicConstraintsValid: true,
	}
	der, err := x509.CreateCertificate(rand.Reader, template, template, key.Public(), key)
	if err != nil {
		t.Fatal(err)
	}
	private, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		t.Fatal(err)
	}
	certificate, err = x509.ParseCertificate(der)
	if err != nil {
		t.Fatal(err)
	}
	return certificate, TLSFiles{Certificate: pemFile(t, "CERTIFICATE", der), Key: pemFile(t, "PRIVATE KEY", private)}
}

// A server with the clinic's own authority, which asks for a client certificate:
// with both files it answers; without one of them the first failure is the
// last, since another try gives the same.
func TestCertificates(t *testing.T) {
	known, files := client(t)
	tries := 0
	s := httptest.NewUnstartedServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(http.StatusOK) }))
	s.TLS = &tls.Config{ClientAuth: tls.RequireAndVerifyClientCert, ClientCAs: x509.NewCertPool(), GetConfigForClient: func(*tls.ClientHelloInfo) (*tls.Config, error) {
		tries++
		return nil, nil
	}}
	s.TLS.ClientCAs.AddCert(known)
	s.Config.ErrorLog = nil
	s.StartTLS()
	defer s.Close()
	files.Authorities = pemFile(t, "CERTIFICATE", s.Certificate().Raw)
	target, err := ParseTarget(s.URL)
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		files TLSFiles
		words string
	}{
		"both":                  {files, ""},
		"no authority":          {TLSFiles{Certificate: files.Certificate, Key: files.Key}, "--ca-file"},
		"no client certificate": {TLSFiles{Authorities: files.Authorities}, "--client-cert"},
	} {
		config, err := c.files.Config()
		if err != nil {
			t.Fatal(err)
		}
		for _, method := range []string{http.MethodGet, http.MethodPost} {
			tries = 0
			_, err = NewClient(target, Options{TLS: config}).Do(t.Context(), Request{Method: method, Path: "metadata", Body: []byte("{}")})
			if c.words == "" && err != nil || c.words != "" && (err == nil || !strings.Contains(err.Error(), c.words)) {
				t.Errorf("%s, %s: %v", name, method, err)
			}
			if tries != 1 {
				t.Errorf("%s, %s: %d tries", name, method, tries)
			}
		}
	}
	for _, broken := range []TLSFiles{{Authorities: files.Key}, {Authorities: "nowhere"}, {Certificate: files.Key, Key: files.Key}} {
		if _, err := broken.Config(); err == nil {
			t.Errorf("%+v was taken", broken)
		}
	}
}

// A key without an id has its thumbprint by RFC 7638 for one. The key and the
// thumbprint are those of RFC 7638, 3.1, which is of the public part.
func TestKeyIDIsTheThumbprint(t *testing.T) {
	const public = `{"kty":"RSA","n":"0vx7agoebGcQSuuPiLJXZptN9nndrQmbXEps2aiAFbWhM78LhWx4cbbfAAtVT86zwu1RK7aPFFxuhDR1L6tSoc_BJECPebWKRXjBZCiFV4n3oknjhMstn64tZ_2W-5JsGY4Hc5n9yBXArwl93lqt7_RN5w6Cf0h4QyQ5v-65YGjQR0_FDW2QvzqY368QQMicAtaSqzs8KJZgnYb9c7d0zgdAZHzu6qMQvRL5hajrn1n91CbOpbISD08qNLyrdkt-bFTWhAI4vMQFh6WeZu0fM4lFd2NcRwr3XPksINHaQ-G_xBniIqbw0Ls1jF44-csFCur-kEgU8awapJzKnqDKgw","e":"AQAB"}`
	var rfc jose.JSONWebKey
	if err := rfc.UnmarshalJSON([]byte(public)); err != nil {
		t.Fatal(err)
	}
	if id, err := thumbprint(rfc); err != nil || id != "NzbLsXh8uDCcd-6MNwXF4W_7noWXFZAfHkxZsRGC9Xs" {
		t.Errorf("%s, %v", id, err)
	}
	key, err := ecdsa.GenerateKey(elliptic.P384(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	der, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		t.Fatal(err)
	}
	want, err := thumbprint(jose.JSONWebKey{Key: key.Public()})
	if err != nil {
		t.Fatal(err)
	}
	for given, id := range map[string]string{"": want, "k1": "k1"} {
		if read, err := readKey(pemFile(t, "PRIVATE KEY", der), given); err != nil || read.KeyID != id {
			t.Errorf("given %q: %q, %v", given, read.KeyID, err)
		}
	}
}
