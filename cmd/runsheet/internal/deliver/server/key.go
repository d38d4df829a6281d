package server

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rsa"
	"errors"

	"github.com/go-jose/go-jose/v4"
)

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
