package server

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strings"
)

// Authorizer provides the bearer token of a request.
type Authorizer interface {
	// Token returns the current token.
	Token(context.Context) (string, error)
	// Renew replaces a token that the server refused. It is called once and
	// fails if there is no other token.
	Renew(context.Context) error
}

// errNoOther means that the same token would be sent again.
var errNoOther = errors.New("there is no other token")

// TokenFile is a bearer token in a file. It is read again after a refusal, in
// case another program renews it.
type TokenFile struct {
	Path    string
	current string
}

// Token reads the file the first time.
func (f *TokenFile) Token(context.Context) (string, error) {
	if f.current != "" {
		return f.current, nil
	}
	text, err := os.ReadFile(f.Path)
	if err != nil {
		return "", fmt.Errorf("the token could not be read: %w", err)
	}
	f.current, err = tokenText(string(text))
	return f.current, err
}

// Renew reads the file again.
func (f *TokenFile) Renew(ctx context.Context) error {
	old := f.current
	f.current = ""
	token, err := f.Token(ctx)
	if err == nil && token == old {
		err = errNoOther
	}
	return err
}

// FixedToken is a bearer token that cannot be renewed.
type FixedToken string

// Token returns the token.
func (t FixedToken) Token(context.Context) (string, error) { return tokenText(string(t)) }

// Renew always fails.
func (t FixedToken) Renew(context.Context) error { return errNoOther }

// String keeps the token out of anything printed.
func (t FixedToken) String() string { return "token" }

// tokenText extracts the token from a text. It refuses characters that a
// header cannot hold, without printing them.
func tokenText(s string) (string, error) {
	s = strings.TrimPrefix(strings.TrimSpace(s), "Bearer ")
	ok := func(r rune) bool { return r > ' ' && r < 0x7f }
	if s == "" || strings.IndexFunc(s, func(r rune) bool { return !ok(r) }) >= 0 {
		return "", errors.New("the token is empty or holds characters no token has")
	}
	return s, nil
}
