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
	ChangedTablet     ChangeKind = "tablet" // a tablet's record, or a tap that waits for an answer: no plan hangs on it
	ChangedNote       ChangeKind = "note"   // pieces ticked off, a note or a photo of a step: no plan hangs on it
)

// Planned says whether plans hang on what was changed.
func (c Change) Planned() bool {
	return c.Kind != ChangedPlan && c.Kind != ChangedTablet && c.Kind != ChangedNote
}

// Change tells that a change was committed.
type Change struct {
	Revision int64      // Shop.Revision after it
	Kind     ChangeKind // "tap", "plan", "commission", "shop", "tablet" or "note"
	Tap      *Tap       // the new row of the journal, for "tap"
	Step     ID         // for "note", as far as it is of one
}

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
