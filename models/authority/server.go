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
	"net/netip"
	"slices"
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
// kept in memory only, and renewed while it serves: before they end, and once somebody
// connects to an address that they do not name. So a machine that is given another
// address goes on, and tablets that trust the authority notice nothing.
type Server struct {
	authority *Authority
	names     func() (Names, error)
	now       func() time.Time

	mu      sync.Mutex
	current *tls.Certificate
	arrived []netip.Addr // that were connected to, the newest last, arrivedKept at most
}

// arrivedKept is how many addresses beside the names are kept: a machine has a few of
// IPv6, and new ones every day.
const arrivedKept = 16

// Server makes the certificates of a server of the names that it has at that moment, as
// far as the authority covers them.
func (a *Authority) Server(names func() (Names, error), now func() time.Time) *Server {
	return &Server{authority: a, names: names, now: now}
}

// TLS is how the server speaks: by TLS 1.2 or later, HTTP/2 or HTTP/1.1.
func (s *Server) TLS() *tls.Config {
	return &tls.Config{MinVersion: tls.VersionTLS12, NextProtos: []string{"h2", "http/1.1"}, GetCertificate: s.Certificate}
}

// Certificate is the one of the moment, for who says hello.
func (s *Server) Certificate(hello *tls.ClientHelloInfo) (*tls.Certificate, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	now := s.now()
	at := arrivedAt(hello)
	unnamed := s.unnamed(at)
	if unnamed && !slices.Contains(s.arrived, at) {
		s.arrived = append(s.arrived[max(0, len(s.arrived)-arrivedKept+1):], at)
	}
	if !unnamed && s.holds(now, renewBefore) {
		return s.current, nil
	}
	next, err := s.make(now)
	if err != nil {
		if !unnamed && s.holds(now, 0) { // until it ends it is tried again
			return s.current, nil
		}
		return nil, err
	}
	s.current = next
	return next, nil
}

// holds says whether the certificate is good now and for a while.
func (s *Server) holds(now time.Time, while time.Duration) bool {
	return s.current != nil && !now.Before(s.current.Leaf.NotBefore) && now.Before(s.current.Leaf.NotAfter.Add(-while))
}

// arrivedAt is the address of this machine that somebody connected to.
func arrivedAt(hello *tls.ClientHelloInfo) netip.Addr {
	if hello == nil || hello.Conn == nil {
		return netip.Addr{}
	}
	tcp, ok := hello.Conn.LocalAddr().(*net.TCPAddr)
	if !ok {
		return netip.Addr{}
	}
	return tcp.AddrPort().Addr().Unmap().WithZone("")
}

// unnamed says whether the certificate lacks an address that it could name.
func (s *Server) unnamed(at netip.Addr) bool {
	return s.current != nil && at.IsValid() && s.authority.covers(at) &&
		!slices.ContainsFunc(s.current.Leaf.IPAddresses, func(ip net.IP) bool { return ip.Equal(at.AsSlice()) })
}

// make makes a certificate. Where the machine's clock has fallen behind the making
// of the authority it counts from there: a certificate older than its authority
// would be none.
func (s *Server) make(now time.Time) (*tls.Certificate, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, fmt.Errorf("making the server's key: %w", err)
	}
	names, err := s.names()
	if err != nil {
		return nil, err
	}
	names, _ = s.authority.Covered(names)
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
		Subject:   pkix.Name{Organization: []string{"Faceside"}, CommonName: names.Machine},
		NotBefore: from, NotAfter: until, DNSNames: names.DNS,
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		BasicConstraintsValid: true,
	}
	for _, a := range s.arrived {
		if !slices.Contains(names.Addresses, a) {
			names.Addresses = append(names.Addresses, a)
		}
	}
	for _, a := range names.Addresses {
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
