package server

import (
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"net"
	"os"
)

// TLSFiles are PEM files for a server with certificates of its own: the
// authorities that are trusted beside the system's, and the client certificate
// with its key. Each may be empty.
type TLSFiles struct{ Authorities, Certificate, Key string }

// Config reads the files. TLS 1.2 is the least that is spoken.
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

// certificateFault explains an error of TLS that another try cannot mend, and
// that says that nothing of the request was read; nil for any other.
func certificateFault(err error) error {
	var ours *tls.CertificateVerificationError
	var alert *net.OpError // crypto/tls gives a peer's alert in this form
	switch {
	case errors.As(err, &ours):
		return fmt.Errorf("the server's certificate is not accepted (%w): if its authority is the clinic's own, name it with --ca-file", ours.Err)
	case errors.As(err, &alert) && alert.Op == "remote error":
		return fmt.Errorf("the server ended the TLS handshake (%w): it may ask for a client certificate (--client-cert and --client-key)", alert.Err)
	default:
		return nil
	}
}
