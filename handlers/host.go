package handlers

import (
	"net"
	"net/http"
	"net/netip"
	"strings"

	"github.com/gin-gonic/gin"
)

// hosts are the names by which this server may be asked, besides those that every
// machine has for itself. A page of a stranger can have its own name lead here (DNS
// rebinding), and would then count as a page of this server; it cannot have it lead
// here under one of these names.
type hosts map[string]bool

func newHosts(names []string) hosts {
	h := hosts{}
	for _, name := range names {
		h[bareHost(name)] = true
	}
	return h
}

// bareHost is a name or an address without port, brackets and the dot of a full name.
func bareHost(host string) string {
	if name, _, err := net.SplitHostPort(host); err == nil {
		host = name
	}
	return strings.ToLower(strings.TrimSuffix(strings.Trim(host, "[]"), "."))
}

// know says whether a request asks for this server: by a name of loopback, by the
// address that the connection came to, or by one of the names.
func (h hosts) know(r *http.Request) bool {
	name := bareHost(r.Host)
	if h[name] || loopbackName(name) {
		return true
	}
	addr, err := netip.ParseAddr(name)
	if err != nil {
		return false
	}
	return addr.Unmap().IsLoopback() || addr.Unmap() == arrivedAt(r)
}

// loopbackName says whether a name means the machine itself (RFC 6761, section 6.3).
func loopbackName(name string) bool {
	return name == "localhost" || strings.HasSuffix(name, ".localhost")
}

// arrivedAt is the address of this machine that a request's connection came to.
func arrivedAt(r *http.Request) netip.Addr {
	at, ok := r.Context().Value(http.LocalAddrContextKey).(*net.TCPAddr)
	if !ok {
		return netip.Addr{}
	}
	return at.AddrPort().Addr().Unmap().WithZone("")
}

// ownName refuses requests for somebody else. They are told nothing of the shop.
func (s *server) ownName(c *gin.Context) {
	if s.hosts.know(c.Request) {
		c.Next()
		return
	}
	s.turnAway(c, http.StatusMisdirectedRequest, s.words(c).say("This server is not called %q. Ask for it by its own name or address; further names are given to it when it is started, by -host.", short(c.Request.Host)))
}

// short cuts what a stranger wrote to what fits a sentence.
func short(text string) string {
	const most = 80
	if runes := []rune(text); len(runes) > most {
		return string(runes[:most]) + "…"
	}
	return text
}

// turnAway refuses a request in a sentence and nothing else, as far as who asks can
// read one: what is refused here may come by the thousand.
func (s *server) turnAway(c *gin.Context, status int, sentence string) {
	switch {
	case isAPI(c) || swapped(c):
		s.problem(c, status, sentence, nil)
	case wantsJSON(c): // a tablet's queue: it keeps what it sent
		c.JSON(status, tapAnswer{Now: s.store.Now(), Why: sentence})
	default:
		c.String(status, "%s\n", sentence)
	}
	c.Abort()
}

// ownSite refuses what a page of another site sends. It stands around every address, so
// that nothing else of such a request is looked at.
func (s *server) ownSite(c *gin.Context) {
	if s.protection.Check(c.Request) == nil {
		c.Next()
		return
	}
	s.turnAway(c, http.StatusForbidden, s.words(c).say("That was sent by a page of another site, and is not taken."))
}
