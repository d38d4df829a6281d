package receipt

import (
	"crypto/pbkdf2"
	"crypto/sha256"
	"encoding/hex"
)

// digestRounds makes guessing patient numbers slow for somebody who has the
// receipt: about 20 ms each on one core (measured), so that a million take
// some hours. It must never change, because every receipt's digest would
// change with it.
const digestRounds = 100_000

// digest is a hash of the patient's identifier: PBKDF2 with SHA-256 (RFC
// 8018), salted with the log's id. A receipt does not contain the identifier
// itself.
//
// Decision 23. A receipt is of one patient and one log. Each session's
// subjects are compared with it, and the Patient at the server, read before
// the first write, must carry the identifier. A Patient named by hand may lack
// one of that system but must not have another one. Only send --refile
// overrides this.
func (r *Receipt) digest(system, value string) string {
	key, err := pbkdf2.Key(sha256.New, system+"\x1f"+value, []byte(r.LogID), digestRounds, sha256.Size)
	if err != nil {
		return "" // cannot happen with these lengths
	}
	return hex.EncodeToString(key)
}

// Fits reports whether the receipt belongs to the patient with an identifier,
// as far as it records one: receipts of the first versions do not.
func (r *Receipt) Fits(system, value string) bool {
	return r.Person == "" || r.Person == r.digest(system, value)
}

// Bind assigns the receipt to the patient with an identifier.
func (r *Receipt) Bind(system, value string) { r.Person = r.digest(system, value) }
