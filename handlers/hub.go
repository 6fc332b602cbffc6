package handlers

import (
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/google/uuid"

	"faceside/models"
)

// remembered is how many changes are kept for tablets that come back or cannot
// be told as fast as they come; one that missed more is told so in one word.
const remembered = 1024

// news is one event: all that changed since the one before. A tablet sees from
// it whether what it shows is meant.
type news struct {
	version string
	Kinds   []models.ChangeKind `json:"kinds"` // "missed" where it is not known what
	// Seq is the newest row of the journal among the changes.
	Seq    int64       `json:"seq,omitempty"`
	Steps  []models.ID `json:"steps,omitempty"`  // that were tapped, or have pieces or notes of their own that changed
	People []models.ID `json:"people,omitempty"` // who tapped
}

// text is the event as the stream carries it.
func (e news) text() string {
	data, err := json.Marshal(e)
	if err != nil { // it holds words and numbers only
		data = []byte("{}")
	}
	return fmt.Sprintf("id: %s\nevent: shop-changed\ndata: %s\n\n", e.version, data)
}

// add puts one more change into the event.
func (e *news) add(c models.Change) {
	note(&e.Kinds, c.Kind)
	if c.Step != 0 {
		note(&e.Steps, c.Step)
	}
	if c.Tap == nil {
		return
	}
	e.Seq = max(e.Seq, c.Tap.Seq)
	note(&e.People, c.Tap.PersonID)
	if c.Tap.StepID != nil {
		note(&e.Steps, *c.Tap.StepID)
	}
}

// note adds to a short list what it has not.
func note[T comparable](all *[]T, one T) {
	if !slices.Contains(*all, one) {
		*all = append(*all, one)
	}
}

// stream is one open stream of a tablet.
type stream struct {
	tablet    string        // "" where the browser keeps no cookie
	at        int64         // the change that it was told last; -1 for none that is known
	wake      chan struct{} // holds one where there is something to tell
	elsewhere chan struct{} // closed when the tablet opened another stream
}

// hub tells every open stream that the shop has changed. Telling never waits
// for a slow tablet: each stream fetches what is new when it can send it, all in
// one event. Each tablet has one stream: a browser opens only a few
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
	recent [remembered]models.Change // change n stands at n modulo its length
	subs   map[*stream]struct{}
	of     map[string]*stream // by tablet
}

func newHub(heartbeat time.Duration) *hub {
	return &hub{heartbeat: heartbeat, epoch: uuid.NewString()[:8], subs: map[*stream]struct{}{}, of: map[string]*stream{}}
}

// version names the state of the shop now: read it before the records it is to
// stand for, so that a change in between shows as a difference.
func (h *hub) version() string { return h.name(h.changes()) }

// changes is how many there were.
func (h *hub) changes() int64 {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.seq
}

func (h *hub) name(seq int64) string { return h.epoch + "." + strconv.FormatInt(seq, 10) }

// tell passes a change on.
func (h *hub) tell(change models.Change) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.seq++
	h.recent[h.seq%remembered] = change
	for sub := range h.subs {
		select {
		case sub.wake <- struct{}{}:
		default: // it is awake already
		}
	}
}

// join opens a tablet's stream, which is then told what changed since the
// version that it saw last. leave must be called.
func (h *hub) join(tablet, seen string) (sub *stream, leave func()) {
	sub = &stream{tablet: tablet, wake: make(chan struct{}, 1), elsewhere: make(chan struct{})}
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
	if sub.at = h.known(seen); sub.at != h.seq {
		sub.wake <- struct{}{}
	}
	return sub, func() {
		h.mu.Lock()
		defer h.mu.Unlock()
		h.drop(sub)
	}
}

// known is the change that a version stands for, -1 where it is of another run
// or nonsense.
func (h *hub) known(version string) int64 {
	epoch, number, _ := strings.Cut(version, ".")
	seq, err := strconv.ParseInt(number, 10, 64)
	if err != nil || epoch != h.epoch || seq < 0 || seq > h.seq {
		return -1
	}
	return seq
}

// news is what a stream was not told yet; ok is false for nothing.
func (h *hub) news(sub *stream) (e news, ok bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if sub.at == h.seq {
		return e, false
	}
	e.version = h.name(h.seq)
	if sub.at < 0 || h.seq-sub.at > remembered {
		e.Kinds = []models.ChangeKind{"missed"}
	} else {
		for n := sub.at + 1; n <= h.seq; n++ {
			e.add(h.recent[n%remembered])
		}
	}
	sub.at = h.seq
	return e, true
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
