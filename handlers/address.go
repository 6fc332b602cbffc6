package handlers

import (
	"net"
	"net/netip"
	"strings"

	"github.com/gin-gonic/gin"
)

// origin is the address by which whoever asks reaches this server:
// "http://192.168.1.20:8321". What it is put into leads back by the same way.
func origin(c *gin.Context) string {
	scheme := "http"
	if c.Request.TLS != nil || strings.EqualFold(c.GetHeader("X-Forwarded-Proto"), "https") {
		scheme = "https"
	}
	return scheme + "://" + c.Request.Host
}

// onlyHere says whether the request came by an address that only this machine knows
// itself by, so that no other device finds the server by it.
func onlyHere(c *gin.Context) bool {
	host, _, err := net.SplitHostPort(c.Request.Host)
	if err != nil {
		host = c.Request.Host
	}
	if addr, err := netip.ParseAddr(strings.Trim(host, "[]")); err == nil {
		return addr.IsLoopback() || addr.IsUnspecified()
	}
	return host == "localhost" || strings.HasSuffix(host, ".localhost")
}
