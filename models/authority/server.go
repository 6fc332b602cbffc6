package authority

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"fmt"
	"net"
	"sync"
	"time"
)

const (
	// leafLife is how long a certificate of the server lasts. Apple's devices take at
	// most 825 days (Apple, HT210176, requirements for trusted certificates); as these
	// renew themselves, short ones cost nothing.
	leafLife = 90 * 24 * time.Hour
	// renewBefore is how long before its end a certificate is renewed.
	renewBefore = 30 * 24 * time.Hour
)

// Server is what the server shows to those who connect. Its certificate and key are
// kept in memory only, and renewed while it serves.
type Server struct {
	authority *Authority
	names     Names
	now       func() time.Time

	mu      sync.Mutex
	current *tls.Certificate
}

// Server makes the certificates of a server of these names, as far as the authority
// covers them.
func (a *Authority) Server(names Names, now func() time.Time) *Server {
	covered, _ := a.Covered(names)
	return &Server{authority: a, names: covered, now: now}
}

// TLS is how the server speaks: by TLS 1.2 or later, HTTP/2 or HTTP/1.1.
func (s *Server) TLS() *tls.Config {
	return &tls.Config{MinVersion: tls.VersionTLS12, NextProtos: []string{"h2", "http/1.1"}, GetCertificate: s.Certificate}
}

// Certificate is the one of the moment.
func (s *Server) Certificate(*tls.ClientHelloInfo) (*tls.Certificate, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	now := s.now()
	if s.current != nil && !now.Before(s.current.Leaf.NotBefore) && now.Before(s.current.Leaf.NotAfter.Add(-renewBefore)) {
		return s.current, nil
	}
	next, err := s.make(now)
	if err != nil {
		return nil, err
	}
	s.current = next
	return next, nil
}

// make makes a certificate. Where the machine's clock has fallen behind the making
// of the authority it counts from there: a certificate older than its authority
// would be none.
func (s *Server) make(now time.Time) (*tls.Certificate, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, fmt.Errorf("making the server's key: %w", err)
	}
	root := s.authority.certificate
	from := now.Add(-backdate)
	if from.Before(root.NotBefore) {
		from = root.NotBefore
	}
	until := from.Add(backdate + leafLife)
	if until.After(root.NotAfter) {
		until = root.NotAfter
	}
	template := &x509.Certificate{
		Subject:   pkix.Name{Organization: []string{"Faceside"}, CommonName: s.names.Machine},
		NotBefore: from, NotAfter: until, DNSNames: s.names.DNS,
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		BasicConstraintsValid: true,
	}
	for _, a := range s.names.Addresses {
		template.IPAddresses = append(template.IPAddresses, net.IP(a.AsSlice()))
	}
	der, err := x509.CreateCertificate(rand.Reader, template, root, key.Public(), s.authority.key)
	if err != nil {
		return nil, fmt.Errorf("making the server's certificate: %w", err)
	}
	leaf, err := x509.ParseCertificate(der)
	if err != nil {
		return nil, fmt.Errorf("reading the server's certificate: %w", err)
	}
	return &tls.Certificate{Certificate: [][]byte{der}, PrivateKey: key, Leaf: leaf}, nil
}
