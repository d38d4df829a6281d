package server

import (
	"bytes"
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"strings"
	"time"
)

// maxReply limits the bytes read of a reply: a transaction's answer has a few
// hundred bytes for each entry.
const maxReply = 64 << 20

// Defaults of [Options].
const (
	defaultTimeout  = 2 * time.Minute
	defaultAttempts = 6
	defaultMaxWait  = 5 * time.Minute
)

// Options control a [Client]; the zero value is ready for use.
type Options struct {
	// Auth provides credentials; nil sends no token.
	Auth Authorizer
	// Timeout limits one request, from connecting to the last byte.
	Timeout time.Duration
	// Attempts limits how often one request is sent.
	Attempts int
	// MaxWait is the longest wait that a server may request; above it the
	// command ends with an error.
	MaxWait time.Duration
	// Wait waits between attempts; nil uses the clock. Tests pass their own.
	Wait func(context.Context, time.Duration) error
	// UserAgent identifies the program.
	UserAgent string
	// Note receives the reason of a wait, in words without values; may be nil.
	Note func(string)
	// TLS configures the trust in the server and our client certificate; nil
	// uses the defaults.
	TLS *tls.Config
}

// Client sends requests to one server, one after another. It is not safe for
// concurrent use: parallel conditional creates make duplicates at several
// servers.
type Client struct {
	target   Target
	http     *http.Client
	opts     Options
	requests int
}

// NewClient prepares a client; it sends nothing.
func NewClient(target Target, opts Options) *Client {
	if opts.Timeout == 0 {
		opts.Timeout = defaultTimeout
	}
	if opts.Attempts == 0 {
		opts.Attempts = defaultAttempts
	}
	if opts.MaxWait == 0 {
		opts.MaxWait = defaultMaxWait
	}
	if opts.Wait == nil {
		opts.Wait = wait
	}
	if opts.Note == nil {
		opts.Note = func(string) {}
	}
	if opts.TLS == nil {
		opts.TLS = &tls.Config{MinVersion: tls.VersionTLS12}
	}
	return &Client{target: target, http: newHTTP(opts.TLS), opts: opts}
}

// newHTTP returns an HTTP client that follows no redirects: a record must not
// go to an address its sender did not choose.
func newHTTP(config *tls.Config) *http.Client {
	return &http.Client{
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
		Transport: &http.Transport{
			Proxy:                 http.ProxyFromEnvironment,
			DialContext:           (&net.Dialer{Timeout: 15 * time.Second}).DialContext,
			TLSClientConfig:       config,
			TLSHandshakeTimeout:   15 * time.Second,
			MaxIdleConnsPerHost:   1,
			IdleConnTimeout:       time.Minute,
			ForceAttemptHTTP2:     true,
			ResponseHeaderTimeout: 0, // limited by the request's own timeout
		},
	}
}

// Requests returns the number of requests sent.
func (c *Client) Requests() int { return c.requests }

// Target returns the server's base URL.
func (c *Client) Target() Target { return c.target }

// Request is one HTTP request. Path is relative to the base. Its query may
// contain record identifiers, never a patient's.
type Request struct {
	Method string
	Path   string
	Body   []byte
	// Form is sent in place of Body as application/x-www-form-urlencoded.
	Form        url.Values
	IfNoneExist string
	IfMatch     string
	// Reads reports that a POST changes nothing: a batch of reads.
	Reads bool
}

// Reply is the answer of a server.
type Reply struct {
	Status   int
	Header   http.Header
	Body     []byte
	Location string
}

// OK reports a success status.
func (r *Reply) OK() bool { return r.Status >= 200 && r.Status < 300 }

// once sends a request a single time.
func (c *Client) once(ctx context.Context, req Request) (*Reply, error) {
	ctx, cancel := context.WithTimeout(ctx, c.opts.Timeout)
	defer cancel()
	request, err := c.build(ctx, req)
	if err != nil {
		return nil, err
	}
	c.requests++
	response, err := c.http.Do(request)
	if err != nil {
		return nil, withoutURL(err)
	}
	defer response.Body.Close()
	body, err := io.ReadAll(io.LimitReader(response.Body, maxReply+1))
	switch {
	case err != nil:
		return nil, withoutURL(err)
	case len(body) > maxReply:
		return nil, fmt.Errorf("the reply is larger than %d MiB", maxReply>>20)
	}
	return &Reply{response.StatusCode, response.Header, body, response.Header.Get("Location")}, nil
}

func (c *Client) build(ctx context.Context, req Request) (*http.Request, error) {
	body, kind := req.Body, "application/fhir+json"
	if req.Form != nil {
		body, kind = []byte(req.Form.Encode()), "application/x-www-form-urlencoded"
	}
	request, err := http.NewRequestWithContext(ctx, req.Method, c.target.url(req.Path), bytes.NewReader(body))
	if err != nil {
		return nil, errors.New("the request could not be made")
	}
	h := request.Header
	h.Set("Accept", "application/fhir+json")
	h.Set("User-Agent", c.opts.UserAgent)
	if body != nil {
		h.Set("Content-Type", kind)
	}
	if req.Form == nil && body != nil && !req.Reads {
		h.Set("Prefer", "return=minimal")
	}
	// At least one server caches search results for a minute, also empty ones
	// and those within a batch.
	h.Set("Cache-Control", "no-cache")
	if req.IfNoneExist != "" {
		h.Set("If-None-Exist", req.IfNoneExist)
	}
	if req.IfMatch != "" {
		h.Set("If-Match", req.IfMatch)
	}
	if c.opts.Auth != nil {
		token, err := c.opts.Auth.Token(ctx)
		if err != nil {
			return nil, authError{err}
		}
		h.Set("Authorization", "Bearer "+token)
	}
	return request, nil
}

// withoutURL removes the URL from an error of net/http: its query may identify
// a record.
func withoutURL(err error) error {
	var u *url.Error
	if errors.As(err, &u) {
		err = u.Err
	}
	return err
}

// authError is a failure to get a token; repeating the request does not help.
type authError struct{ err error }

func (e authError) Error() string { return e.err.Error() }
func (e authError) Unwrap() error { return e.err }

func wait(ctx context.Context, d time.Duration) error {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-timer.C:
		return nil
	}
}

// host returns the server's host for messages.
func (c *Client) host() string { return strings.TrimPrefix(c.target.base.Host, "www.") }
