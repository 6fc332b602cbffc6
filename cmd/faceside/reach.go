package main

import (
	"context"
	"crypto/tls"
	"errors"
	"flag"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/netip"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"faceside/handlers"
	"faceside/models/authority"
)

// reach is how tablets reach the server: where it listens, by which names it may be
// asked, and whether it is by TLS.
type reach struct {
	listen string
	hosts  []string // beside the machine's own names and addresses
	tls    string   // "on", "off", or "" for what the address needs
	door   string   // where the page about trusting is; "" for the port after that of listen
}

// hostFlags adds those that say where and by which names.
func (r *reach) hostFlags(flags *flag.FlagSet) {
	flags.StringVar(&r.listen, "listen", defaultListen, "`HOST:PORT` to serve on; port 0 takes a free one")
	flags.Func("host", "a further `NAME` or address by which the server may be asked, as a proxy in front of it has; may be given several times", r.addHost)
}

// tlsFlags adds those that say whether by TLS.
func (r *reach) tlsFlags(flags *flag.FlagSet) {
	flags.BoolFunc("tls", "serve by TLS, with an authority of the shop's own; without it that is done where the network can reach the address; -tls=off never does", r.setTLS)
	flags.StringVar(&r.door, "trust-page", "", "`HOST:PORT` of the page, over plain HTTP, where a tablet learns to trust the authority; without it the port after that of -listen")
}

func (r *reach) setTLS(text string) error {
	switch text {
	case "true", "on":
		r.tls = "on"
	case "false", "off":
		r.tls = "off"
	default:
		return errors.New("write -tls, -tls=on or -tls=off")
	}
	return nil
}

// hostName is a name of the DNS (RFC 1123, section 2.1).
var hostName = regexp.MustCompile(`^([a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?\.)*[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?$`)

func (r *reach) addHost(text string) error {
	name := strings.ToLower(strings.TrimSuffix(text, "."))
	if _, err := netip.ParseAddr(name); err != nil && (!hostName.MatchString(name) || len(name) > 253) {
		return errors.New("it is neither a name nor an address; write it without port, as in shop.example")
	}
	r.hosts = append(r.hosts, name)
	return nil
}

// names are those of this server, where it listens at an address.
func (r *reach) names(at netip.Addr) (authority.Names, error) {
	n := authority.Names{Machine: "this machine", DNS: []string{"localhost"}, Addresses: []netip.Addr{netip.AddrFrom4([4]byte{127, 0, 0, 1}), netip.IPv6Loopback()}}
	machine, err := os.Hostname()
	if err != nil {
		return n, fmt.Errorf("asking for this machine's name: %w", err)
	}
	if machine = strings.ToLower(machine); hostName.MatchString(machine) {
		first, _, _ := strings.Cut(machine, ".")
		n.Machine = machine
		n.DNS = append(n.DNS, machine, first, first+".local") // the last by multicast (RFC 6762)
	}
	own := []netip.Addr{at}
	if at.IsUnspecified() {
		if own, err = ownAddresses(); err != nil {
			return n, err
		}
	}
	n.Addresses = append(n.Addresses, own...)
	for _, name := range r.hosts {
		if address, err := netip.ParseAddr(name); err == nil {
			n.Addresses = append(n.Addresses, address)
		} else {
			n.DNS = append(n.DNS, name)
		}
	}
	n.DNS, n.Addresses = once(n.DNS), once(n.Addresses)
	return n, nil
}

// once leaves out what stands in a list before.
func once[T comparable](all []T) []T {
	var kept []T
	for _, one := range all {
		if !slices.Contains(kept, one) {
			kept = append(kept, one)
		}
	}
	return kept
}

// ownAddresses are those that others in the network reach this machine by. Of IPv6, which
// gives a machine new ones every day, they are only told where there is no other.
func ownAddresses() ([]netip.Addr, error) {
	all, err := net.InterfaceAddrs()
	if err != nil {
		return nil, fmt.Errorf("asking for this machine's addresses: %w", err)
	}
	var own, newer []netip.Addr
	for _, one := range all {
		prefix, err := netip.ParsePrefix(one.String())
		if err != nil {
			continue // none of IP
		}
		address := prefix.Addr().Unmap().WithZone("")
		switch {
		case !address.IsGlobalUnicast():
		case address.Is4():
			own = append(own, address)
		default:
			newer = append(newer, address)
		}
	}
	if len(own) == 0 {
		return newer, nil
	}
	return own, nil
}

// listenedAt is the address that a listener has, without its port.
func listenedAt(l net.Listener) netip.Addr {
	tcp, ok := l.Addr().(*net.TCPAddr)
	if !ok {
		return netip.Addr{}
	}
	return tcp.AddrPort().Addr().Unmap()
}

// allNames are the names and addresses as texts.
func allNames(n authority.Names) []string {
	all := slices.Clone(n.DNS)
	for _, address := range n.Addresses {
		all = append(all, address.String())
	}
	return all
}

