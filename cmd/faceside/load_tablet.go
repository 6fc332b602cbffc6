package main

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/google/uuid"

	"faceside/models"
)

// How often a tablet's script fetches its screen anew: faceside.refresh in
// static/app.js.
const (
	ownGap    = 500 * time.Millisecond
	othersGap = time.Second
	slowGap   = 4 // times what the last took, up to four times othersGap
)

// loadTablet does what the scripts of a page on a tablet do.
type loadTablet struct {
	id     string         // its cookie
	shows  []*http.Cookie // beside it, where it is enrolled and somebody is signed in
	queue  string
	number int64
	maker  models.ID
	step   models.ID
	at     string // the server's address
	client *http.Client
	stream *http.Client // of its own, without a limit

	own, others chan struct{} // that the screen is to be fetched anew
	version     string        // that the stream came to; read it when the stream is over

	mu     sync.Mutex
	heard  []heard
	drawn  []time.Duration // from wanting the screen anew after an own tap to having it
	broken int             // streams that ended
	failed int             // screens that did not come
}

// heard is the newest row of the journal that an event told of.
type heard struct {
	at  time.Time
	seq int64
}

// tapTold is what the answer to a tap says.
type tapTold struct {
	State string `json:"state"`
	From  int64  `json:"from"`
	Why   string `json:"why"`
	Seq   int64  `json:"seq"`
}

func (t *loadTablet) request(ctx context.Context, method, path string, body io.Reader) (*http.Request, error) {
	req, err := http.NewRequestWithContext(ctx, method, "http://"+t.at+path, body)
	if err != nil {
		return nil, err
	}
	req.AddCookie(&http.Cookie{Name: "faceside_tablet", Value: t.id})
	req.AddCookie(&http.Cookie{Name: "faceside_person", Value: fmt.Sprint(t.maker)})
	for _, c := range t.shows {
		req.AddCookie(c)
	}
	// Said here, so that the client does not unpack what nobody reads.
	req.Header.Set("Accept-Encoding", "gzip")
	return req, nil
}

// tap sends one tap as static/queue.js does, under the id it is given.
func (t *loadTablet) tap(ctx context.Context, id string, fields url.Values) (told tapTold, err error) {
	form := url.Values{"tap_id": {id}, "person": {fmt.Sprint(t.maker)}, "step": {fmt.Sprint(t.step)}, "queue": {t.queue},
		"number": {fmt.Sprint(t.number)}, "said_at": {now()}, "sent_at": {now()}, "heard": {now()}}
	for name, values := range fields {
		form[name] = values
	}
	req, err := t.request(ctx, http.MethodPost, "/tap", strings.NewReader(form.Encode()))
	if err != nil {
		return told, err
	}
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	req.Header.Set("Accept", "application/json")
	answer, err := t.client.Do(req)
	if err != nil {
		return told, err
	}
	defer answer.Body.Close()
	if answer.StatusCode != http.StatusOK {
		return told, fmt.Errorf("a tap was answered %s", answer.Status)
	}
	if err := json.NewDecoder(answer.Body).Decode(&told); err != nil {
		return told, fmt.Errorf("reading the answer to a tap: %w", err)
	}
	return told, nil
}

func now() string { return time.Now().UTC().Format(time.RFC3339Nano) }

var pageVersion = regexp.MustCompile(`data-version="([^"]+)"`)

// open fetches the bench whole, and returns the version it shows.
func (t *loadTablet) open(ctx context.Context) (version string, err error) {
	req, err := t.request(ctx, http.MethodGet, "/", nil)
	if err != nil {
		return "", err
	}
	req.Header.Del("Accept-Encoding") // it is read
	answer, err := t.client.Do(req)
	if err != nil {
		return "", err
	}
	defer answer.Body.Close()
	page, err := io.ReadAll(answer.Body)
	if err != nil {
		return "", err
	}
	found := pageVersion.FindSubmatch(page)
	if answer.StatusCode != http.StatusOK || found == nil {
		return "", fmt.Errorf("the bench was answered %s, without a version", answer.Status)
	}
	return string(found[1]), nil
}

// listen reads the live stream until ctx ends, and connects again when it is lost.
func (t *loadTablet) listen(ctx context.Context, version string, connected func()) {
	t.version = version
	for once := sync.OnceFunc(connected); ctx.Err() == nil; {
		t.version = t.follow(ctx, t.version, once)
		if ctx.Err() == nil {
			t.mu.Lock()
			t.broken++
			t.mu.Unlock()
			pause(ctx, time.Second)
		}
	}
}

