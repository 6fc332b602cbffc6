package main

import (
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// slowWay leads to a shop whose pages wait where they are held.
type slowWay struct {
	address string
	held    map[string]*heldPage // by path
}

// heldPage waits until it is let go or nobody waits for it any more.
type heldPage struct {
	asked, givenUp, let chan struct{}
}

func newSlowWay(t *testing.T, to string, held ...string) *slowWay {
	t.Helper()
	w := &slowWay{held: map[string]*heldPage{}}
	for _, path := range held {
		w.held[path] = &heldPage{make(chan struct{}, 1), make(chan struct{}, 1), make(chan struct{})}
	}
	shop := httputil.NewSingleHostReverseProxy(&url.URL{Scheme: "http", Host: to})
	server := httptest.NewServer(http.HandlerFunc(func(rw http.ResponseWriter, r *http.Request) {
		page := w.held[r.URL.Path]
		if page == nil || r.URL.RawQuery != "held" {
			shop.ServeHTTP(rw, r)
			return
		}
		page.asked <- struct{}{}
		select {
		case <-page.let:
			shop.ServeHTTP(rw, r)
		case <-r.Context().Done():
			page.givenUp <- struct{}{}
		}
	}))
	t.Cleanup(func() {
		server.CloseClientConnections() // the streams of open pages
		server.Close()
	})
	w.address = strings.TrimPrefix(server.URL, "http://")
	return w
}

// A page that comes slowly is waited for; the Bench, which is at hand as it was seen
// last, is not.
func TestBrowserAPageThatComesSlowly(t *testing.T) {
	t.Parallel()
	shop := startDemo(t, quickWork)
	way := newSlowWay(t, shop.address, "/", "/week")
	bench := newTablet(t, startBrowser(t), way.address)
	bench.awayFrom()
	bench.open("/")
	bench.says("Maren")
	bench.isReady()
	week := newTabletIn(t, bench.page, way.address, nil)
	week.awayFrom()
	week.open("/gates")
	leave := func(tb *tablet, path string) {
		tb.do(chromedp.Evaluate[chromedp.Void]("setTimeout(() => location.assign(" + `"` + path + `?held"` + "))"))
		<-way.held[path].asked
	}

	leave(week, "/week")
	leave(bench, "/")
	<-way.held["/"].givenUp
	bench.until("the Bench is shown as it was seen last", func() bool { return bench.text(theState) == "in hand" })
	select {
	case <-way.held["/week"].givenUp:
		require.Fail(t, "the week, asked for before, was not waited for")
	default:
	}
	close(way.held["/week"].let)
	week.until("the week has come", func() bool { return week.count("#week") == 1 })
	assert.Zero(t, week.count("#bench"))
}
