package authority

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"encoding/hex"
	"encoding/pem"
	"errors"
	"io"
	"math/big"
	"net"
	"net/netip"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var monday = time.Date(2027, time.March, 1, 8, 0, 0, 0, time.UTC)

var shopNames = Names{
	Machine:   "bench",
	DNS:       []string{"localhost", "bench", "bench.local"},
	Addresses: []netip.Addr{netip.MustParseAddr("127.0.0.1"), netip.MustParseAddr("192.0.2.20"), netip.MustParseAddr("2001:db8::20")},
}

// always is a machine whose names stay.
func always(n Names) func() (Names, error) { return func() (Names, error) { return n, nil } }

func open(t *testing.T, folder string) *Authority {
	t.Helper()
	a, err := Open(folder, shopNames, monday)
	require.NoError(t, err)
	return a
}

// verify is what a browser that trusts the authority alone thinks of a certificate.
func verify(a *Authority, certificate *x509.Certificate, name string, at time.Time) error {
	_, err := certificate.Verify(x509.VerifyOptions{Roots: a.Pool(), DNSName: name, CurrentTime: at, KeyUsages: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}})
	return err
}

func leaf(t *testing.T, s *Server) *x509.Certificate {
	t.Helper()
	c, err := s.Certificate(nil)
	require.NoError(t, err)
	return c.Leaf
}

func TestTheServersCertificateIsTrustedByItsNames(t *testing.T) {
	a := open(t, t.TempDir())
	c := leaf(t, a.Server(always(shopNames), func() time.Time { return monday }))
	for _, name := range []string{"localhost", "bench", "BENCH.local", "127.0.0.1", "192.0.2.20", "2001:db8::20"} {
		assert.NoError(t, verify(a, c, name, monday), name)
	}
	for _, name := range []string{"bank.example", "local", "192.0.2.21", "bench.example", "other.bench.local"} {
		assert.Error(t, verify(a, c, name, monday), name)
	}
	assert.False(t, c.IsCA)
	assert.LessOrEqual(t, c.NotAfter.Sub(c.NotBefore), 825*24*time.Hour)
	other := open(t, t.TempDir())
	assert.Error(t, verify(other, c, "bench", monday), "another shop's authority does not vouch for it")
}

// Whoever steals the key can vouch for nothing else by it.
func TestTheAuthorityIsConstrainedToItsNames(t *testing.T) {
	a := open(t, t.TempDir())
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(t, err)
	sign := func(change func(c *x509.Certificate)) *x509.Certificate {
		c := &x509.Certificate{SerialNumber: big.NewInt(7), NotBefore: monday, NotAfter: monday.AddDate(0, 1, 0), ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}, BasicConstraintsValid: true}
		change(c)
		der, err := x509.CreateCertificate(rand.Reader, c, a.certificate, key.Public(), a.key)
		require.NoError(t, err)
		c, err = x509.ParseCertificate(der)
		require.NoError(t, err)
		return c
	}
	own := sign(func(c *x509.Certificate) { c.DNSNames = []string{"bench"} })
	require.NoError(t, verify(a, own, "bench", monday), "the test's own certificates are sound")
	for name, c := range map[string]*x509.Certificate{
		"bank.example": sign(func(c *x509.Certificate) { c.DNSNames = []string{"bank.example"} }),
		"bench":        sign(func(c *x509.Certificate) { c.DNSNames = []string{"bench", "bank.example"} }),
		"192.0.2.21":   sign(func(c *x509.Certificate) { c.IPAddresses = []net.IP{net.ParseIP("192.0.2.21")} }),
		"2001:db8::21": sign(func(c *x509.Certificate) { c.IPAddresses = []net.IP{net.ParseIP("2001:db8::21")} }),
	} {
		var invalid x509.CertificateInvalidError
		require.ErrorAs(t, verify(a, c, name, monday), &invalid, name)
		assert.Equal(t, x509.CANotAuthorizedForThisName, invalid.Reason, name)
	}
	assert.True(t, a.certificate.PermittedDNSDomainsCritical, "who does not understand the constraint must not trust")
	_, err = own.Verify(x509.VerifyOptions{Roots: a.Pool(), CurrentTime: monday, KeyUsages: []x509.ExtKeyUsage{x509.ExtKeyUsageCodeSigning}})
	require.Error(t, err, "for servers only")

	under := sign(func(c *x509.Certificate) { c.IsCA, c.KeyUsage = true, x509.KeyUsageCertSign })
	deeper := &x509.Certificate{SerialNumber: big.NewInt(8), DNSNames: []string{"bench"}, NotBefore: monday, NotAfter: monday.AddDate(0, 1, 0)}
	der, err := x509.CreateCertificate(rand.Reader, deeper, under, key.Public(), key)
	require.NoError(t, err)
	deeper, err = x509.ParseCertificate(der)
	require.NoError(t, err)
	between := x509.NewCertPool()
	between.AddCert(under)
	_, err = deeper.Verify(x509.VerifyOptions{Roots: a.Pool(), Intermediates: between, DNSName: "bench", CurrentTime: monday})
	require.Error(t, err, "it makes no other authority")
}

