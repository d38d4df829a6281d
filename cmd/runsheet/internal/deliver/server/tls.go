package server

import (
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"net"
	"os"
)

// TLSFiles are PEM files for a server with its own certificates: authorities
// trusted in addition to the system's, and the client certificate with its
// key. Each may be empty.
type TLSFiles struct{ Authorities, Certificate, Key string }

// Config reads the files. It requires TLS 1.2 or later.
func (f TLSFiles) Config() (*tls.Config, error) {
	config := &tls.Config{MinVersion: tls.VersionTLS12}
	if f.Authorities != "" {
		text, err := os.ReadFile(f.Authorities)
		if err != nil {
			return nil, fmt.Errorf("the certificate authorities could not be read: %w", err)
		}
		config.RootCAs, err = x509.SystemCertPool()
		if err != nil {
			config.RootCAs = x509.NewCertPool()
		}
		if !config.RootCAs.AppendCertsFromPEM(text) {
			return nil, fmt.Errorf("%s: expected certificates in PEM", f.Authorities)
		}
	}
	if f.Certificate != "" {
		pair, err := tls.LoadX509KeyPair(f.Certificate, f.Key)
		if err != nil {
			return nil, fmt.Errorf("the client certificate could not be read: %w", err)
		}
		config.Certificates = []tls.Certificate{pair}
	}
	return config, nil
}

// certificateFault explains a TLS error that a retry cannot fix and that means
// that the server read nothing of the request; nil for any other error.
func certificateFault(err error) error {
	var ours *tls.CertificateVerificationError
	var alert *net.OpError // crypto/tls reports a peer's alert in this form
	switch {
	case errors.As(err, &ours):
		return fmt.Errorf("the server's certificate is not accepted (%w): if its authority is the clinic's own, name it with --ca-file", ours.Err)
	case errors.As(err, &alert) && alert.Op == "remote error":
		return fmt.Errorf("the server ended the TLS handshake (%w): it may ask for a client certificate (--client-cert and --client-key)", alert.Err)
	default:
		return nil
	}
}
