package handlers

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
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

// change reads on to the next change.
func (l *listener) change() string {
	l.Helper()
	for {
		text, ok := l.message()
		require.True(l, ok, "the stream ended")
		if strings.Contains(text, "shop-changed") {
			return text
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
	assert.Equal(t, "retry: 1000\nevent: beat\ndata: 2026-03-02T07:30:00Z", first, "nothing was missed")

	r.as("Ana").tap(models.TapStart, r.step("joint"))
	told, ok := ben.message()
	require.True(t, ok)
	assert.Equal(t, fmt.Sprintf("id: %s\nevent: shop-changed\ndata: {\"kinds\":[\"tap\"],\"seq\":1,\"steps\":[%d],\"people\":[%d]}",
		r.hub.version(), r.step("joint").ID, r.journal()[0].PersonID), told, "what it was, so that a tablet sees whether it is meant")

	r.plan()
	told, _ = ben.message()
	assert.Contains(t, told, `data: {"kinds":["plan"]}`)
}

func TestATabletThatWasAwayIsToldAtOnce(t *testing.T) {
	r := newRig(t)
	old := r.hub.version()
	r.take("Hall shelf")
	told := r.listen("?since="+old, nil).change()
	assert.Equal(t, "id: "+r.hub.version()+"\nevent: shop-changed\ndata: {\"kinds\":[\"commission\"]}", told)

	// A stream that comes back says itself what it saw last.
	back := http.Header{"Last-Event-Id": {r.hub.version()}}
	l := r.listen("?since="+old, back)
	_, _ = l.message()
	r.take("Another")
	told, _ = l.message()
	assert.Contains(t, told, r.hub.version(), "the next it hears is what comes after")
}

func TestAPageCarriesTheVersionItShows(t *testing.T) {
	r := newRig(t)
	r.take("Hall shelf")
	p := r.as("Ana").get("/")
	assert.Equal(t, r.hub.version(), p.doc.Find("#live").AttrOr("data-version", ""))
}

func TestTheStreamBeatsWhenNothingHappens(t *testing.T) {
	r := newRig(t, func(c *Config) { c.Heartbeat = time.Millisecond })
	l := r.listen("?since="+r.hub.version(), nil)
	for range 4 {
		_, ok := l.message()
		require.True(t, ok)
	}
	beat, _ := l.message()
	assert.Equal(t, "event: beat\ndata: 2026-03-02T07:30:00Z", beat)
}

// A tablet that cannot take what it is told as fast as it comes holds nobody up
// and misses nothing: it is told all of it at once.
func TestASlowStreamIsToldAllAtOnceAndNobodyWaits(t *testing.T) {
	h := newHub(time.Hour)
	slow, leave := h.join("slow", h.version())
	defer leave()
	quick, leaveQuick := h.join("quick", h.version())
	defer leaveQuick()
	for n := range int64(remembered) {
		step := n % 3
		h.tell(models.Change{Kind: "tap", Tap: &models.Tap{Seq: n, StepID: &step, PersonID: 1}})
		<-quick.wake
		e, ok := h.news(quick)
		require.True(t, ok)
		assert.Equal(t, news{version: h.version(), Kinds: []string{"tap"}, Seq: n, Steps: []models.ID{step}, People: []models.ID{1}}, e)
	}
	h.tell(models.Change{Kind: "plan"})
	_, ok := h.news(quick)
	require.True(t, ok)
	_, ok = h.news(quick)
	assert.False(t, ok, "once")

	slow.at++ // of the last that are remembered
	<-slow.wake
	e, _ := h.news(slow)
	assert.Equal(t, news{version: h.version(), Kinds: []string{"tap", "plan"}, Seq: remembered - 1, Steps: []models.ID{1, 2, 0}, People: []models.ID{1}}, e)
}

func TestStreamsEndWithTheirTablet(t *testing.T) {
	r := newRig(t)
	before := runtime.NumGoroutine()
	var all []*listener
	for range 20 {
		l := r.listen("?since="+r.hub.version(), nil)
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

// A tablet that was away hears of each change it missed, without a gap; one that
// was away for too many hears one word in place of all.
func TestATabletCatchesUpWithoutGaps(t *testing.T) {
	h := newHub(time.Hour)
	first := h.version()
	var all []string
	for n := range int64(remembered + 1) {
		h.tell(models.Change{Kind: "tap", Tap: &models.Tap{Seq: n, StepID: &n, PersonID: 1}})
		all = append(all, h.version())
	}
	for _, i := range []int{0, 1, remembered / 2, remembered - 1} {
		sub, leave := h.join("", all[i])
		leave()
		e, ok := h.news(sub)
		require.True(t, ok)
		assert.Equal(t, h.version(), e.version)
		require.Len(t, e.Steps, remembered-i)
		for k, step := range e.Steps {
			assert.EqualValues(t, i+1+k, step)
		}
	}
	sub, leave := h.join("", h.version())
	leave()
	assert.Empty(t, sub.wake, "nothing was missed")
	for name, seen := range map[string]string{"too long ago": first, "ahead of us": h.epoch + ".999999", "of another run": "other.3", "nonsense": "x"} {
		sub, leave := h.join("", seen)
		leave()
		assert.Len(t, sub.wake, 1, name)
		e, ok := h.news(sub)
		assert.True(t, ok, name)
		assert.Equal(t, news{version: h.version(), Kinds: []string{"missed"}}, e, name)
	}
}

func TestATabletHasOneStream(t *testing.T) {
	r := newRig(t)
	tab := r.as("Ana")
	at, err := url.Parse(r.server.URL)
	require.NoError(t, err)
	header := http.Header{}
	for _, c := range tab.client.Jar.Cookies(at) {
		header.Add("Cookie", c.String())
	}
	older := r.listen("?since="+r.hub.version(), header)
	_, ok := older.message()
	require.True(t, ok)
	other := r.listen("?since="+r.hub.version(), nil)
	_, ok = other.message()
	require.True(t, ok)

	newer := r.listen("?since="+r.hub.version(), header)
	_, ok = newer.message()
	require.True(t, ok)
	said, _ := older.message()
	assert.Equal(t, "event: elsewhere\ndata: ", said)
	_, ok = older.message()
	assert.False(t, ok, "then it ends")
	assert.Eventually(t, func() bool { return r.hub.streams() == 2 }, 10*time.Second, time.Millisecond, "the newer one and the other tablet's")

	r.take("Hall shelf")
	assert.Contains(t, newer.change(), "commission")
	assert.Contains(t, other.change(), "commission")
}
