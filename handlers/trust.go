package handlers

import (
	"net"
	"net/http"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"faceside/views"
)

// Where a tablet learns to trust the authority that vouches for this server, and gets
// its certificate.
const (
	trustPath     = "/trust"
	trustFilePath = "/trust/faceside.crt"
)

// certificateType is what every system takes a file of a certificate for.
const certificateType = "application/x-x509-ca-cert"

// Trust is what vouches for a server that is served by TLS.
type Trust struct {
	PEM         []byte // the authority's certificate
	Name        string // how devices that trust it list it
	Fingerprint string
	Names       []string // names, addresses and networks that it may vouch for
	Ends        time.Time
	Port        string // where the server listens for TLS
}

func (s *server) trustRoutes(e *gin.Engine) {
	e.GET(trustPath, s.trustPage)
	e.GET(trustFilePath, s.trustFile)
}

// trustPage walks a tablet through trusting. It is a page by itself: before a tablet
// trusts this server nothing else of the shop can be reached.
func (s *server) trustPage(c *gin.Context) {
	if s.trust == nil {
		s.notFound(c)
		return
	}
	s.fragment(c, http.StatusOK, "trust", "trust-page", s.trusted(c, s.words(c)))
}

// trusted is what a page tells of what vouches for the server; nil where nothing does.
func (s *server) trusted(c *gin.Context, w words) *views.Trust {
	if s.trust == nil {
		return nil
	}
	return &views.Trust{
		Bare: views.Bare{Title: w.say("Trust this server"), Asset: s.assets.url}, File: trustFilePath, Secure: s.secureAddress(c, "/"),
		Name: s.trust.Name, Fingerprint: fingerprintLines(s.trust.Fingerprint), Names: s.trust.Names, Ends: w.date(s.trust.Ends.Format(time.DateOnly)),
	}
}

// fingerprintLines cuts a fingerprint into lines that fit a phone and can be compared
// one by one.
func fingerprintLines(text string) []string {
	const line = len("AB:CD:EF:01:23:45:67:89:")
	var lines []string
	for len(text) > line {
		lines, text = append(lines, text[:line-1]), text[line:]
	}
	return append(lines, text)
}

func (s *server) trustFile(c *gin.Context) {
	if s.trust == nil {
		s.notFound(c)
		return
	}
	c.Header("Content-Disposition", "attachment; filename=faceside.crt")
	c.Data(http.StatusOK, certificateType, s.trust.PEM)
}

// plainDoor is what is there over plain HTTP of a server that is served by TLS: the page
// about trusting it, and the way to the rest.
func (s *server) plainDoor(c *gin.Context) {
	path := c.Request.URL.Path
	get := c.Request.Method == http.MethodGet || c.Request.Method == http.MethodHead
	switch {
	case s.trust == nil || c.Request.TLS != nil || path == trustPath || path == trustFilePath || strings.HasPrefix(path, "/static/"):
		c.Next()
	case get && path == "/":
		s.trustPage(c)
		c.Abort()
	case get && !isFile(path) && path != livePath: // a program that sends its secret unencrypted must notice (ASVS 5.0, 4.1.2)
		c.Redirect(http.StatusFound, s.secureAddress(c, c.Request.URL.RequestURI()))
		c.Abort()
	default:
		s.turnAway(c, http.StatusForbidden, s.words(c).say("That is taken over an encrypted connection only: %s", s.secureAddress(c, "/")))
	}
}

// secureAddress is where something of this server is reached by TLS, by the name that
// it was asked by.
func (s *server) secureAddress(c *gin.Context, uri string) string {
	return "https://" + net.JoinHostPort(bareHost(c.Request.Host), s.trust.Port) + uri
}