// shake connects to a server by TLS. It goes over TCP, which keeps what is not read yet:
// who refuses a certificate writes while the server still does.
func shake(t *testing.T, server *tls.Config, client *tls.Config) (tls.ConnectionState, error) {
	t.Helper()
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer listener.Close()
	go func() {
		far, err := listener.Accept()
		if err != nil {
			return
		}
		defer far.Close()
		s := tls.Server(far, server)
		if s.Handshake() == nil {
			_, _ = io.Copy(io.Discard, s)
		}
	}()
	near, err := net.Dial("tcp", listener.Addr().String())
	require.NoError(t, err)
	defer near.Close()
	c := tls.Client(near, client)
	err = c.Handshake()
	return c.ConnectionState(), err
}

func TestConnectionsAreByTLS12OrLater(t *testing.T) {
	a := open(t, t.TempDir())
	now := func() time.Time { return monday }
	server := a.Server(always(shopNames), now).TLS()
	trusting := &tls.Config{RootCAs: a.Pool(), ServerName: "bench.local", Time: now}
	state, err := shake(t, server, trusting)
	require.NoError(t, err)
	assert.Equal(t, uint16(tls.VersionTLS13), state.Version)

	old := trusting.Clone()
	old.MinVersion, old.MaxVersion = tls.VersionTLS12, tls.VersionTLS12
	_, err = shake(t, server, old)
	require.NoError(t, err)
	old.MinVersion, old.MaxVersion = tls.VersionTLS10, tls.VersionTLS11
	_, err = shake(t, server, old)
	require.Error(t, err)

	stranger := trusting.Clone()
	stranger.RootCAs = nil
	_, err = shake(t, server, stranger)
	require.Error(t, err, "nobody else trusts it")
	elsewhere := trusting.Clone()
	elsewhere.ServerName = "bank.example"
	_, err = shake(t, server, elsewhere)
	require.Error(t, err)
}

func TestCertificatesRenewThemselves(t *testing.T) {
	a := open(t, t.TempDir())
	now := monday
	s := a.Server(always(shopNames), func() time.Time { return now })
	first := leaf(t, s)
	now = monday.Add(leafLife - renewBefore - time.Minute)
	assert.Equal(t, first.Raw, leaf(t, s).Raw, "kept as long as it may be")
	for range 12 { // three years
		before := leaf(t, s)
		now = now.Add(renewBefore + 2*leafLife/3)
		next := leaf(t, s)
		assert.NotEqual(t, before.Raw, next.Raw)
		assert.NotEqual(t, before.SerialNumber, next.SerialNumber)
		require.NoError(t, verify(a, next, "bench", now))
		require.NoError(t, verify(a, next, "bench", now.Add(renewBefore)), "a tablet whose clock is ahead takes it, too")
		require.NoError(t, verify(a, next, "bench", now.Add(-backdate)), "and one whose clock is behind")
	}
	now = a.certificate.NotAfter.Add(-time.Hour)
	assert.Equal(t, a.certificate.NotAfter, leaf(t, s).NotAfter, "never longer than the authority")
}

// A box that woke with its clock in 1970 serves by a certificate that tablets take, as
// their clocks are right.
func TestAClockThatIsBehind(t *testing.T) {
	folder := t.TempDir()
	_, err := Open(folder, shopNames, time.Unix(0, 0))
	require.ErrorContains(t, err, "clock says 1970-01-01")
	assert.NoFileExists(t, filepath.Join(folder, File))

	a := open(t, folder)
	now := time.Unix(0, 0)
	s := a.Server(always(shopNames), func() time.Time { return now })
	require.NoError(t, verify(a, leaf(t, s), "bench", monday))
	now = monday.AddDate(1, 0, 0)
	require.NoError(t, verify(a, leaf(t, s), "bench", now), "set right, a new one is made")
	now = monday
	require.NoError(t, verify(a, leaf(t, s), "bench", now), "set back, too")
}

