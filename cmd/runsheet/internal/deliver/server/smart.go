package server

import (
	"context"
	"crypto"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/rsa"
	"crypto/x509"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"encoding/pem"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/go-jose/go-jose/v4"
	"github.com/go-jose/go-jose/v4/jwt"
)

// assertionLife is the validity of a signed assertion; SMART Backend Services
// allows five minutes at most.
const assertionLife = 4 * time.Minute

// Backend gets tokens by SMART Backend Services: an assertion signed with the
// client's key (private_key_jwt, RFC 7523), ES384 or RS384.
type Backend struct {
	ClientID string
	// Scope is the requested scope; empty requests rights to create, change
	// and find the types of a record, in the form the server supports.
	Scope string
	// Types adds the right to send these types to an empty Scope.
	Types []string
	// Now is the clock; tests pass their own.
	Now func() time.Time

	client   *Client
	signer   jose.Signer
	endpoint string
	token    string
	expires  time.Time
}

// NewBackend reads the key, a private JWK or a PEM file, and stores the
// server. It sends nothing.
func NewBackend(target Target, clientID, keyFile, keyID string, opts Options) (*Backend, error) {
	key, err := readKey(keyFile, keyID)
	if err != nil {
		return nil, err
	}
	algorithm := jose.ES384
	if strings.HasPrefix(key.Algorithm, "RS") {
		algorithm = jose.RS384
	}
	signer, err := jose.NewSigner(jose.SigningKey{Algorithm: algorithm, Key: key}, (&jose.SignerOptions{}).WithType("JWT"))
	if err != nil {
		return nil, errors.New("the key cannot sign with " + string(algorithm))
	}
	return &Backend{ClientID: clientID, Now: time.Now, client: NewClient(target, opts), signer: signer}, nil
}

// Token returns the current token, or a new one shortly before it expires.
func (b *Backend) Token(ctx context.Context) (string, error) {
	if b.token != "" && b.Now().Before(b.expires) {
		return b.token, nil
	}
	if err := b.Renew(ctx); err != nil {
		return "", err
	}
	return b.token, nil
}

// Renew requests a new token. An endpoint that is busy or does not answer is
// asked again, each time with a new assertion, as often as any request is.
func (b *Backend) Renew(ctx context.Context) error {
	b.token = ""
	if b.endpoint == "" {
		if err := b.discover(ctx); err != nil {
			return err
		}
	}
	for attempt := 1; ; attempt++ {
		assertion, err := b.assertion()
		if err != nil {
			return err
		}
		reply, err := b.ask(ctx, assertion)
		switch {
		case certificateFault(err) != nil:
			return fmt.Errorf("no answer from the token endpoint: %w", certificateFault(err))
		case err != nil:
			err = fmt.Errorf("no answer from the token endpoint: %w", err)
		case reply.Status == http.StatusTooManyRequests, reply.Status >= http.StatusInternalServerError:
			err = fmt.Errorf("the token endpoint answered %d", reply.Status)
		default:
			return b.keep(reply)
		}
		if ctx.Err() != nil {
			return context.Cause(ctx)
		}
		if attempt >= b.client.opts.Attempts {
			return err
		}
		if err := b.client.pause(ctx, attempt, reply, err); err != nil {
			return err
		}
	}
}

// discover reads the token endpoint and the form of scopes.
func (b *Backend) discover(ctx context.Context) error {
	reply, err := b.client.Do(ctx, Request{Method: http.MethodGet, Path: ".well-known/smart-configuration"})
	if err != nil {
		return fmt.Errorf("the server does not say where tokens are given out (.well-known/smart-configuration): %w", err)
	}
	var configuration struct {
		TokenEndpoint string   `json:"token_endpoint"`
		Capabilities  []string `json:"capabilities"`
	}
	if json.Unmarshal(reply.Body, &configuration) != nil || configuration.TokenEndpoint == "" {
		return errors.New("the server's .well-known/smart-configuration names no token endpoint")
	}
	endpoint, err := url.Parse(configuration.TokenEndpoint)
	if err != nil || encrypted(endpoint) != nil {
		return errors.New("the server's token endpoint is not an https address")
	}
	b.endpoint = configuration.TokenEndpoint
	if b.Scope == "" {
		b.Scope = scopes(slices.Contains(configuration.Capabilities, "permission-v2"), b.Types)
	}
	return nil
}

// scopes returns only the scopes that delivery needs, in the form of SMART 2
// ("cus": create, update, search; "r" to read) or SMART 1.
func scopes(v2 bool, types []string) string {
	var out []string
	names := []string{"Device", "MedicationAdministration", "Observation", "Patient", "Procedure", "Provenance"}
	for _, name := range append(names, types...) {
		switch {
		case v2 && name == "Patient":
			out = append(out, "system/Patient.crs")
		case v2:
			out = append(out, "system/"+name+".crus")
		default:
			out = append(out, "system/"+name+".read", "system/"+name+".write")
		}
	}
	return strings.Join(out, " ")
}

