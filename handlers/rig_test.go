package handlers

import (
	"context"
	"io"
	"log/slog"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"strconv"
	"strings"
	"sync"
	"testing"
	"testing/fstest"
	"time"

	"github.com/PuerkitoBio/goquery"
	"github.com/google/uuid"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"faceside/models"
	"faceside/models/pattern"
	"faceside/models/planner"
	"faceside/models/testrig"
	"faceside/seed"
)

// rig is a small shop behind a real HTTP server, with a clock that stands still.
type rig struct {
	*testing.T
	clock   *testrig.Clock
	store   *models.Store
	planner *planner.Service
	server  *httptest.Server
	cfg     Config // what the server is made of
	hub     *hub
	stop    chan struct{} // closed: the program is about to stop
}

// shared is the library, read once: it never changes.
var shared = sync.OnceValues(seed.Library)

func library(t testing.TB) *pattern.Library {
	t.Helper()
	lib, err := shared()
	require.NoError(t, err)
	return lib
}

// with changes what the server is made of before it is made.
type with func(*Config)

func newRig(t *testing.T, changes ...with) *rig {
	t.Helper()
	clock := testrig.Monday()
	store := testrig.Shop(t, clock)
	r := &rig{T: t, clock: clock, store: store, stop: make(chan struct{})}
	r.cfg = config(t, store)
	r.cfg.Stopping = r.stop
	r.planner = r.cfg.Planner
	for _, change := range changes {
		change(&r.cfg)
	}
	s, err := newServer(r.cfg)
	require.NoError(t, err)
	r.hub = s.hub
	r.server = httptest.NewServer(s.routes())
	t.Cleanup(r.server.Close)
	return r
}

// config is a server over a store, whose plans hang on nothing but the records
// and the clock.
func config(t testing.TB, store *models.Store) Config {
	t.Helper()
	quiet := slog.New(slog.DiscardHandler)
	return Config{
		Store: store, Planner: planner.New(store, quiet, planner.Options{Work: 100, Seed: 1}), Library: library(t), Log: quiet,
		Heartbeat: time.Hour, Hosts: []string{"example.com"}, // which httptest.NewRequest asks for
		Static: fstest.MapFS{"app.css": {Data: []byte("body{}")}, "app.js": {Data: []byte("'use strict'")}, "vendor/htmx.min.js": {Data: []byte("1")}},
	}
}

// take stores testrig's commission of ten steps.
func (r *rig) take(name string) *models.Commission {
	r.Helper()
	return testrig.Commission(r.T, r.store, name, "2026-03-20")
}

// plan makes a plan of the records as they are.
func (r *rig) plan() {
	r.Helper()
	_, err := r.planner.Plan(context.Background())
	require.NoError(r, err)
}

func (r *rig) step(key string) *models.Step {
	r.Helper()
	return testrig.Step(r.T, testrig.Snapshot(r.T, r.store), key)
}

func (r *rig) journal() []models.Tap {
	r.Helper()
	taps, err := r.store.Journal(context.Background(), models.JournalFilter{})
	require.NoError(r, err)
	return taps
}

// browser is one tablet: it keeps its cookies and follows redirects.
type browser struct {
	*rig
	client *http.Client
	script bool // it has script: it asks for fragments
}

func (r *rig) browser() *browser {
	r.Helper()
	jar, err := cookiejar.New(nil)
	require.NoError(r, err)
	return &browser{rig: r, client: &http.Client{Jar: jar, Timeout: time.Minute}}
}

// as is a tablet with a person at it.
func (r *rig) as(name string) *browser {
	r.Helper()
	t := r.browser()
	id := testrig.Person(r.T, testrig.Snapshot(r.T, r.store), name)
	page := t.post("/who", url.Values{"person": {strconv.FormatInt(id, 10)}})
	require.Equal(r, http.StatusOK, page.status)
	return t
}

// page is an answer, parsed.
type page struct {
	*testing.T
	status int
	header http.Header
	path   string // where redirects led
	body   string
	doc    *goquery.Document

	templates *goquery.Selection
}

func (t *browser) get(path string) page {
	t.Helper()
	req, err := http.NewRequest(http.MethodGet, t.server.URL+path, nil)
	require.NoError(t, err)
	return t.do(req)
}