// follow reads one stream to its end and returns the version it came to.
func (t *loadTablet) follow(ctx context.Context, version string, connected func()) string {
	req, err := t.request(ctx, http.MethodGet, "/live?since="+url.QueryEscape(version), nil)
	if err != nil {
		return version
	}
	answer, err := t.stream.Do(req)
	if err != nil {
		return version
	}
	defer answer.Body.Close()
	lines, changes := bufio.NewScanner(answer.Body), false
	lines.Buffer(make([]byte, 0, 4<<10), 1<<20)
	for lines.Scan() {
		line := lines.Text()
		if id, ok := strings.CutPrefix(line, "id: "); ok {
			version = id
		} else if kind, ok := strings.CutPrefix(line, "event: "); ok {
			changes = kind == "shop-changed"
			connected()
		} else if data, ok := strings.CutPrefix(line, "data: "); ok && changes {
			t.changed(time.Now(), data)
		}
	}
	return version
}

// changed notes what an event told, and has the screen fetched anew: soon where
// it is of this tablet's maker or step, else within a second.
func (t *loadTablet) changed(at time.Time, data string) {
	var what struct {
		Seq    int64       `json:"seq"`
		Steps  []models.ID `json:"steps"`
		People []models.ID `json:"people"`
	}
	if err := json.Unmarshal([]byte(data), &what); err != nil {
		return // not of a tap
	}
	if what.Seq > 0 {
		t.mu.Lock()
		t.heard = append(t.heard, heard{at, what.Seq})
		t.mu.Unlock()
	}
	if slices.Contains(what.Steps, t.step) || slices.Contains(what.People, t.maker) {
		want(t.own)
	} else {
		want(t.others)
	}
}

// newest is the newest row of the journal that this tablet was told of; they come in order.
func (t *loadTablet) newest() int64 {
	t.mu.Lock()
	defer t.mu.Unlock()
	if len(t.heard) == 0 {
		return 0
	}
	return t.heard[len(t.heard)-1].seq
}

func want(c chan struct{}) {
	select {
	case c <- struct{}{}:
	default: // it is wanted already
	}
}

// draw follows the shop on the screen until ctx ends, at the pace of the script.
func (t *loadTablet) draw(ctx context.Context) {
	last, took := time.Time{}, time.Duration(0)
	for {
		since, soon := time.Time{}, false
		select {
		case <-ctx.Done():
			return
		case <-t.own:
			since, soon = time.Now(), true
		case <-t.others:
		}
		for wait := pace(last, took, soon); wait > 0; wait = pace(last, took, soon) {
			timer := time.NewTimer(wait)
			select {
			case <-ctx.Done():
				timer.Stop()
				return
			case <-timer.C:
			case <-t.own:
				timer.Stop()
				if !soon {
					since, soon = time.Now(), true
				}
			}
		}
		last = time.Now()
		t.fetch(ctx, "/bench")
		took = time.Since(last)
		if soon {
			t.mu.Lock()
			t.drawn = append(t.drawn, time.Since(since))
			t.mu.Unlock()
		}
		t.fetch(ctx, "/gates/resting")
	}
}

func pace(last time.Time, took time.Duration, soon bool) time.Duration {
	gap := othersGap
	if soon {
		gap = ownGap
	}
	return time.Until(last.Add(max(gap, slowGap*min(took, othersGap))))
}

// fetch has a screen drawn anew, and says whether it came.
func (t *loadTablet) fetch(ctx context.Context, path string) bool {
	req, err := t.request(ctx, http.MethodGet, path, nil)
	if err == nil {
		req.Header.Set("HX-Request", "true")
		var answer *http.Response
		if answer, err = t.client.Do(req); err == nil {
			_, err = io.Copy(io.Discard, answer.Body)
			answer.Body.Close()
			if err == nil && answer.StatusCode != http.StatusOK {
				err = fmt.Errorf("%s was answered %s", path, answer.Status)
			}
		}
	}
	if err != nil && ctx.Err() == nil {
		t.mu.Lock()
		t.failed++
		t.mu.Unlock()
	}
	return err == nil
}

// pause waits, but not longer than ctx allows.
func pause(ctx context.Context, d time.Duration) {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-ctx.Done():
	case <-timer.C:
	}
}

func newLoadTablet(address string, maker, step models.ID, client, stream *http.Client) *loadTablet {
	return &loadTablet{id: uuid.NewString(), queue: uuid.NewString(), maker: maker, step: step, at: address, client: client, stream: stream,
		own: make(chan struct{}, 1), others: make(chan struct{}, 1)}
}
