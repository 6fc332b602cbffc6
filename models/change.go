package models

import "sync"

// ChangeKind says what was changed.
type ChangeKind = string

// The kinds of Change.
const (
	ChangedTap        ChangeKind = "tap"
	ChangedPlan       ChangeKind = "plan"
	ChangedCommission ChangeKind = "commission"
	ChangedShop       ChangeKind = "shop"
	ChangedTablet     ChangeKind = "tablet"   // a tablet's record, or a tap that waits for an answer: no plan hangs on it
	ChangedNote       ChangeKind = "note"     // pieces ticked off, a note or a photo of a step: no plan hangs on it
	ChangedPromises   ChangeKind = "promises" // no record: other dates are foreseen
)

// Planned says whether plans hang on what was changed.
func (c Change) Planned() bool {
	return c.Kind != ChangedPlan && c.Kind != ChangedTablet && c.Kind != ChangedNote && c.Kind != ChangedPromises
}

// Change tells that a change was committed.
type Change struct {
	Revision int64      // Shop.Revision after it; for "plan" the one that it was made from
	Kind     ChangeKind // "tap", "plan", "commission", "shop", "tablet", "note" or "promises"
	Tap      *Tap       // the new row of the journal, for "tap" and a station that was saved with one
	Progress bool       // for "tap": it says how far the work is, and changes nothing of what is to be done with what
	Step     ID         // for "note", as far as it is of one
}

// lastOrder is the newest revision, as far as this store knows, that changed more
// than how far the work is: other steps, stations, hours. Plans of older ones are of
// another order of work.
type lastOrder struct {
	revision   int64
	commission int64 // the newest that changed one, or took one in
	shop       int64 // the newest that changed the shop
	seen       int64 // the newest of all
}

// note is told of every change in its transaction. What another program did
// meanwhile may have been anything.
func (o *lastOrder) note(c Change) {
	if !c.Planned() {
		return
	}
	if !c.Progress || c.Revision != o.seen+1 {
		o.revision = c.Revision
	}
	switch c.Kind {
	case ChangedCommission:
		o.commission = c.Revision
	case ChangedShop:
		o.shop = c.Revision
	}
	o.seen = c.Revision
}

// forget is called where what was noted was not committed.
func (o *lastOrder) forget() { o.seen = 0 }

// same says whether only progress was made between a plan's revision and the present one.
func (o *lastOrder) same(plan, now int64) bool { return plan >= o.revision && now == o.seen }

// subscribers are told of changes in the order in which they came.
type subscribers struct {
	mu   sync.Mutex
	next int
	all  map[int]func(Change)
}

// OnChange has f called after each commit, outside the transaction, in the
// order of the commits. f must be quick and must not write to the store: the
// next writer waits for it. cancel ends it.
func (s *Store) OnChange(f func(Change)) (cancel func()) {
	s.subs.mu.Lock()
	defer s.subs.mu.Unlock()
	if s.subs.all == nil {
		s.subs.all = map[int]func(Change){}
	}
	n := s.subs.next
	s.subs.next++
	s.subs.all[n] = f
	return func() {
		s.subs.mu.Lock()
		defer s.subs.mu.Unlock()
		delete(s.subs.all, n)
	}
}

// tell calls every subscriber, oldest first.
func (s *subscribers) tell(c Change) {
	s.mu.Lock()
	var calls []func(Change)
	for n := 0; n < s.next; n++ {
		if f, ok := s.all[n]; ok {
			calls = append(calls, f)
		}
	}
	s.mu.Unlock()
	for _, f := range calls {
		f(c)
	}
}
