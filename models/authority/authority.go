package authority

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"time"
)

// File is what an authority is kept in, within the shop's folder: its key and its
// certificate in one, so that there is never one without the other.
const File = "authority.pem"

const (
	// life is how long an authority vouches: trusting it takes a walk to every tablet.
	life = 15 * 365 * 24 * time.Hour
	// backdate lets tablets whose clocks are behind take a new certificate.
	backdate = 48 * time.Hour
)

// written is when this was written: a clock that stands before it is wrong.
var written = time.Date(2026, time.November, 1, 0, 0, 0, 0, time.UTC)

const (
	keyBlock  = "PRIVATE KEY" // PKCS #8
	certBlock = "CERTIFICATE"
)

// Authority vouches for this server.
type Authority struct {
	certificate *x509.Certificate
	key         *ecdsa.PrivateKey
}

// Open reads the authority that the folder keeps, or makes one for the names and
// keeps it. One that cannot be used is never replaced: the tablets trust it.
func Open(folder string, names Names, now time.Time) (*Authority, error) {
	path := filepath.Join(folder, File)
	a, err := read(path)
	if errors.Is(err, os.ErrNotExist) {
		return create(path, names, now)
	}
	if err != nil {
		return nil, err
	}
	if now.After(a.certificate.NotAfter) {
		return nil, fmt.Errorf("the certificate authority in %s ended on %s: move the file away to have a new one made, which every tablet must trust anew", path, a.certificate.NotAfter.Format(time.DateOnly))
	}
	return a, nil
}

// Read reads the authority that the folder keeps.
func Read(folder string) (*Authority, error) { return read(filepath.Join(folder, File)) }

func read(path string) (*Authority, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, fmt.Errorf("the certificate authority in %s cannot be read: %w", path, err)
	}
	if mode := info.Mode().Perm(); mode&0o077 != 0 && runtime.GOOS != "windows" {
		return nil, fmt.Errorf("the key in %s can be read by others than its owner (its mode is %#o): set it to 0600, and move the file away to have a new one made if somebody may have copied it", path, mode)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("the certificate authority in %s cannot be read: %w", path, err)
	}
	a, err := parse(data)
	if err != nil {
		return nil, fmt.Errorf("the certificate authority in %s is damaged (%w): put a copy of the file back, or move it away to have a new one made, which every tablet must trust anew", path, err)
	}
	return a, nil
}

// parse reads the key and the certificate, and sees that they belong together.
func parse(data []byte) (*Authority, error) {
	var a Authority
	for block, rest := pem.Decode(data); block != nil; block, rest = pem.Decode(rest) {
		switch block.Type {
		case keyBlock:
			key, err := x509.ParsePKCS8PrivateKey(block.Bytes)
			if err != nil {
				return nil, fmt.Errorf("its key: %w", err)
			}
			var ok bool
			if a.key, ok = key.(*ecdsa.PrivateKey); !ok {
				return nil, errors.New("its key is not of the kind that is made here")
			}
		case certBlock:
			certificate, err := x509.ParseCertificate(block.Bytes)
			if err != nil {
				return nil, fmt.Errorf("its certificate: %w", err)
			}
			a.certificate = certificate
		}
	}
	switch {
	case a.key == nil:
		return nil, errors.New("there is no key in it")
	case a.certificate == nil:
		return nil, errors.New("there is no certificate in it")
	case !a.key.PublicKey.Equal(a.certificate.PublicKey):
		return nil, errors.New("its key and its certificate do not belong together")
	case !a.certificate.IsCA || !a.certificate.PermittedDNSDomainsCritical:
		return nil, errors.New("its certificate is none of an authority for certain names only")
	}
	return &a, nil
}

// create makes an authority and keeps it.
func create(path string, names Names, now time.Time) (*Authority, error) {
	if now.Before(written) {
		return nil, fmt.Errorf("this machine's clock says %s, which is in the past: set it before a certificate authority is made", now.Format(time.DateOnly))
	}
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, fmt.Errorf("making the authority's key: %w", err)
	}
	template := names.authority(now)
	der, err := x509.CreateCertificate(rand.Reader, template, template, key.Public(), key)
	if err != nil {
		return nil, fmt.Errorf("making the authority's certificate: %w", err)
	}
	secret, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return nil, fmt.Errorf("writing the authority's key: %w", err)
	}
	text := append(pem.EncodeToMemory(&pem.Block{Type: keyBlock, Bytes: secret}), pem.EncodeToMemory(&pem.Block{Type: certBlock, Bytes: der})...)
	if err := keep(path, text); err != nil {
		return nil, fmt.Errorf("keeping the certificate authority in %s: %w", path, err)
	}
	return read(path)
}

