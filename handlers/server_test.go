package handlers

import (
	"bytes"
	"errors"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"
	"github.com/gin-gonic/gin"
	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/views"
)

func TestHealth(t *testing.T) {
	r := newRig(t)
	p := r.browser().get("/healthz")
	assert.Equal(t, http.StatusOK, p.status)
	assert.Equal(t, "ok\n", p.body)
}

func TestEveryPageIsSecured(t *testing.T) {
	r := newRig(t)
	com := r.take("Hall shelf")
	r.plan()
	ana := r.as("Ana")
	for _, path := range []string{"/", "/week", "/commissions", "/commissions/new", "/commissions/new/hall-bench", commissionHref(com.ID), "/shop", "/steps/1", "/steps/1/trouble", "/nowhere"} {
		t.Run(path, func(t *testing.T) {
			p := ana.get(path)
			if path != "/nowhere" {
				assert.Equal(t, http.StatusOK, p.status)
			}
			policy := p.header.Get("Content-Security-Policy")
			assert.Contains(t, policy, "script-src 'self'")
			assert.NotContains(t, policy, "unsafe")
			assert.Equal(t, "nosniff", p.header.Get("X-Content-Type-Options"))
			assert.Equal(t, "no-store", p.header.Get("Cache-Control"))
			assert.Zero(t, p.doc.Find("[style],style,[onclick],[onload],[hx-on]").Length(), "nothing that the policy forbids")
			p.doc.Find("script").Each(func(_ int, s *goquery.Selection) {
				assert.NotEmpty(t, s.AttrOr("src", ""), "no script in the page")
			})
			assert.Equal(t, 1, p.doc.Find("h1").Length(), "one heading")
			assert.Equal(t, 1, p.doc.Find("main").Length())
			assert.Equal(t, len(views.Page{}.Nav())+len(views.Page{}.NavMore()), p.doc.Find("nav.nav a").Length())
		})
	}
}

// Every id stands once, every label has a field, every button a name.
func TestPagesAreWellFormed(t *testing.T) {
	r := newRig(t)
	com := r.take("Hall shelf")
	ana := r.as("Ana")
	ana.tap(models.TapStart, r.step("joint"))
	for _, path := range []string{"/", "/commissions", "/commissions/new/hall-bench", commissionHref(com.ID), "/shop", "/steps/1", "/steps/1/note", "/steps/1/trouble"} {
		p := ana.get(path)
		seen := map[string]bool{}
		p.doc.Find("[id]").Each(func(_ int, s *goquery.Selection) {
			id := s.AttrOr("id", "")
			assert.False(t, seen[id], "%s: the id %s stands twice", path, id)
			seen[id] = true
		})
		p.doc.Find("button,a,summary").Not("[aria-hidden=true]").Each(func(_ int, s *goquery.Selection) {
			if s.Closest("svg").Length() == 0 && s.AttrOr("aria-label", "") == "" {
				assert.NotEmpty(t, readable(s), path)
			}
		})
		p.doc.Find("input:not([type=hidden]),select,textarea").Each(func(_ int, s *goquery.Selection) {
			assert.NotEmpty(t, readable(s.Closest("label")), "%s: %s has no label", path, s.AttrOr("name", ""))
		})
	}
}

func TestStaticFilesAreKeptByTheirContent(t *testing.T) {
	r := newRig(t)
	tab := r.browser()
	href := tab.get("/").doc.Find("link[rel=stylesheet]").First().AttrOr("href", "")
	require.Contains(t, href, "/static/app.css?v=")
	p := tab.get(href)
	assert.Equal(t, http.StatusOK, p.status)
	assert.Contains(t, p.header.Get("Content-Type"), "text/css")
	assert.Contains(t, p.header.Get("Cache-Control"), "immutable")
	p = tab.get("/static/app.css")
	assert.Equal(t, "no-cache", p.header.Get("Cache-Control"), "without its mark it is asked for again")

	req, err := http.NewRequest(http.MethodGet, r.server.URL+"/static/app.css", nil)
	require.NoError(t, err)
	req.Header.Set("If-None-Match", p.header.Get("ETag"))
	assert.Equal(t, http.StatusNotModified, tab.do(req).status)

	for _, path := range []string{"/static/none.css", "/static/../go.mod", "/static/", "/static/icons"} {
		assert.Equal(t, http.StatusNotFound, tab.get(path).status, path)
	}
}

func TestWithoutTheLibrariesThePagesArePlain(t *testing.T) {
	r := newRig(t, func(c *Config) { c.Missing = []string{"vendor/htmx.min.js"} })
	r.take("Hall shelf")
	ana := r.as("Ana")
	p := ana.get("/")
	assert.Zero(t, p.doc.Find("script,#live").Length())
	assert.Contains(t, ana.get("/shop").text(".caution-card"), "vendor/htmx.min.js")
	assert.Equal(t, "Finish", ana.press(p, "Start").text("button.main"))
}

func TestFormsOfOtherSitesAreKeptOut(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ana := r.as("Ana")
	form := fieldsOf(ana.get("/").doc.Find("form.tap-start").First(), nil)
	req, err := http.NewRequest(http.MethodPost, r.server.URL+"/tap", strings.NewReader(form.Encode()))
	require.NoError(t, err)
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	req.Header.Set("Origin", "https://elsewhere.example")
	req.Header.Set("Sec-Fetch-Site", "cross-site")
	assert.Equal(t, http.StatusForbidden, ana.do(req).status)
	assert.Empty(t, r.journal())
}

