package handlers

import (
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/google/uuid"

	"faceside/models"
)

const (
	// backlog is how many changes a stream may be behind before it is dropped. A
	// dropped tablet connects again and is told what it missed.
	backlog = 64
	// remembered is how many changes are kept for tablets that come back; one
	// that missed more is told so in one event.
	remembered = 64
)

// event is one change of what the screens show.
type event struct {
	version string
	kind    string
}

// stream is one open stream of a tablet.
type stream struct {
	tablet    string        // "" where the browser keeps no cookie
	events    chan event    // closed when the stream fell behind
	elsewhere chan struct{} // closed when the tablet opened another stream
}

// hub tells every open stream that the shop has changed. Telling never waits
// for a slow tablet. Each tablet has one stream: a browser opens only a few
// connections to one server, and a few pages would use them up. The newest one
// is kept, as it is the page somebody just came to; that page tells the tablet's
// others (static/live.js). It is the server that closes the older one because
// a browser's own means of sharing a stream are missing in some browsers of
// tablets, or want HTTPS.
type hub struct {
	heartbeat time.Duration
	epoch     string // of this run of the program, so that versions of two runs differ

	mu     sync.Mutex
	seq    int64
	recent []event // the newest changes, oldest first
	subs   map[*stream]struct{}
	of     map[string]*stream // by tablet
}

func newHub(heartbeat time.Duration) *hub {
	return &hub{heartbeat: heartbeat, epoch: uuid.NewString()[:8], subs: map[*stream]struct{}{}, of: map[string]*stream{}}
}

// version names the state of the shop now: read it before the records it is to
// stand for, so that a change in between shows as a difference.
func (h *hub) version() string {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.name()
}

func (h *hub) name() string { return h.epoch + "." + strconv.FormatInt(h.seq, 10) }

// tell passes a change on. A stream whose backlog is full is closed.
func (h *hub) tell(change models.Change) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.seq++
	e := event{version: h.name(), kind: change.Kind}
	if len(h.recent) == remembered {
		h.recent = slices.Delete(h.recent, 0, 1)
	}
	h.recent = append(h.recent, e)
	for sub := range h.subs {
		select {
		case sub.events <- e:
		default:
			h.drop(sub)
			close(sub.events)
		}
	}
}

// join opens a tablet's stream and tells what changed since the version that it
// saw last: each change, or one in place of all where they are not remembered
// any more. leave must be called.
func (h *hub) join(tablet, seen string) (sub *stream, missed []event, leave func()) {
	sub = &stream{tablet: tablet, events: make(chan event, backlog), elsewhere: make(chan struct{})}
	h.mu.Lock()
	defer h.mu.Unlock()
	if older := h.of[tablet]; tablet != "" && older != nil {
		h.drop(older)
		close(older.elsewhere)
	}
	h.subs[sub] = struct{}{}
	if tablet != "" {
		h.of[tablet] = sub
	}
	return sub, h.since(seen), func() {
		h.mu.Lock()
		defer h.mu.Unlock()
		h.drop(sub)
	}
}

// since lists the changes after a version.
func (h *hub) since(seen string) []event {
	epoch, number, _ := strings.Cut(seen, ".")
	seq, err := strconv.ParseInt(number, 10, 64)
	missed := h.seq - seq
	if err != nil || epoch != h.epoch || missed < 0 || missed > int64(len(h.recent)) {
		return []event{{version: h.name(), kind: "missed"}}
	}
	return slices.Clone(h.recent[int64(len(h.recent))-missed:])
}

// drop forgets a stream.
func (h *hub) drop(sub *stream) {
	delete(h.subs, sub)
	if h.of[sub.tablet] == sub {
		delete(h.of, sub.tablet)
	}
}

// connected says whether a tablet has a stream open.
func (h *hub) connected(tablet string) bool {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.of[tablet] != nil
}

// streams is how many are open.
func (h *hub) streams() int {
	h.mu.Lock()
	defer h.mu.Unlock()
	return len(h.subs)
}
