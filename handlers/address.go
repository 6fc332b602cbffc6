package handlers

import (
	"net/http"
	"net/netip"
	"strings"

	"github.com/gin-gonic/gin"
)

// origin is the address by which whoever asks reaches this server:
// "http://192.168.1.20:8321". What it is put into leads back by the same way.
func origin(c *gin.Context) string {
	scheme := "http"
	if overTLS(c.Request) {
		scheme = "https"
	}
	return scheme + "://" + c.Request.Host
}

// overTLS says whether who asks is connected by TLS: to this server, or to a proxy in
// front of it. Whoever lies about it only misleads themselves.
func overTLS(r *http.Request) bool {
	return r.TLS != nil || strings.EqualFold(r.Header.Get("X-Forwarded-Proto"), "https")
}

// onlyHere says whether the request came by an address that only this machine knows
// itself by, so that no other device finds the server by it.
func onlyHere(c *gin.Context) bool {
	host := bareHost(c.Request.Host)
	if addr, err := netip.ParseAddr(host); err == nil {
		return addr.IsLoopback() || addr.IsUnspecified()
	}
	return loopbackName(host)
}