func TestTheAuthorityIsKept(t *testing.T) {
	folder := t.TempDir()
	a := open(t, folder)
	info, err := os.Stat(filepath.Join(folder, File))
	require.NoError(t, err)
	if runtime.GOOS != "windows" {
		assert.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	}
	entries, err := os.ReadDir(folder)
	require.NoError(t, err)
	assert.Len(t, entries, 1, "nothing half is left")

	again, err := Open(folder, Names{Machine: "renamed", DNS: []string{"renamed"}}, monday.AddDate(5, 0, 0))
	require.NoError(t, err)
	assert.Equal(t, a.Fingerprint(), again.Fingerprint())
	assert.Equal(t, "Faceside on bench", again.Name())
	block, rest := pem.Decode(again.PEM())
	assert.Empty(t, rest)
	sum := sha256.Sum256(block.Bytes)
	assert.Equal(t, hex.EncodeToString(sum[:]), strings.ToLower(strings.ReplaceAll(a.Fingerprint(), ":", "")))
	assert.NotContains(t, string(again.PEM()), "PRIVATE")
}

func TestNamesThatCameLaterAreNotVouchedFor(t *testing.T) {
	a := open(t, t.TempDir())
	later := Names{Machine: "bench", DNS: []string{"bench.local", "shop.example"}, Addresses: []netip.Addr{netip.MustParseAddr("192.0.2.20"), netip.MustParseAddr("198.51.100.4")}}
	covered, missing := a.Covered(later)
	assert.Equal(t, []string{"shop.example", "198.51.100.4"}, missing)
	assert.Equal(t, []string{"localhost", "bench", "bench.local", "10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "fc00::/7", "127.0.0.1", "192.0.2.20", "2001:db8::20"}, a.Limits())
	assert.Equal(t, []string{"bench.local"}, covered.DNS)
	c := leaf(t, a.Server(always(later), func() time.Time { return monday }))
	require.NoError(t, verify(a, c, "192.0.2.20", monday), "the others still hold")
	require.Error(t, verify(a, c, "shop.example", monday))
}

// at is a connection that came to an address of this machine.
type at struct {
	net.Conn
	address netip.Addr
}

func (c at) LocalAddr() net.Addr { return net.TCPAddrFromAddrPort(netip.AddrPortFrom(c.address, 8321)) }

// A machine that is given another address within a private network goes on by a new
// certificate of the same authority, from the first who connects to it there.
func TestAMachineIsGivenAnotherAddress(t *testing.T) {
	a := open(t, t.TempDir())
	names := shopNames
	s := a.Server(func() (Names, error) { return names, nil }, func() time.Time { return monday })
	arrives := func(text string) *x509.Certificate {
		c, err := s.Certificate(&tls.ClientHelloInfo{Conn: at{address: netip.MustParseAddr(text)}})
		require.NoError(t, err)
		return c.Leaf
	}
	first := arrives("192.0.2.20")
	for n, given := range []string{"192.168.178.31", "10.0.0.7", "172.20.1.1", "fd00::31"} {
		names.Addresses = []netip.Addr{netip.MustParseAddr("127.0.0.1"), netip.MustParseAddr(given)}
		c := arrives(given)
		require.NoError(t, verify(a, c, given, monday), given)
		assert.Len(t, c.IPAddresses, len(names.Addresses)+n, "each is named once, and those that came before it")
		require.NoError(t, verify(a, c, "bench.local", monday), "and by its names as ever")
		assert.NotEqual(t, first.Raw, c.Raw)
		assert.Equal(t, c.Raw, arrives(given).Raw, "made once")
		assert.Equal(t, c.Raw, arrives("127.0.0.1").Raw)
		if n == 0 {
			require.Error(t, verify(a, c, "192.0.2.20", monday), "that is another machine's now")
		}
	}
	// Addresses that come in turns, as IPv6 gives them, need no certificate each time.
	one, other := arrives("fd00::1"), arrives("fd00::2")
	assert.NotEqual(t, one.Raw, other.Raw)
	assert.Equal(t, other.Raw, arrives("fd00::1").Raw)
	for n := range 100 {
		arrives(netip.AddrFrom4([4]byte{10, 1, 1, byte(n)}).String())
	}
	assert.Len(t, s.arrived, arrivedKept)

	before := arrives("10.0.0.7")
	assert.Equal(t, before.Raw, arrives("198.51.100.4").Raw, "of the internet only what it was made for")
	require.Error(t, verify(a, before, "198.51.100.4", monday))

	var broken error
	s = a.Server(func() (Names, error) { return shopNames, broken }, func() time.Time { return monday })
	here := arrives("192.0.2.20")
	broken = errors.New("no interfaces")
	for range 2 {
		_, err := s.Certificate(&tls.ClientHelloInfo{Conn: at{address: netip.MustParseAddr("10.9.9.9")}})
		require.ErrorContains(t, err, "no interfaces")
	}
	assert.Equal(t, here.Raw, arrives("192.0.2.20").Raw, "who connects as ever is served")
	assert.Len(t, s.arrived, 1, "it is kept once")
	broken = nil
	named := arrives("10.9.9.9")
	require.NoError(t, verify(a, named, "10.9.9.9", monday), "as soon as it can be")
	assert.Len(t, named.IPAddresses, len(shopNames.Addresses)+1)
}

// One that could not be renewed is good until it ends.
func TestACertificateThatCannotBeRenewedIsShownWhileItHolds(t *testing.T) {
	a := open(t, t.TempDir())
	now, broken := monday, error(nil)
	s := a.Server(func() (Names, error) { return shopNames, broken }, func() time.Time { return now })
	first := leaf(t, s)
	broken = errors.New("no interfaces")
	now = first.NotAfter.Add(-time.Minute)
	assert.Equal(t, first.Raw, leaf(t, s).Raw)
	now = first.NotAfter
	_, err := s.Certificate(nil)
	require.ErrorContains(t, err, "no interfaces")
	broken = nil
	assert.NotEqual(t, first.Raw, leaf(t, s).Raw)
}

// What cannot be used is told, and never written over: tablets trust it.
func TestADamagedAuthorityIsLeftAsItIs(t *testing.T) {
	good, other := t.TempDir(), t.TempDir()
	open(t, good)
	open(t, other)
	read := func(folder string) string {
		data, err := os.ReadFile(filepath.Join(folder, File))
		require.NoError(t, err)
		return string(data)
	}
	key, certificate, found := strings.Cut(read(good), "-----BEGIN CERTIFICATE-----")
	require.True(t, found)
	certificate = "-----BEGIN CERTIFICATE-----" + certificate
	_, foreign, _ := strings.Cut(read(other), "-----BEGIN CERTIFICATE-----")
	scratched := key[:60] + strings.Repeat("A", 20) + key[80:]
	for name, tt := range map[string]struct{ text, want string }{
		"empty":           {"", "there is no key in it"},
		"no certificate":  {key, "there is no certificate in it"},
		"no key":          {certificate, "there is no key in it"},
		"broken off":      {(key + certificate)[:len(key)+100], "there is no certificate in it"},
		"scratched":       {scratched + certificate, "its key"},
		"two halves":      {key + "-----BEGIN CERTIFICATE-----" + foreign, "do not belong together"},
		"something else":  {"not a certificate at all", "there is no key in it"},
		"a broken record": {key + strings.Replace(certificate, "MII", "AAA", 1), "its certificate"},
	} {
		t.Run(name, func(t *testing.T) {
			folder := t.TempDir()
			path := filepath.Join(folder, File)
			require.NoError(t, os.WriteFile(path, []byte(tt.text), 0o600))
			_, err := Open(folder, shopNames, monday)
			require.ErrorContains(t, err, tt.want)
			assert.ErrorContains(t, err, path)
			assert.NotContains(t, err.Error(), "MII", "no part of the key is told")
			assert.Equal(t, tt.text, read(folder))
		})
	}
}

func TestAKeyThatOthersCanReadIsRefused(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("files have no such modes there")
	}
	folder := t.TempDir()
	open(t, folder)
	for _, mode := range []os.FileMode{0o644, 0o640, 0o604, 0o660} {
		require.NoError(t, os.Chmod(filepath.Join(folder, File), mode))
		_, err := Open(folder, shopNames, monday)
		require.ErrorContains(t, err, "can be read by others than its owner")
	}
}

func TestAnAuthorityEnds(t *testing.T) {
	folder := t.TempDir()
	a := open(t, folder)
	_, err := Open(folder, shopNames, a.Ends().Add(-time.Hour))
	require.NoError(t, err)
	_, err = Open(folder, shopNames, a.Ends().Add(time.Hour))
	require.ErrorContains(t, err, "ended on")
}
