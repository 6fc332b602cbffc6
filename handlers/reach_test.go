package handlers

import (
	"context"
	"crypto/tls"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"net/url"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestTheServerKnowsItsOwnNames(t *testing.T) {
	own := newHosts([]string{"Bench.Example", "192.0.2.20", "2001:db8::20"})
	for host, want := range map[string]bool{
		"localhost": true, "localhost:8321": true, "LOCALHOST.": true, "shop.localhost": true, "127.0.0.1:1": true, "127.8.8.8": true, "[::1]:8321": true, "[::ffff:127.0.0.1]": true,
		"bench.example": true, "bench.example:443": true, "BENCH.EXAMPLE.": true, "192.0.2.20:8321": true, "[2001:db8::20]:8321": true,
		"198.51.100.7": true, // where the connection arrived
		"":             false, "evil.example": false, "bench.example.evil.example": false, "a.bench.example": false, "notlocalhost": false,
		"192.0.2.21": false, "0.0.0.0": false, "[::]": false, "2130706433": false, "0x7f.1": false, "127.0.0.1.nip.example": false,
	} {
		r := httptest.NewRequest(http.MethodGet, "/", nil)
		r.Host = host
		r = r.WithContext(context.WithValue(r.Context(), http.LocalAddrContextKey, net.Addr(net.TCPAddrFromAddrPort(netip.MustParseAddrPort("198.51.100.7:8321")))))
		assert.Equal(t, want, own.know(r), host)
	}
}

// Who follows a link of another site comes without cookies, and must not be taken for a
// new tablet by it.
func TestALinkOfAnotherSiteOpensAStepAndKeepsTheTablet(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ana := r.as("Ana")
	step := stepHref(r.step("joint").ID)
	cross := func(path string) page {
		req, err := http.NewRequest(http.MethodGet, r.server.URL+path, nil)
		require.NoError(t, err)
		req.Header.Set("Sec-Fetch-Site", "cross-site")
		req.Header.Set("Sec-Fetch-Mode", "navigate")
		return r.browser().do(req) // without the cookies that the tablet has
	}
	p := cross(step + "?a=b&c=%22")
	assert.Equal(t, http.StatusOK, p.status)
	assert.Empty(t, p.header.Values("Set-Cookie"))
	assert.Equal(t, "0; url="+step+"?a=b&c=%22", p.doc.Find("meta[http-equiv=refresh]").AttrOr("content", ""))
	assert.Equal(t, step+"?a=b&c=%22", p.doc.Find("a.button").AttrOr("href", ""), "and where that is not followed, a link")
	assert.NotContains(t, p.body, "Hall shelf")
	assert.Equal(t, "Ana", ana.get(step).doc.Find("#live").AttrOr("data-name", "Ana"), "then it is the tablet that asks")

	for _, path := range []string{"//evil.example/", "/%09/evil.example"} {
		to := cross(path).doc.Find("meta[http-equiv=refresh]").AttrOr("content", "")
		assert.NotRegexp(t, `url=(//|/\s)`, to, path)
	}
}

func TestLocalPathsStayHere(t *testing.T) {
	for path, want := range map[string]string{
		"/week": "/week", "/steps/1?a=b#c": "/steps/1?a=b#c", "/%2Fevil": "/%2Fevil",
		"": "/", "week": "/", "//evil.example": "/", "/\\evil.example": "/", "\\\\evil.example": "/", "https://evil.example": "/", "javascript:alert(1)": "/",
		"/\t/evil.example": "/", "/\n/evil.example": "/", "/\r/evil.example": "/", "/a\x00b": "/",
	} {
		assert.Equal(t, want, localPath(path), "%q", path)
	}
}

func TestCookiesAreForThisSiteAlone(t *testing.T) {
	r := newRig(t)
	for scheme, secure := range map[string]bool{"http": false, "https": true} {
		req, err := http.NewRequest(http.MethodGet, r.server.URL+"/week", nil)
		require.NoError(t, err)
		req.Header.Set("X-Forwarded-Proto", scheme)
		res, err := http.DefaultTransport.RoundTrip(req)
		require.NoError(t, err)
		res.Body.Close()
		require.NotEmpty(t, res.Cookies())
		for _, c := range res.Cookies() {
			assert.True(t, c.HttpOnly, c.Name)
			assert.Equal(t, http.SameSiteStrictMode, c.SameSite, c.Name)
			assert.Equal(t, "/", c.Path)
			assert.Empty(t, c.Domain, "for this name alone")
			assert.Equal(t, secure, c.Secure, scheme)
		}
	}
}

func TestWhatBrowsersAreToldOfAnAnswer(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ana := r.as("Ana")
	for _, path := range []string{"/", "/week", "/nowhere", "/static/app.css", "/api/v1/shop", "/plan.csv", "/healthz", "/calendars/shop/x.ics", "/photos/x.jpg"} {
		h := ana.get(path).header
		assert.Equal(t, policy, h.Get("Content-Security-Policy"), path)
		assert.Equal(t, "nosniff", h.Get("X-Content-Type-Options"), path)
		assert.Contains(t, []string{"same-origin", "no-referrer"}, h.Get("Referrer-Policy"), path)
		assert.Equal(t, "same-origin", h.Get("Cross-Origin-Resource-Policy"), path)
		assert.Equal(t, "same-origin", h.Get("Cross-Origin-Opener-Policy"), path)
		assert.Contains(t, h.Get("Permissions-Policy"), "camera=()", path)
		assert.NotEmpty(t, h.Get("Cache-Control"), path)
		assert.NotContains(t, h.Get("Cache-Control")+path, "public/", path)
		assert.Empty(t, h.Get("Server")+h.Get("X-Powered-By")+h.Get("Access-Control-Allow-Origin")+h.Get("Strict-Transport-Security"), path)
		if kind := h.Get("Content-Type"); strings.HasPrefix(kind, "text/") {
			assert.Contains(t, kind, "charset=utf-8", path)
		}
	}
	assert.NotContains(t, policy, "unsafe")
	assert.Contains(t, policy, "default-src 'none'")
	assert.Contains(t, policy, "frame-ancestors 'none'")
}

// still is a clock for the limits that only a test moves.
type still struct{ now time.Time }

func (s *still) limits(l Limits) with {
	l.Now = func() time.Time { return s.now }
	return func(c *Config) { c.Limits = l }
}

func TestWhoAsksTooOftenIsToldWhenToComeAgain(t *testing.T) {
	clock := &still{time.Unix(0, 0)}
	r := newRig(t, clock.limits(Limits{Tablet: Allowance{2, 5}, Own: Allowance{100, 50}}))
	r.take("Hall shelf")
	ana, ben := r.browser(), r.browser()
	require.Equal(t, http.StatusOK, ana.get("/week").status, "this one gives it a cookie, and counts for the address alone")
	require.Equal(t, http.StatusOK, ben.get("/week").status)
	for range 5 {
		require.Equal(t, http.StatusOK, ana.get("/week").status)
	}
	p := ana.get("/week")
	assert.Equal(t, http.StatusTooManyRequests, p.status)
	assert.Equal(t, "1", p.header.Get("Retry-After"))
	assert.Equal(t, "Too much is asked for from here at once; nothing was done. Try again in 1 s.\n", p.body)
	p = ana.post("/tap", url.Values{"kind": {"start"}})
	assert.Equal(t, http.StatusTooManyRequests, p.status)
	assert.Empty(t, r.journal())
	assert.Equal(t, http.StatusTooManyRequests, ana.get("/api/v1/shop").status)
	assert.Equal(t, http.StatusOK, ben.get("/week").status, "the other tablet has its own")

	clock.now = clock.now.Add(500 * time.Millisecond)
	assert.Equal(t, http.StatusOK, ana.get("/week").status, "half a second is one request")
	assert.Equal(t, http.StatusTooManyRequests, ana.get("/week").status)

	for n := 0; ; n++ { // whoever throws their cookies away is known by their address
		require.Less(t, n, 60)
		if r.browser().get("/week").status == http.StatusTooManyRequests {
			break
		}
	}
	clock.now = clock.now.Add(2 * quietFor)
	assert.Equal(t, http.StatusOK, ana.get("/week").status)
}

// A scripted screen that is refused for a moment keeps what it shows.
func TestAScreenThatIsAskedForTooOftenStays(t *testing.T) {
	clock := &still{time.Unix(0, 0)}
	r := newRig(t, clock.limits(Limits{Own: Allowance{1, 1}}))
	tab := r.browser()
	tab.get("/week")
	tab.script = true
	p := tab.get("/bench")
	assert.Equal(t, http.StatusTooManyRequests, p.status)
	assert.Equal(t, "#failed", p.header.Get("HX-Retarget"))
	assert.Contains(t, p.text(".refusal"), "Try again in 1 s.")
}

func TestTheMetersOfWhoWasQuietAreForgotten(t *testing.T) {
	clock := &still{time.Unix(0, 0)}
	p := newPace(Limits{Tablet: Allowance{1, 1}, Address: Allowance{1e6, 1e6}, Now: func() time.Time { return clock.now }})
	from := netip.MustParseAddr("192.0.2.1")
	for n := range mostDevices + 10 {
		p.wait(from, string(rune('a'+n%26))+time.Duration(n).String())
	}
	assert.LessOrEqual(t, len(p.meters), mostDevices, "a flood of invented tablets does not fill the memory")
	clock.now = clock.now.Add(quietFor)
	p.wait(netip.MustParseAddr("192.0.2.2"), "")
	assert.Len(t, p.meters, 1)
}

// What people and the load test do is far within the usual limits.
func TestUsualLimitsLetAFullQueueThrough(t *testing.T) {
	now := time.Unix(0, 0)
	limits := UsualLimits()
	limits.Now = func() time.Time { return now }
	p := newPace(limits)
	for range limits.Tablet.AtOnce {
		require.Zero(t, p.wait(netip.MustParseAddr("192.0.2.1"), "tablet"), "a full queue at once")
	}
	assert.Positive(t, p.wait(netip.MustParseAddr("192.0.2.1"), "tablet"))
	own := netip.MustParseAddr("127.0.0.1")
	for second := range 30 { // 200 tablets behind a proxy: 500 taps a second and their screens
		now = time.Unix(int64(second), 0)
		for n := range 2500 {
			require.Zero(t, p.wait(own, string(rune('A'+n%200))))
		}
	}
}

func TestAddressesAreToldApart(t *testing.T) {
	for remote, want := range map[string]string{
		"192.0.2.1:4711": "192.0.2.1", "[::ffff:192.0.2.1]:4711": "192.0.2.1", "[2001:db8:1:2:3:4:5:6]:80": "2001:db8:1:2::", "[fe80::1%eth0]:80": "fe80::", "[::1]:80": "::1", "nonsense": "invalid IP",
	} {
		r := &http.Request{RemoteAddr: remote, Header: http.Header{"X-Forwarded-For": {"203.0.113.9"}}}
		assert.Equal(t, want, askedFrom(r).String(), remote)
	}
}

func TestStreamsOfOneAddressAreBound(t *testing.T) {
	r := newRig(t, func(c *Config) { c.Limits = Limits{OwnStreams: 2} })
	open := func() *http.Response {
		res, err := http.Get(r.server.URL + "/live")
		require.NoError(t, err)
		return res
	}
	first, second := open(), open()
	defer second.Body.Close()
	require.Equal(t, http.StatusOK, second.StatusCode)
	third := open()
	assert.Equal(t, http.StatusTooManyRequests, third.StatusCode)
	assert.NotEmpty(t, third.Header.Get("Retry-After"))
	third.Body.Close()
	first.Body.Close()
	require.Eventually(t, func() bool {
		again := open()
		defer again.Body.Close()
		return again.StatusCode == http.StatusOK
	}, 10*time.Second, time.Millisecond, "a place that is left is given again")
	close(r.stop)
}

// deadlines notes what limits a request was given.
type deadlines struct {
	*httptest.ResponseRecorder
	read, write time.Time
}

func (d *deadlines) SetReadDeadline(at time.Time) error  { d.read = at; return nil }
func (d *deadlines) SetWriteDeadline(at time.Time) error { d.write = at; return nil }

func TestEveryRequestHasItsTime(t *testing.T) {
	r := newRig(t)
	for _, tt := range []struct {
		method, path string
		read         time.Duration
	}{{"GET", "/week", 0}, {"POST", "/tap", formTime}, {"POST", "/nowhere", formTime}, {"POST", "/steps/1/notes", photoTime}} {
		body := io.Reader(nil)
		if tt.method == http.MethodPost {
			body = strings.NewReader("a=b")
		}
		req := httptest.NewRequest(tt.method, tt.path, body)
		req.Host = "localhost"
		w := &deadlines{ResponseRecorder: httptest.NewRecorder()}
		r.server.Config.Handler.ServeHTTP(w, req)
		if tt.read == 0 {
			assert.Zero(t, w.read, tt.path)
		} else {
			assert.WithinDuration(t, time.Now().Add(tt.read), w.read, 10*time.Second, tt.path)
		}
		assert.WithinDuration(t, time.Now().Add(tt.read+answerTime), w.write, 10*time.Second, tt.path)
	}
}

// slow is a body that does not come in time.
type slow struct{}

func (slow) Read([]byte) (int, error) {
	return 0, &net.OpError{Op: "read", Err: os.ErrDeadlineExceeded}
}

func TestAFormThatComesTooSlowlyIsNotWaitedFor(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	req := httptest.NewRequest(http.MethodPost, "/tap", slow{})
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	w := httptest.NewRecorder()
	r.server.Config.Handler.ServeHTTP(w, req)
	assert.Equal(t, http.StatusRequestTimeout, w.Code)
	assert.Contains(t, w.Body.String(), "The form came too slowly and was not waited for; nothing was saved.")
	assert.Empty(t, r.journal())
}

// doored is a server that is served by TLS, as its handler sees it.
func doored(t *testing.T) *rig {
	return newRig(t, func(c *Config) {
		c.Trust = &Trust{PEM: []byte("the certificate"), Name: "Faceside on bench", Fingerprint: strings.TrimSuffix(strings.Repeat("AB:", 32), ":"),
			Names: []string{"bench.local", "192.0.2.20"}, Ends: time.Date(2041, 3, 1, 0, 0, 0, 0, time.UTC), Port: "8321"}
	})
}

func TestThePageAboutTrusting(t *testing.T) {
	r := doored(t)
	tab := r.browser()
	for _, path := range []string{"/", "/trust"} {
		p := tab.get(path)
		assert.Equal(t, http.StatusOK, p.status)
		assert.Empty(t, p.header.Values("Set-Cookie"), "a cookie over plain HTTP would be another one")
		assert.Equal(t, "Trust this server", p.text("h1"))
		assert.Equal(t, strings.TrimSuffix(strings.Repeat("AB:", 8), ":"), p.texts(".fingerprint span")[0])
		assert.Len(t, p.texts(".fingerprint span"), 4)
		assert.Contains(t, p.text(".caution"), "bench.local, 192.0.2.20")
		assert.Contains(t, p.text(".caution"), "2041")
		assert.Equal(t, "https://127.0.0.1:8321/", p.doc.Find("a.primary").AttrOr("href", ""))
		assert.Zero(t, p.doc.Find("script, style, [style]").Length())
		assert.NotContains(t, p.body, "Quince Lane", "nothing of the shop goes over plain HTTP")
	}
	p := tab.get(trustFilePath)
	assert.Equal(t, "the certificate", p.body)
	assert.Equal(t, "application/x-x509-ca-cert", p.header.Get("Content-Type"))
	assert.Equal(t, http.StatusOK, tab.get("/static/app.css").status)
}

func TestOverPlainHTTPThereIsNothingElse(t *testing.T) {
	r := doored(t)
	tab := r.browser()
	tab.client.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	for path, to := range map[string]string{"/week?day=2026-03-02": "/week?day=2026-03-02", "//evil.example": "//evil.example"} {
		p := tab.get(path)
		assert.Equal(t, http.StatusFound, p.status, path)
		assert.Equal(t, "https://127.0.0.1:8321"+to, p.header.Get("Location"))
	}
	for _, path := range []string{"/live", "/api/v1/shop", "/calendars/shop/secret.ics", "/healthz"} {
		assert.Equal(t, http.StatusForbidden, tab.get(path).status, "what no person opens is not led on: %s", path)
	}
	p := tab.post("/tap", url.Values{"kind": {"start"}})
	assert.Equal(t, http.StatusForbidden, p.status)
	assert.Contains(t, p.body, "over an encrypted connection only: https://127.0.0.1:8321/")
	req, err := http.NewRequest(http.MethodGet, r.server.URL+"/week", nil)
	require.NoError(t, err)
	req.Host = "evil.example"
	assert.Equal(t, http.StatusMisdirectedRequest, tab.do(req).status, "nor does it lead to another name")

	inner := httptest.NewRequest(http.MethodGet, "/week", nil)
	inner.TLS = &tls.ConnectionState{}
	w := httptest.NewRecorder()
	r.server.Config.Handler.ServeHTTP(w, inner)
	assert.Equal(t, http.StatusOK, w.Code, "by TLS it is the shop")
}

func TestTheShopScreenLeadsToItsParts(t *testing.T) {
	r := doored(t)
	req := httptest.NewRequest(http.MethodGet, "/shop", nil)
	req.TLS = &tls.ConnectionState{}
	w := httptest.NewRecorder()
	r.server.Config.Handler.ServeHTTP(w, req)
	require.Equal(t, http.StatusOK, w.Code)
	doc, err := goquery.NewDocumentFromReader(w.Body)
	require.NoError(t, err)
	var parts, jumps []string
	doc.Find("section.card[id]").Each(func(_ int, s *goquery.Selection) { parts = append(parts, "#"+s.AttrOr("id", "")) })
	doc.Find(".screen-head .jump a").Each(func(_ int, s *goquery.Selection) { jumps = append(jumps, s.AttrOr("href", "")) })
	assert.Equal(t, parts, jumps)
}