func (b *Backend) assertion() (string, error) {
	now := b.Now()
	unique := make([]byte, 16)
	rand.Read(unique)
	text, err := jwt.Signed(b.signer).Claims(jwt.Claims{
		Issuer: b.ClientID, Subject: b.ClientID, Audience: jwt.Audience{b.endpoint}, ID: hex.EncodeToString(unique),
		IssuedAt: jwt.NewNumericDate(now), Expiry: jwt.NewNumericDate(now.Add(assertionLife)),
	}).Serialize()
	if err != nil {
		return "", errors.New("the assertion could not be signed with this key")
	}
	return text, nil
}

// ask sends an assertion. The endpoint may be outside the base URL.
func (b *Backend) ask(ctx context.Context, assertion string) (*Reply, error) {
	ctx, cancel := context.WithTimeout(ctx, time.Minute)
	defer cancel()
	form := url.Values{
		"grant_type":            {"client_credentials"},
		"scope":                 {b.Scope},
		"client_assertion_type": {"urn:ietf:params:oauth:client-assertion-type:jwt-bearer"},
		"client_assertion":      {assertion},
	}
	request, err := http.NewRequestWithContext(ctx, http.MethodPost, b.endpoint, strings.NewReader(form.Encode()))
	if err != nil {
		return nil, errors.New("the token request could not be made")
	}
	request.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	request.Header.Set("Accept", "application/json")
	response, err := b.client.http.Do(request)
	if err != nil {
		return nil, withoutURL(err)
	}
	defer response.Body.Close()
	body, err := io.ReadAll(http.MaxBytesReader(nil, response.Body, 1<<20))
	return &Reply{Status: response.StatusCode, Header: response.Header, Body: body}, err
}

// keep stores the token of an answer.
func (b *Backend) keep(reply *Reply) error {
	var answer struct {
		AccessToken string `json:"access_token"`
		ExpiresIn   int64  `json:"expires_in"`
		Error       string `json:"error"`
	}
	err := json.Unmarshal(reply.Body, &answer)
	switch {
	case reply.Status != http.StatusOK:
		return fmt.Errorf("the token endpoint answered %d %s: look at the client id, the key and its registration at the server", reply.Status, codeOnly(strings.ReplaceAll(answer.Error, "_", "-")))
	case err != nil:
		return errors.New("the token endpoint's answer is no JSON")
	}
	token, err := tokenText(answer.AccessToken)
	if err != nil {
		return err
	}
	b.token, b.expires = token, b.Now().Add(max(time.Duration(answer.ExpiresIn)*time.Second-30*time.Second, 5*time.Second))
	return nil
}

// readKey reads a private JWK or a PEM file (PKCS#8, PKCS#1 or SEC 1).
func readKey(path, keyID string) (jose.JSONWebKey, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return jose.JSONWebKey{}, fmt.Errorf("the key could not be read: %w", err)
	}
	key := jose.JSONWebKey{}
	if block, _ := pem.Decode(text); block != nil {
		key.Key, err = parsePEM(block.Bytes)
	} else {
		err = key.UnmarshalJSON(text)
	}
	if err != nil || key.IsPublic() || !key.Valid() {
		return jose.JSONWebKey{}, fmt.Errorf("%s: expected a private key as JWK or PEM", path)
	}
	if keyID != "" {
		key.KeyID = keyID
	}
	if key.KeyID == "" {
		if key.KeyID, err = thumbprint(key); err != nil {
			return jose.JSONWebKey{}, fmt.Errorf("%s: %w", path, err)
		}
	}
	key.Algorithm, err = algorithmOf(key)
	return key, err
}

// thumbprint identifies a key by its public part (RFC 7638), as registries do
// for a key without an id.
func thumbprint(key jose.JSONWebKey) (string, error) {
	sum, err := key.Thumbprint(crypto.SHA256)
	return base64.RawURLEncoding.EncodeToString(sum), err
}

func parsePEM(der []byte) (any, error) {
	if key, err := x509.ParsePKCS8PrivateKey(der); err == nil {
		return key, nil
	}
	if key, err := x509.ParsePKCS1PrivateKey(der); err == nil {
		return key, nil
	}
	return x509.ParseECPrivateKey(der)
}

// minRSABits is the minimum that RFC 7518 (3.3) allows for RS384.
const minRSABits = 2048

// algorithmOf returns the algorithm of a key: SMART Backend Services requires
// ES384 or RS384, so an elliptic key must be on P-384.
func algorithmOf(key jose.JSONWebKey) (string, error) {
	switch k := key.Key.(type) {
	case *ecdsa.PrivateKey:
		if k.Curve != elliptic.P384() {
			return "", errors.New("the key is on another curve than P-384, which ES384 needs")
		}
		return string(jose.ES384), nil
	case *rsa.PrivateKey:
		if k.N.BitLen() < minRSABits {
			return "", errors.New("the RSA key is shorter than 2048 bits")
		}
		return string(jose.RS384), nil
	default:
		return "", errors.New("the key is neither RSA nor elliptic")
	}
}