// reached is how a server is reached, opened.
type reached struct {
	hosts []string // by which it may be asked
	tls   *tls.Config
	trust *handlers.Trust // nil where it is not by TLS
	door  net.Listener    // to the page where a tablet learns to trust it
	tell  string          // the name or address to tell people
}

// open finds out how a server that listens is reached. By TLS it opens the authority of
// the shop in the folder dir, or makes it there, and the door beside.
func (r *reach) open(listener net.Listener, dir string, notes io.Writer) (reached, error) {
	at := listenedAt(listener)
	names, err := r.names(at)
	if err != nil {
		return reached{}, err
	}
	by := reached{hosts: allNames(names), tell: mostUseful(names)}
	if r.tls == "off" || r.tls == "" && at.IsLoopback() {
		if !at.IsLoopback() {
			fmt.Fprintf(notes, "Caution: it is served without TLS: whoever is in the network can read and change what the tablets send.\n")
		}
		return by, nil
	}
	a, err := authority.Open(dir, names, time.Now())
	if err != nil {
		return reached{}, err
	}
	covered, missing := a.Covered(names)
	if len(missing) > 0 {
		fmt.Fprintf(notes, "Caution: the authority in %s does not vouch for %s, which came to be this machine's since it was made: by that tablets do not trust the server. Move the file away and start again to have a new authority made, which every tablet must trust anew.\n",
			filepath.Join(dir, authority.File), strings.Join(missing, ", "))
	}
	_, port, err := net.SplitHostPort(listener.Addr().String())
	if err != nil {
		return reached{}, fmt.Errorf("reading the port of %s: %w", listener.Addr(), err)
	}
	by.tls, by.tell = a.Server(func() (authority.Names, error) { return r.names(at) }, time.Now).TLS(), mostUseful(covered)
	by.trust = &handlers.Trust{PEM: a.PEM(), Name: a.Name(), Fingerprint: a.Fingerprint(), Ends: a.Ends(), Port: port, Names: a.Limits()}
	by.door, err = r.openDoor(listener.Addr().String())
	return by, err
}

// openDoor listens where the page about trusting is to be.
func (r *reach) openDoor(shop string) (net.Listener, error) {
	at := r.door
	if at == "" {
		var err error
		if at, err = portAfter(shop); err != nil {
			return nil, err
		}
		if _, asked, _ := net.SplitHostPort(r.listen); asked == "0" { // then any free one does, as for the shop
			host, _, _ := net.SplitHostPort(at)
			at = net.JoinHostPort(host, "0")
		}
	}
	door, err := net.Listen("tcp", at)
	if err != nil {
		return nil, fmt.Errorf("cannot listen on %s for the page where tablets learn to trust the server; -trust-page names another HOST:PORT: %w", at, err)
	}
	return door, nil
}

// portAfter is an address with the next port.
func portAfter(address string) (string, error) {
	host, port, err := net.SplitHostPort(address)
	if err != nil {
		return "", fmt.Errorf("reading the address %s: %w", address, err)
	}
	number, err := strconv.Atoi(port)
	if err != nil {
		return "", fmt.Errorf("reading the port of %s: %w", address, err)
	}
	return net.JoinHostPort(host, strconv.Itoa(number+1)), nil
}

// mostUseful is the name to tell people: an address of the network, which needs nobody
// to look it up, before loopback's.
func mostUseful(names authority.Names) string {
	for _, address := range names.Addresses {
		if !address.IsLoopback() {
			return address.String()
		}
	}
	return "127.0.0.1"
}

// say tells where the shop is and how a tablet comes to trust it.
func (by reached) say(w io.Writer, listens net.Addr) {
	if by.trust == nil {
		fmt.Fprintf(w, "Faceside serves on http://%s\n", listens)
		return
	}
	fmt.Fprintf(w, "Faceside serves on https://%s\n", net.JoinHostPort(by.tell, by.trust.Port))
	_, port, err := net.SplitHostPort(by.door.Addr().String())
	if err != nil {
		port = "" // a listener of TCP has one
	}
	fmt.Fprintf(w, "A tablet learns to trust it at http://%s\n", net.JoinHostPort(by.tell, port))
	fmt.Fprintf(w, "The fingerprint of its authority (SHA-256), to compare on the tablet:\n  %s\n", by.trust.Fingerprint)
}

// serve answers requests until ctx ends or listening fails, by a server for each way in.
func (by reached) serve(ctx context.Context, listener net.Listener, server func() *http.Server) error {
	shop := net.Listener(bound(listener))
	if by.trust == nil {
		return serveHTTP(ctx, shop, server())
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	ended := make(chan error, 1)
	go func() {
		defer stop()
		ended <- serveHTTP(ctx, bound(by.door), server())
	}()
	err := serveHTTP(ctx, tls.NewListener(shop, by.tls), server())
	stop()
	return errors.Join(err, <-ended)
}

// close lets the door go, where there is one.
func (by reached) close() {
	if by.door != nil {
		_ = by.door.Close() // the server has closed it before, unless it never came to serving
	}
}
