package server

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"
)

// ErrUnknownOutcome means that the connection ended or the server failed,
// possibly after doing what was requested: the caller must look before it
// repeats the request.
var ErrUnknownOutcome = errors.New("the server may or may not have done it")

// Do sends a request and retries where that is safe: after a refusal with
// which the server did nothing (429, 503), after a lost or failed answer to an
// idempotent request (GET, PUT, a search), and once after renewing the token.
// A create whose answer was lost returns [ErrUnknownOutcome]. An error status
// returns a *[Refusal].
func (c *Client) Do(ctx context.Context, req Request) (*Reply, error) {
	renewed := false
	for attempt := 1; ; attempt++ {
		reply, err := c.once(ctx, req)
		if ctx.Err() != nil {
			return nil, context.Cause(ctx)
		}
		var fromAuth authError
		switch {
		case errors.As(err, &fromAuth):
			return nil, err
		case err == nil && reply.OK():
			return reply, nil
		case err == nil && reply.Status == http.StatusUnauthorized && !renewed && c.renew(ctx):
			renewed = true
			attempt--
			continue
		}
		again, failure := c.mayRepeat(req, reply, err)
		if !again || attempt >= c.opts.Attempts {
			return reply, failure
		}
		if err := c.pause(ctx, attempt, reply, failure); err != nil {
			return reply, err
		}
	}
}

// renew gets a new token after a 401, once for a request. Repeated failures
// end the run, since more of them may lock the account.
func (c *Client) renew(ctx context.Context) bool {
	if c.opts.Auth == nil {
		return false
	}
	c.opts.Note("the server no longer accepts the token; getting a new one")
	return c.opts.Auth.Renew(ctx) == nil
}

// mayRepeat reports whether the request can be sent again unchanged, and the
// error if not.
func (c *Client) mayRepeat(req Request, reply *Reply, err error) (bool, error) {
	idempotent := req.Method == http.MethodGet || req.Method == http.MethodPut || req.Form != nil || req.Reads
	if fault := certificateFault(err); fault != nil {
		return false, fmt.Errorf("%s: %w", c.host(), fault)
	}
	if err != nil {
		lost := fmt.Errorf("no answer from %s: %w", c.host(), err)
		if !idempotent {
			lost = fmt.Errorf("%w: %w", ErrUnknownOutcome, lost)
		}
		return idempotent, lost
	}
	refusal := newRefusal(reply)
	switch {
	case reply.Status == http.StatusTooManyRequests, reply.Status == http.StatusServiceUnavailable:
		return true, refusal
	case refusal.Transient():
		if !idempotent {
			return false, fmt.Errorf("%w: %w", ErrUnknownOutcome, refusal)
		}
		return true, refusal
	default:
		return false, refusal
	}
}

// pause waits as long as the server requests, or twice as long as the last
// time.
func (c *Client) pause(ctx context.Context, attempt int, reply *Reply, failure error) error {
	d := Backoff(attempt)
	if reply != nil {
		if asked, ok := retryAfter(reply.Header.Get("Retry-After"), reply.Header.Get("Date")); ok {
			d = asked
		}
	}
	if d > c.opts.MaxWait {
		return fmt.Errorf("%w; it asks to wait %s: run the same command again later, it goes on where it stopped", failure, d.Round(time.Second))
	}
	c.opts.Note(fmt.Sprintf("%v; trying again in %s", failure, d.Round(100*time.Millisecond)))
	return c.opts.Wait(ctx, d)
}

// Pause waits before the caller's own next attempt.
func (c *Client) Pause(ctx context.Context, attempt int, failure error) error {
	return c.pause(ctx, attempt, nil, failure)
}

// Attempts returns how often one request is sent.
func (c *Client) Attempts() int { return c.opts.Attempts }

// Backoff returns the wait before attempt n+1: half a second, doubled each
// time, half a minute at most.
func Backoff(attempt int) time.Duration {
	return min(500*time.Millisecond<<min(attempt-1, 10), 30*time.Second)
}

// retryAfter parses the two forms of the header (RFC 9110, 10.2.3): seconds,
// or a date, which it compares with the server's own clock.
func retryAfter(value, date string) (time.Duration, bool) {
	value = strings.TrimSpace(value)
	if seconds, err := strconv.ParseUint(value, 10, 31); err == nil {
		return time.Duration(seconds) * time.Second, true
	}
	at, err := http.ParseTime(value)
	now, clock := http.ParseTime(date)
	if err != nil || clock != nil {
		return 0, false
	}
	return max(at.Sub(now), 0), true
}
