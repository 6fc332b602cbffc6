package handlers

import (
	"strconv"
	"sync"
	"time"

	"github.com/google/uuid"

	"faceside/models"
)

// backlog is how many changes a stream may be behind before it is dropped. A
// dropped tablet connects again and is told at once that it missed something.
const backlog = 16

// event is one change of what the screens show.
type event struct {
	version string
	kind    string
}

// hub tells every open stream that the shop has changed. Telling never waits
// for a slow tablet.
type hub struct {
	heartbeat time.Duration
	epoch     string // of this run of the program, so that versions of two runs differ

	mu   sync.Mutex
	seq  int64
	subs map[chan event]struct{}
}

func newHub(heartbeat time.Duration) *hub {
	return &hub{heartbeat: heartbeat, epoch: uuid.NewString()[:8], subs: map[chan event]struct{}{}}
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
	for sub := range h.subs {
		select {
		case sub <- event{version: h.name(), kind: change.Kind}:
		default:
			delete(h.subs, sub)
			close(sub)
		}
	}
}

// join opens a stream's channel and says which version it starts at; the
// channel is closed when the stream fell behind. leave must be called.
func (h *hub) join() (events <-chan event, version string, leave func()) {
	sub := make(chan event, backlog)
	h.mu.Lock()
	defer h.mu.Unlock()
	h.subs[sub] = struct{}{}
	return sub, h.name(), func() {
		h.mu.Lock()
		defer h.mu.Unlock()
		delete(h.subs, sub)
	}
}

// streams is how many are open.
func (h *hub) streams() int {
	h.mu.Lock()
	defer h.mu.Unlock()
	return len(h.subs)
}
