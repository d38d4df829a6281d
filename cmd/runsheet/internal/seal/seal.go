// Package seal signs the manifest of an export, or a small list of manifests of
// a unit's year, and verifies such signatures. They are SSH signatures
// (OpenSSH PROTOCOL.sshsig), so that ssh-keygen -Y sign and -Y verify make and
// check them too. The bytes of a file are signed, not its meaning.
//
// A signature says who signed, not when: it has no time that anybody else
// vouches for.
package seal

import (
	"bytes"
	"crypto/rsa"
	"errors"
	"fmt"
	"io"
	"os"
	"path"
	"strings"
	"time"

	"github.com/hiddeco/sshsig"
	"golang.org/x/crypto/ssh"
)

const (
	// Namespace is what the signatures are for: one that was made for something
	// else proves nothing here.
	Namespace = "manifest@runsheet.example"
	// Ending is that of the file with the signature of a file, beside it.
	Ending = ".sig"
	// leastRSA is the length of an RSA key in bits from which on it is accepted
	// (NIST SP 800-57 part 1, table 4: beyond 2030; memory).
	leastRSA = 3072
)

// Sign signs what message holds with a private key in the format of OpenSSH. It
// refuses a key that [Verify] would refuse.
func Sign(message io.Reader, key []byte) ([]byte, error) {
	signer, err := ssh.ParsePrivateKey(key)
	var locked *ssh.PassphraseMissingError
	switch {
	case errors.As(err, &locked):
		return nil, fmt.Errorf("the key has a passphrase: sign with ssh-keygen -Y sign -f KEY -n %s FILE", Namespace)
	case err != nil:
		return nil, fmt.Errorf("expected a private key in the format of OpenSSH: %w", err)
	}
	if err := strong(signer.PublicKey()); err != nil {
		return nil, err
	}
	signature, err := sshsig.Sign(message, signer, sshsig.HashSHA512, Namespace)
	if err != nil {
		return nil, err
	}
	return sshsig.Armor(signature), nil
}

// Verify returns the key with which a message was signed for our namespace. It
// does not say whose key that is: see [Signers].
func Verify(message io.Reader, signature []byte) (ssh.PublicKey, error) {
	s, err := sshsig.Unarmor(signature)
	if err != nil {
		return nil, fmt.Errorf("not an SSH signature: %w", err)
	}
	if s.Namespace != Namespace {
		return nil, fmt.Errorf("made for %q, not for %q", s.Namespace, Namespace)
	}
	if err := strong(s.PublicKey); err != nil {
		return nil, err
	}
	if s.Signature.Format == ssh.KeyAlgoRSA {
		return nil, errors.New("made with SHA-1")
	}
	if err := sshsig.Verify(message, s, s.PublicKey, s.HashAlgorithm, Namespace); err != nil {
		return nil, fmt.Errorf("it is not of this file: %w", err)
	}
	return s.PublicKey, nil
}

// strong refuses kinds of keys that are too weak.
func strong(key ssh.PublicKey) error {
	switch key.Type() {
	case ssh.KeyAlgoED25519, ssh.KeyAlgoSKED25519, ssh.KeyAlgoSKECDSA256, ssh.KeyAlgoECDSA256, ssh.KeyAlgoECDSA384, ssh.KeyAlgoECDSA521:
		return nil
	case ssh.KeyAlgoRSA:
		if public, ok := key.(ssh.CryptoPublicKey).CryptoPublicKey().(*rsa.PublicKey); ok && public.N.BitLen() >= leastRSA {
			return nil
		}
		return fmt.Errorf("an RSA key of less than %d bits", leastRSA)
	}
	return fmt.Errorf("a key of the type %s", key.Type())
}

// Signers are the keys that somebody vouches for.
type Signers []signer

// signer is one line of the file.
type signer struct {
	who           string
	key           []byte
	namespaces    []string // patterns; none allows all
	after, before time.Time
}

// ReadSigners reads a file in the format of allowed_signers (ssh-keygen(1)). An
// error names the line that cannot be read: a line that is left out could be the
// one that ends a key. Certificates are not supported.
func ReadSigners(file string) (out Signers, err error) {
	text, err := os.ReadFile(file)
	if err != nil {
		return nil, err
	}
	for i, line := range strings.Split(string(text), "\n") {
		if line = strings.TrimSpace(line); line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		one, err := readSigner(line)
		if err != nil {
			return nil, fmt.Errorf("%s, line %d: %w", file, i+1, err)
		}
		out = append(out, one)
	}
	return out, nil
}

func readSigner(line string) (s signer, err error) {
	who, rest, ok := strings.Cut(line, " ")
	if strings.HasPrefix(line, `"`) {
		who, rest, ok = strings.Cut(line[1:], `" `)
	}
	if s.who = who; !ok {
		return s, errors.New("expected names and a public key")
	}
	key, _, options, _, err := ssh.ParseAuthorizedKey([]byte(rest))
	if err != nil {
		return s, fmt.Errorf("expected a public key after the names: %w", err)
	}
	s.key = key.Marshal()
	for _, option := range options {
		name, value, _ := strings.Cut(option, "=")
		value = strings.Trim(value, `"`)
		switch strings.ToLower(name) {
		case "namespaces":
			s.namespaces = strings.Split(value, ",")
		case "valid-after":
			s.after, err = moment(value)
		case "valid-before":
			s.before, err = moment(value)
		default:
			err = fmt.Errorf("the option %q is not supported", name)
		}
		if err != nil {
			return s, err
		}
	}
	return s, nil
}

// moment reads YYYYMMDD[HHMM[SS]][Z], in local time without Z.
func moment(text string) (time.Time, error) {
	zone, digits := time.Local, text
	if strings.HasSuffix(text, "Z") {
		zone, digits = time.UTC, text[:len(text)-1]
	}
	for _, layout := range []string{"20060102", "200601021504", "20060102150405"} {
		if at, err := time.ParseInLocation(layout, digits, zone); err == nil && len(digits) == len(layout) {
			return at, nil
		}
	}
	return time.Time{}, fmt.Errorf("%q: expected a time such as 20251231 or 202512312359Z", text)
}

// Who returns the names of a key that may sign at a time, or an error that says
// why it may not.
func (s Signers) Who(key ssh.PublicKey, now time.Time) (string, error) {
	why := errors.New("nobody vouches for the key")
	for _, one := range s {
		if !bytes.Equal(one.key, key.Marshal()) {
			continue
		}
		switch {
		case !one.allows(Namespace):
			why = fmt.Errorf("the key of %s may not sign for %s", one.who, Namespace)
		case now.Before(one.after):
			why = fmt.Errorf("the key of %s is not valid before %s", one.who, one.after.Format(time.DateOnly))
		case !one.before.IsZero() && !now.Before(one.before):
			why = fmt.Errorf("the key of %s is not valid since %s", one.who, one.before.Format(time.DateOnly))
		default:
			return one.who, nil
		}
	}
	return "", why
}

// allows reports whether one of the patterns matches and none excludes.
func (s signer) allows(namespace string) bool {
	allowed := len(s.namespaces) == 0
	for _, pattern := range s.namespaces {
		positive, excludes := strings.CutPrefix(pattern, "!")
		if match, err := path.Match(positive, namespace); err == nil && match {
			if excludes {
				return false
			}
			allowed = true
		}
	}
	return allowed
}