func TestRequestsThatCannotBeAnswered(t *testing.T) {
	r := newRig(t)
	tab := r.browser()
	p := tab.get("/nowhere")
	assert.Equal(t, http.StatusNotFound, p.status)
	assert.Contains(t, p.text(".refusal"), "There is no page at /nowhere.")
	p = tab.post("/week", nil)
	assert.Equal(t, http.StatusMethodNotAllowed, p.status)
	p = tab.post("/who", url.Values{"person": {"99"}})
	assert.Equal(t, http.StatusUnprocessableEntity, p.status)
	assert.Contains(t, p.text(".refusal"), `"99"`)
	p = tab.post("/tap", url.Values{"note": {strings.Repeat("x", bodyLimit)}})
	assert.Equal(t, http.StatusRequestEntityTooLarge, p.status)
	assert.Contains(t, p.body, "The form is larger than 256 kB; nothing was saved.")
}

// A database that fails must neither leak what it said nor leave half a page.
func TestABrokenStoreIsToldPlainly(t *testing.T) {
	var logged bytes.Buffer
	r := newRig(t, func(c *Config) { c.Log = slog.New(slog.NewTextHandler(&logged, nil)) })
	ana := r.as("Ana")
	require.NoError(t, r.store.Close())
	r.clock.Step(time.Second) // what was read before is too old
	for _, path := range []string{"/", "/commissions", "/shop", "/steps/1"} {
		p := ana.get(path)
		assert.Equal(t, http.StatusInternalServerError, p.status, path)
		assert.NotEmpty(t, p.text(".refusal"), path)
		assert.NotContains(t, p.body, "sql:", path)
		assert.Contains(t, p.body, "</html>", path)
	}
	assert.Contains(t, logged.String(), "sql: database is closed", "the log has the reason")
	assert.Equal(t, http.StatusServiceUnavailable, ana.get("/healthz").status)

	p := ana.post("/tap", url.Values{"tap_id": {uuid.NewString()}, "kind": {"start"}, "step": {"1"}})
	assert.Equal(t, http.StatusInternalServerError, p.status)
}

func TestAPanicIsLoggedAndToldPlainly(t *testing.T) {
	var logged bytes.Buffer
	r := newRig(t, func(c *Config) { c.Log = slog.New(slog.NewTextHandler(&logged, nil)) })
	s, err := newServer(r.cfg)
	require.NoError(t, err)
	e := gin.New()
	e.Use(s.recovered)
	e.GET("/", func(*gin.Context) { panic("the fence slipped") })
	w := httptest.NewRecorder()
	e.ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/", nil))
	assert.Equal(t, http.StatusInternalServerError, w.Code)
	assert.Contains(t, w.Body.String(), "The server could not do that")
	assert.NotContains(t, w.Body.String(), "fence")
	assert.Contains(t, logged.String(), "the fence slipped")
}

// A screen whose drawing panics gives its turn to the next.
func TestAPanicGivesTheTurnBack(t *testing.T) {
	var logged bytes.Buffer
	r := newRig(t, func(c *Config) { c.Log = slog.New(slog.NewTextHandler(&logged, nil)) })
	s, err := newServer(r.cfg)
	require.NoError(t, err)
	e := gin.New()
	e.Use(s.recovered)
	e.GET("/", s.inTurn, func(*gin.Context) { planeTooThin() })
	for range cap(s.drawing) + 1 {
		w := httptest.NewRecorder()
		e.ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/", nil))
		assert.Equal(t, http.StatusInternalServerError, w.Code)
	}
	assert.Empty(t, s.drawing)
	assert.Contains(t, logged.String(), "planeTooThin", "the log says where")
}

func planeTooThin() { panic("the board is too thin") }

// Many sendings of one form at once are one commission; a refused form can be
// sent again.
func TestAFormIsTakenOnce(t *testing.T) {
	var forms takenForms
	_, err := forms.once("a", func() (models.ID, error) { return 0, errors.New("no") })
	require.Error(t, err)
	var calls atomic.Int64
	var all sync.WaitGroup
	for range 50 {
		all.Go(func() {
			id, err := forms.once("a", func() (models.ID, error) { return calls.Add(1), nil })
			assert.NoError(t, err)
			assert.Equal(t, models.ID(1), id)
		})
	}
	all.Wait()
	assert.Equal(t, int64(1), calls.Load())

	for i := range 2 * takenKept {
		_, err := forms.once(strconv.Itoa(i), func() (models.ID, error) { return 7, nil })
		require.NoError(t, err)
	}
	assert.Len(t, forms.ids, takenKept, "it does not grow for ever")
}

func TestTabletsHaveIdsThatScriptsCannotRead(t *testing.T) {
	r := newRig(t)
	res, err := http.Get(r.server.URL + "/")
	require.NoError(t, err)
	defer res.Body.Close()
	var tablet *http.Cookie
	for _, c := range res.Cookies() {
		if c.Name == tabletCookie {
			tablet = c
		}
	}
	require.NotNil(t, tablet)
	assert.True(t, tablet.HttpOnly)
	assert.Equal(t, http.SameSiteStrictMode, tablet.SameSite)
	assert.Len(t, tablet.Value, 36)
}

// A script that asked for part of a screen must not get a whole page into it.
func TestAScriptIsToldAboveTheScreen(t *testing.T) {
	r := newRig(t)
	tab := r.browser()
	tab.script = true
	p := tab.get("/steps/999")
	assert.Equal(t, http.StatusNotFound, p.status)
	assert.Equal(t, "#failed", p.header.Get("HX-Retarget"))
	assert.NotContains(t, p.body, "<html")
	assert.Contains(t, p.text(".refusal"), "step with number 999")
	assert.Equal(t, 1, r.browser().get("/").doc.Find("#failed").Length(), "the place for it is on every page")
}
