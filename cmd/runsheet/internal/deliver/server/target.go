package server

import (
	"fmt"
	"net"
	"net/url"
	"strings"

	"runsheet.example/validate/structure"
)

// Target is the base URL of a FHIR server.
type Target struct{ base *url.URL }

// ParseTarget parses a base URL. It must be https, or http on this computer,
// without user, password, query or fragment: other users can see arguments.
func ParseTarget(text string) (Target, error) {
	u, err := url.Parse(text)
	switch {
	case err != nil || u.Host == "" || u.Opaque != "":
		return Target{}, fmt.Errorf("the server's address is not a URL: expected https://HOST/PATH")
	case u.User != nil:
		return Target{}, fmt.Errorf("the server's address holds a user name or password: put a token into a file and name it with --token-file")
	case u.RawQuery != "" || u.Fragment != "" || u.ForceQuery:
		return Target{}, fmt.Errorf("the server's address has a query or fragment: give the base URL alone")
	}
	if err := encrypted(u); err != nil {
		return Target{}, err
	}
	u.Path = strings.TrimRight(u.Path, "/")
	u.RawPath = ""
	return Target{u}, nil
}

// encrypted refuses plain http except to this computer.
func encrypted(u *url.URL) error {
	if u.Scheme == "https" || u.Scheme == "http" && loopback(u.Hostname()) {
		return nil
	}
	return fmt.Errorf("%s would be sent over %q: records go over https, or over http to this computer only", u.Hostname(), u.Scheme)
}

func loopback(host string) bool {
	if host == "localhost" {
		return true
	}
	ip := net.ParseIP(host)
	return ip != nil && ip.IsLoopback()
}

// String returns the base URL without a final slash.
func (t Target) String() string { return t.base.String() }

// url appends a path and query to the base; the empty path is the base itself.
func (t Target) url(path string) string {
	if path == "" {
		return t.base.String()
	}
	return t.base.String() + "/" + path
}

// Relative returns the Type, id and version of a location from the server,
// which may be absolute or relative and may lack the version. It rejects an id
// or version that FHIR does not allow.
func Relative(location string) (resourceType, id, version string, ok bool) {
	if u, err := url.Parse(location); err == nil {
		location = u.Path
	}
	parts := strings.Split(strings.Trim(location, "/"), "/")
	if n := len(parts); n >= 4 && parts[n-2] == "_history" {
		version, parts = parts[n-1], parts[:n-2]
	}
	n := len(parts)
	if n < 2 || !isTypeName(parts[n-2]) || !IsID(parts[n-1]) || version != "" && !IsID(version) {
		return "", "", "", false
	}
	return parts[n-2], parts[n-1], version, true
}

func isTypeName(s string) bool { return s != "" && s[0] >= 'A' && s[0] <= 'Z' && codeOnly(s) == s }

// IsID reports whether a text is an id or version of FHIR R4. The program
// stores, prints and sends such texts from a server.
func IsID(text string) bool { return structure.IsID([]byte(text)) }