// keep writes a file whole or not at all, for its owner's eyes only, and never over
// another one.
func keep(path string, text []byte) (err error) {
	half, err := os.CreateTemp(filepath.Dir(path), ".authority-*") // with mode 0600
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.Remove(half.Name())) }()
	_, err = half.Write(text)
	if err = errors.Join(err, half.Sync(), half.Close()); err != nil {
		return err
	}
	return os.Link(half.Name(), path)
}

// privateNetworks are the addresses that are given out within a network and are nobody's
// on the internet (RFC 1918, section 3; RFC 4193, section 3.1). A router gives a shop's
// machine another of them whenever it pleases; an authority that is held to the one of
// its first day has every tablet trust a new one then. What that costs: whoever steals
// the key can pass, before the shop's tablets, for another device of such a network,
// too, but for no server of the internet.
var privateNetworks = []netip.Prefix{
	netip.MustParsePrefix("10.0.0.0/8"), netip.MustParsePrefix("172.16.0.0/12"), netip.MustParsePrefix("192.168.0.0/16"),
	netip.MustParsePrefix("fc00::/7"),
}

// authority is the certificate of an authority for these names and the addresses of
// private networks. It may vouch for servers only, for these only, and for no other
// authority: what trusts it trusts it for nothing else (RFC 5280, section 4.2.1.10).
func (n Names) authority(now time.Time) *x509.Certificate {
	c := &x509.Certificate{
		Subject:   pkix.Name{Organization: []string{"Faceside"}, CommonName: "Faceside on " + n.Machine},
		NotBefore: now.Add(-backdate), NotAfter: now.Add(life),
		IsCA: true, BasicConstraintsValid: true, MaxPathLenZero: true,
		KeyUsage: x509.KeyUsageCertSign, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		PermittedDNSDomainsCritical: true, PermittedDNSDomains: n.DNS,
	}
	networks := slices.Clone(privateNetworks)
	for _, a := range n.Addresses {
		if !a.IsPrivate() {
			networks = append(networks, netip.PrefixFrom(a, a.BitLen()))
		}
	}
	for _, p := range networks {
		c.PermittedIPRanges = append(c.PermittedIPRanges, &net.IPNet{IP: p.Addr().AsSlice(), Mask: net.CIDRMask(p.Bits(), p.Addr().BitLen())})
	}
	return c
}

// Limits are the names, addresses and networks that the authority may vouch for.
func (a *Authority) Limits() []string {
	all := slices.Clone(a.certificate.PermittedDNSDomains)
	for _, r := range a.certificate.PermittedIPRanges {
		if ones, bits := r.Mask.Size(); ones == bits {
			all = append(all, r.IP.String())
		} else {
			all = append(all, r.String())
		}
	}
	return all
}

// PEM is the certificate as tablets take it.
func (a *Authority) PEM() []byte {
	return pem.EncodeToMemory(&pem.Block{Type: certBlock, Bytes: a.certificate.Raw})
}

// Fingerprint is the SHA-256 of the certificate, as devices show it.
func (a *Authority) Fingerprint() string {
	return strings.ReplaceAll(fmt.Sprintf("% X", sha256.Sum256(a.certificate.Raw)), " ", ":")
}

// Name is how the devices that trust it list the authority.
func (a *Authority) Name() string { return a.certificate.Subject.CommonName }

// Ends is when it does.
func (a *Authority) Ends() time.Time { return a.certificate.NotAfter }

// Pool holds the authority alone, for programs that are to trust it and no other.
func (a *Authority) Pool() *x509.CertPool {
	pool := x509.NewCertPool()
	pool.AddCert(a.certificate)
	return pool
}

// covers says whether the authority may vouch for an address.
func (a *Authority) covers(address netip.Addr) bool {
	return slices.ContainsFunc(a.certificate.PermittedIPRanges, func(r *net.IPNet) bool { return r.Contains(address.AsSlice()) })
}

// Covered are those of the names that the authority may vouch for; the others are
// given in missing. A machine that is given another name is such a case.
func (a *Authority) Covered(n Names) (covered Names, missing []string) {
	covered.Machine = n.Machine
	for _, name := range n.DNS {
		if slices.Contains(a.certificate.PermittedDNSDomains, name) {
			covered.DNS = append(covered.DNS, name)
		} else {
			missing = append(missing, name)
		}
	}
	for _, address := range n.Addresses {
		if a.covers(address) {
			covered.Addresses = append(covered.Addresses, address)
		} else {
			missing = append(missing, address.String())
		}
	}
	return covered, missing
}

// Names are those by which this server is reached.
type Names struct {
	Machine   string // what the machine is called
	DNS       []string
	Addresses []netip.Addr
}