func (t *browser) post(path string, form url.Values) page {
	t.Helper()
	req, err := http.NewRequest(http.MethodPost, t.server.URL+path, strings.NewReader(form.Encode()))
	require.NoError(t, err)
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return t.do(req)
}

func (t *browser) do(req *http.Request) page {
	t.Helper()
	if t.script {
		req.Header.Set("HX-Request", "true")
	}
	res, err := t.client.Do(req)
	require.NoError(t, err)
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	require.NoError(t, err)
	doc, err := goquery.NewDocumentFromReader(strings.NewReader(string(body)))
	require.NoError(t, err)
	kept := doc.Find("template").Remove() // no part of the page until a script takes it out
	return page{T: t.T, templates: kept, status: res.StatusCode, header: res.Header, path: res.Request.URL.Path, body: string(body), doc: doc}
}

// tap sends a tap with an id of its own.
func (t *browser) tap(kind models.TapKind, step *models.Step) page {
	t.Helper()
	return t.post("/tap", url.Values{"tap_id": {uuid.NewString()}, "kind": {string(kind)}, "step": {strconv.FormatInt(step.ID, 10)}})
}

// press sends the form whose button reads label, as a browser without script
// would: every field of it, and the button if it has a name.
func (t *browser) press(p page, label string) page {
	t.Helper()
	button := p.doc.Find("button").FilterFunction(func(_ int, b *goquery.Selection) bool { return readable(b) == label }).First()
	require.Equal(t, 1, button.Length(), "no button reads %q; there are: %s", label, strings.Join(p.texts("button"), " | "))
	form := button.Closest("form")
	action, _ := form.Attr("action")
	if own, ok := button.Attr("formaction"); ok {
		action = own
	}
	return t.post(action, fieldsOf(form, button))
}

// fieldsOf is what a form sends.
func fieldsOf(form, button *goquery.Selection) url.Values {
	values := url.Values{}
	form.Find("input,textarea,select").Each(func(_ int, f *goquery.Selection) {
		name, named := f.Attr("name")
		_, checked := f.Attr("checked")
		if kind, _ := f.Attr("type"); !named || kind == "checkbox" && !checked {
			return
		}
		switch goquery.NodeName(f) {
		case "select":
			chosen := f.Find("option[selected]")
			if chosen.Length() == 0 {
				chosen = f.Find("option").First()
			}
			values.Set(name, chosen.AttrOr("value", ""))
		case "textarea":
			values.Set(name, f.Text())
		default:
			values.Set(name, f.AttrOr("value", ""))
		}
	})
	if button != nil {
		if name, ok := button.Attr("name"); ok {
			values.Set(name, button.AttrOr("value", ""))
		}
	}
	return values
}

// text is the words of the elements a selector finds, with single spaces.
func (p page) text(selector string) string { return readable(p.doc.Find(selector)) }

func (p page) texts(selector string) []string {
	var all []string
	p.doc.Find(selector).Each(func(_ int, s *goquery.Selection) { all = append(all, readable(s)) })
	return all
}

// readable is the text of elements as an eye reads it: apart where elements are.
func readable(s *goquery.Selection) string {
	var all []string
	var walk func(n *html.Node)
	walk = func(n *html.Node) {
		if n.Type == html.TextNode {
			all = append(all, strings.Fields(n.Data)...)
		}
		for c := n.FirstChild; c != nil; c = c.NextSibling {
			walk(c)
		}
	}
	for _, n := range s.Nodes {
		walk(n)
	}
	return strings.Join(all, " ")
}

// typed is what stands in a field.
func (p page) typed(name string) string {
	p.Helper()
	f := p.doc.Find(`[name="` + name + `"]`).First()
	require.Equal(p, 1, f.Length(), "there is no field %s", name)
	return fieldsOf(f.Parent(), nil).Get(name)
}

// accepting posts a form and says which kind of answer is wanted.
func (t *browser) accepting(path string, form url.Values, kind string) page {
	t.Helper()
	req, err := http.NewRequest(http.MethodPost, t.server.URL+path, strings.NewReader(form.Encode()))
	require.NoError(t, err)
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	req.Header.Set("Accept", kind)
	return t.do(req)
}

// revision is the shop's.
func (r *rig) revision() int64 {
	r.Helper()
	return testrig.Snapshot(r.T, r.store).Shop.Revision
}
