package pseudonym

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"net/url"
	"os"
	"regexp"
	"strings"
	"time"

	"github.com/google/uuid"

	"runsheet.example/profiles"
)

// KeySize is the length of a key in bytes.
const KeySize = sha256.Size

// ReadKey reads a key.
func ReadKey(path string) ([]byte, error) {
	key, err := os.ReadFile(path)
	if err == nil && len(key) != KeySize {
		err = fmt.Errorf("%s: a key has %d bytes, this file has %d; write one with --new-key", path, KeySize, len(key))
	}
	return key, err
}

// NewKey writes a new random key into a file that does not exist, for the owner
// to read only.
func NewKey(path string) ([]byte, error) {
	key := make([]byte, KeySize)
	_, _ = rand.Read(key) // never fails
	file, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return nil, err
	}
	_, err = file.Write(key)
	return key, errors.Join(err, file.Sync(), file.Close())
}

// secret makes names and offsets. Each kind of name has a label of its own, so
// that one kind says nothing about another.
type secret []byte

func (s secret) sum(label, text string) []byte {
	h := hmac.New(sha256.New, s)
	h.Write([]byte(label + "\x00" + text))
	return h.Sum(nil)
}

// uuid is a name in the form of a UUID of version 8 (RFC 9562, 5.8).
func (s secret) uuid(label, text string) string {
	u := uuid.UUID(s.sum(label, text)[:16])
	u[6], u[8] = u[6]&0x0f|0x80, u[8]&0x3f|0x80
	return u.String()
}

// The offset of a patient is from 26 to 260 weeks: beyond the seasons, and so
// that a year of records hides which year it was.
const (
	leastWeeks = 26
	mostWeeks  = 260
)

// offset is the number of days by which all dates of a patient are shifted.
func (s secret) offset(patient string) int {
	n := binary.BigEndian.Uint64(s.sum("shift", patient))
	days := 7 * (leastWeeks + int(n>>1%(mostWeeks-leastWeeks+1)))
	if n&1 == 1 {
		return -days
	}
	return days
}

var (
	uuidShape  = regexp.MustCompile(`(?i)[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}`)
	dateShape  = regexp.MustCompile(`^\d{4}-\d\d-\d\d(T[0-9:.]+(Z|[+-]\d\d:\d\d))?$`)
	typeAndID  = regexp.MustCompile(`^(?:https?://.*/)?([A-Z][A-Za-z]+)/([A-Za-z0-9.-]{1,64})$`)
	typeSearch = regexp.MustCompile(`^(?:([A-Z][A-Za-z]+)\?)?([A-Za-z:.]+=.*)$`)
)

// base stands in place of the address of a server.
const base = "https://pseudonymous.invalid/"

// name is the new name for an id, a urn:uuid: or another URI.
func (s secret) name(text string) string {
	name := s.uuid("id", strings.ToLower(strings.TrimPrefix(text, "urn:uuid:")))
	switch m := typeAndID.FindStringSubmatch(text); {
	case m != nil && known().words[m[1]]:
		made := m[1] + "/" + s.uuid("id", strings.ToLower(m[2]))
		if strings.HasPrefix(text, "http") {
			return base + made
		}
		return made
	case strings.Contains(text, ":"):
		return "urn:uuid:" + name
	}
	return name
}

// identifier is the new system and value of an identifier.
func (s secret) identifier(system, value string) (newSystem, newValue string) {
	if system == profiles.RecordIdentifier {
		return system, "urn:uuid:" + strings.TrimPrefix(s.name(value), "urn:uuid:")
	}
	return "urn:uuid:" + s.uuid("system", system), s.uuid("patient", system+"|"+value)
}

// target is the new text of a reference, the URL of a request or a search; not
// ok if it has another form.
func (s secret) target(text string, days int) (out string, ok bool) {
	if search := typeSearch.FindStringSubmatch(text); search != nil {
		return s.search(search[1], search[2], days)
	}
	if m := typeAndID.FindStringSubmatch(text); known().words[text] || m != nil && known().words[m[1]] || strings.HasPrefix(text, "urn:uuid:") {
		if known().words[text] {
			return text, true
		}
		return s.name(text), true
	}
	return "", false
}

// parameters are the search parameters that a condition may have.
var parameters = map[string]bool{
	"identifier": true, "recorded": true, "target:Procedure.identifier": true, "target:Observation.identifier": true,
	"patient:Patient.identifier": true, "subject:Patient.identifier": true, "patient.identifier": true, "subject.identifier": true,
}

func (s secret) search(resource, query string, days int) (out string, ok bool) {
	var parts []string
	for part := range strings.SplitSeq(query, "&") {
		name, value, _ := strings.Cut(part, "=")
		value, err := url.PathUnescape(value)
		if err != nil || !parameters[name] {
			return "", false
		}
		if system, value, two := strings.Cut(value, "|"); two {
			system, value = s.identifier(system, value)
			parts = append(parts, name+"="+system+"|"+value)
			continue
		}
		shifted, ok := shift(value, days)
		if !ok {
			return "", false
		}
		parts = append(parts, name+"="+url.QueryEscape(shifted))
	}
	if resource != "" {
		if !known().words[resource] {
			return "", false
		}
		resource += "?"
	}
	return resource + strings.Join(parts, "&"), true
}

// shift shifts a date or a time by whole days. The time of day and the offset
// from UTC stay as written, so that the time between any two instants stays
// too. A date without a day is not ok: it would be another month by a part.
func shift(text string, days int) (string, bool) {
	if !dateShape.MatchString(text) {
		return "", false
	}
	day, err := time.Parse(time.DateOnly, text[:len(time.DateOnly)])
	if err != nil {
		return "", false
	}
	shifted := day.AddDate(0, 0, days)
	if year := shifted.Year(); year < 1 || year > 9999 {
		return "", false
	}
	return shifted.Format(time.DateOnly) + text[len(time.DateOnly):], true
}
