package handlers

import (
	"bufio"
	"context"
	"io"
	"net/http"
	"net/http/httptest"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
)

// listener reads one live stream.
type listener struct {
	*testing.T
	res   *http.Response
	lines chan string
	stop  context.CancelFunc
}

// listen opens the stream and waits until the server has let it in.
func (r *rig) listen(query string, header http.Header) *listener {
	r.Helper()
	ctx, stop := context.WithCancel(context.Background())
	r.Cleanup(stop)
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, r.server.URL+"/live"+query, nil)
	require.NoError(r, err)
	for name, values := range header {
		req.Header[name] = values
	}
	res, err := http.DefaultClient.Do(req)
	require.NoError(r, err)
	r.Cleanup(func() { res.Body.Close() })
	l := &listener{T: r.T, res: res, lines: make(chan string), stop: stop}
	go func() {
		defer close(l.lines)
		for scan := bufio.NewScanner(res.Body); scan.Scan(); {
			l.lines <- scan.Text()
		}
	}()
	return l
}

// message reads the next message: its lines up to an empty one. ok is false
// when the stream has ended.
func (l *listener) message() (text string, ok bool) {
	l.Helper()
	var all []string
	for {
		select {
		case line, open := <-l.lines:
			if !open {
				return strings.Join(all, "\n"), false
			}
			if line == "" {
				return strings.Join(all, "\n"), true
			}
			all = append(all, line)
		case <-time.After(10 * time.Second):
			require.Fail(l, "the stream says nothing")
		}
	}
}

func TestATapReachesOtherTablets(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	ben := r.listen("?since="+r.hub.version(), nil)
	assert.Equal(t, "text/event-stream; charset=utf-8", ben.res.Header.Get("Content-Type"))
	assert.Equal(t, "no", ben.res.Header.Get("X-Accel-Buffering"))
	first, _ := ben.message()
	assert.Equal(t, "retry: 1000\n: welcome", first, "nothing was missed")

	r.as("Ana").tap(models.TapStart, r.step("joint"))
	told, ok := ben.message()
	require.True(t, ok)
	assert.Equal(t, "id: "+r.hub.version()+"\nevent: shop-changed\ndata: tap", told)

	r.plan()
	told, _ = ben.message()
	assert.Contains(t, told, "data: plan")
}

func TestATabletThatWasAwayIsToldAtOnce(t *testing.T) {
	r := newRig(t)
	old := r.hub.version()
	r.take("Hall shelf")
	told, _ := r.listen("?since="+old, nil).message()
	assert.Contains(t, told, "id: "+r.hub.version()+"\nevent: shop-changed")

	// A stream that comes back says itself what it saw last.
	back := http.Header{"Last-Event-Id": {r.hub.version()}}
	told, _ = r.listen("?since="+old, back).message()
	assert.NotContains(t, told, "shop-changed")
}

func TestAPageCarriesTheVersionItShows(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	p := r.as("Ana").get("/")
	connect := p.doc.Find("#live").AttrOr("hx-sse:connect", "")
	assert.Equal(t, "/live?since="+r.hub.version(), connect)
	assert.Equal(t, 1, strings.Count(p.body, "hx-sse:connect"), "one stream a page")
}

func TestTheStreamBeatsWhenNothingHappens(t *testing.T) {
	r := newRig(t, func(c *Config) { c.Heartbeat = time.Millisecond })
	l := r.listen("?since="+r.hub.version(), nil)
	for range 4 {
		_, ok := l.message()
		require.True(t, ok)
	}
	beat, _ := l.message()
	assert.Equal(t, ": still here", beat)
}

func TestASlowStreamIsDroppedAndNobodyWaits(t *testing.T) {
	h := newHub(time.Hour)
	slow, _, leave := h.join()
	defer leave()
	quick, _, leaveQuick := h.join()
	defer leaveQuick()
	for range backlog + 1 {
		h.tell(models.Change{Kind: "tap"})
		e, ok := <-quick
		require.True(t, ok)
		assert.Equal(t, h.version(), e.version)
	}
	assert.Equal(t, 1, h.streams())
	for range backlog {
		_, ok := <-slow
		require.True(t, ok, "what it had is still there")
	}
	_, ok := <-slow
	assert.False(t, ok, "then it is closed")
}

func TestStreamsEndWithTheirTablet(t *testing.T) {
	r := newRig(t)
	before := runtime.NumGoroutine()
	var all []*listener
	for range 20 {
		l := r.listen("", nil)
		_, ok := l.message()
		require.True(t, ok)
		all = append(all, l)
	}
	assert.Equal(t, 20, r.hub.streams())
	for _, l := range all {
		l.stop()
	}
	assert.Eventually(t, func() bool { return r.hub.streams() == 0 }, 10*time.Second, 5*time.Millisecond)
	http.DefaultClient.CloseIdleConnections()
	assert.Eventually(t, func() bool { return runtime.NumGoroutine() <= before+5 }, 10*time.Second, 5*time.Millisecond,
		"goroutines are left: %d before, %d now", before, runtime.NumGoroutine())
}

func TestStreamsEndWhenTheProgramStops(t *testing.T) {
	r := newRig(t)
	l := r.listen("?since="+r.hub.version(), nil)
	_, ok := l.message()
	require.True(t, ok)
	close(r.stop)
	_, ok = l.message()
	assert.False(t, ok)
	rest, err := io.ReadAll(l.res.Body)
	assert.NoError(t, err, "it ends cleanly")
	assert.Empty(t, rest)
}

// A limit the server sets on writing an answer must not end a stream.
func TestAWriteTimeoutLeavesStreamsAlone(t *testing.T) {
	r := newRig(t, func(c *Config) { c.Heartbeat = 5 * time.Millisecond })
	limited := httptest.NewUnstartedServer(r.server.Config.Handler)
	limited.Config.WriteTimeout = 50 * time.Millisecond
	limited.Start()
	t.Cleanup(limited.Close)
	r.server = limited
	l := r.listen("", nil)
	for range 40 { // beats: 200 ms of them
		_, ok := l.message()
		require.True(t, ok)
	}
}
