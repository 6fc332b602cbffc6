package planner

import (
	"sort"
	"time"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/models/sequence"
)

// A pinned step starts where a maker pinned it: its task has a fixed start. What
// has become of the shop since may not let it. Then the pin is loosened: the
// step starts as soon after it as it can, and the notes say so.

// minutesToPins returns the open minutes until the latest pin, or the end of its day,
// or until the last of what is missing comes.
func (q *posed) minutesToPins() int {
	most := 0
	for _, it := range q.items {
		if at, comes := q.expected(it.Step); comes {
			most = max(most, q.cal.minutes(q.at, at))
		}
		if at, ok := it.Pinned(); ok && at.After(q.at) {
			most = max(most, q.cal.minutes(q.at, at))
		}
		if w := q.snap.Wants(it.ID); w != nil && w.Day != "" {
			if day, err := time.ParseInLocation(time.DateOnly, w.Day, q.cal.Zone); err == nil && day.After(q.at) {
				most = max(most, q.cal.minutes(q.at, day.AddDate(0, 0, 1)))
			}
		}
	}
	return most
}

// settlePins fixes the pinned steps, as far as the clock, the shop's hours and
// what comes before them let them start there. It needs the releases.
func (q *posed) settlePins() {
	for _, it := range q.items {
		if at, ok := it.Pinned(); ok && it.stand == free {
			it.pin = at
			q.settlePin(it)
		}
	}
	known := map[models.ID]int{}
	for _, it := range q.items {
		if it.pinned {
			q.earliest(it, known)
		}
	}
}

func (q *posed) settlePin(it *item) {
	start := q.line.minute(it.pin)
	switch {
	case start < 0:
		it.loosePin(phrase.Of("that is past"), it.release)
	case !q.opensFor(it, start):
		it.loosePin(phrase.Of("the shop is not open for it then"), max(it.release, start))
	case start < it.release:
		it.loosePin(phrase.Of("it can begin %s at the earliest", q.clock(it.release)), it.release)
	case start > q.latest(it):
		it.loosePin(phrase.Of("it must begin by %s", q.clock(q.latest(it))), it.release)
	default:
		it.start, it.pinned = start, true
	}
}

// loosePin lets a pinned step move from a minute on. why completes "but ...".
func (i *item) loosePin(why phrase.Phrase, from int) { i.pinned, i.loose, i.release = false, why, from }

func (q *posed) clock(minute int) phrase.Phrase {
	return clockWords(q.line.time(minute), q.at, q.cal.Zone)
}

// opensFor tells whether the shop is open at a minute, and for a step that must
// not be cut, long enough.
func (q *posed) opensFor(it *item, minute int) bool {
	i := q.line.window(minute)
	if i == len(q.line.windows) || q.line.windows[i][0] > minute {
		return false
	}
	return it.cut || minute+it.left <= q.line.windows[i][1]
}

// latest returns the last minute at which the greatest lags that run already
// let a step begin; never where there is none.
func (q *posed) latest(it *item) int {
	latest := never
	for _, g := range q.lags {
		if link := q.Links[g.index]; g.after == it && link.Before == originName && link.Max != nil {
			latest = min(latest, *link.Max)
		}
	}
	return latest
}

// earliest returns the first minute at which a step can begin if nothing but
// its links holds it and those before it, and loosens the pins that come too
// soon for that. O(links before the step).
func (q *posed) earliest(it *item, known map[models.ID]int) int {
	if it.fixed() {
		return it.start
	}
	if at, ok := known[it.ID]; ok {
		return at
	}
	at := q.line.opens(max(0, it.release))
	var last *item
	for _, l := range q.snap.Before(it.ID) {
		before := q.byStep[l.BeforeID]
		if before == nil {
			continue
		}
		if after := q.point(l, before, known) + l.MinLag; after > at {
			at, last = after, before
		}
	}
	switch {
	case it.pinned && last != nil && at > it.start:
		it.loosePin(phrase.Of("%s before it is not over by then", quoted(last.Step)), it.start)
	case it.pinned:
		at = it.start
	}
	known[it.ID] = at
	return at
}

// point returns the first minute at which the point of a link can be.
func (q *posed) point(l models.Link, before *item, known map[models.ID]int) int {
	start := q.earliest(before, known)
	done := q.line.forward(start, before.left)
	switch {
	case l.From == models.FromStart:
		return start
	case l.From == models.FromAttended:
		return done
	case before.stand == atRest:
		return before.rest(q)
	}
	return done + before.Unattended
}

// unpin loosens a pin among conflicting tasks, the latest of several; an empty
// conflict means any. It is false where there is none.
func (q *posed) unpin(conflict []string) bool {
	named := map[string]bool{}
	for _, id := range conflict {
		named[id] = true
	}
	var pinned []*item
	for _, it := range q.items {
		if (it.pinned || it.onDay) && (len(conflict) == 0 || named[stepName(it.ID)]) {
			pinned = append(pinned, it)
		}
	}
	if len(pinned) == 0 {
		return false
	}
	sort.SliceStable(pinned, func(a, b int) bool { return pinned[a].pin.After(pinned[b].pin) })
	it := pinned[0]
	if it.onDay {
		it.looseDay(phrase.Of("what it needs is taken then"), it.release)
		q.Links[it.dayLink].Max = nil
		return true
	}
	it.loosePin(phrase.Of("what it needs is taken then"), it.start)
	for i := range q.Tasks {
		if t := &q.Tasks[i]; t.ID == stepName(it.ID) {
			t.Start, t.Release = nil, it.release
		}
	}
	return true
}

// unpinAll loosens all pins; false if there is none.
func (q *posed) unpinAll() bool {
	any := false
	for q.unpin(nil) {
		any = true
	}
	return any
}

// unkept says which pins a plan does not keep.
func (q *posed) unkept(plan *sequence.Plan) (sentences []phrase.Phrase) {
	at := map[string]int{}
	for _, t := range plan.Tasks {
		at[t.ID] = t.Start
	}
	for _, it := range q.items {
		if start := at[stepName(it.ID)]; !it.loose.Empty() && !q.asPinned(it, start) {
			sentences = append(sentences, q.on(it.Step, phrase.Of("%s was pinned to %s, but %s: it is planned for %s.",
				quoted(it.Step), q.whenPinned(it), it.loose, q.clock(start))))
		}
	}
	return sentences
}

// pinWords says that a step is pinned, and where the plan has it if not there;
// "" where it is not pinned.
func (b *bench) pinWords(st *models.Step) phrase.Phrase {
	at, ok := st.Pinned()
	if !ok {
		return phrase.Phrase{}
	}
	p := b.snap.Planned(st.ID)
	if p == nil || p.Start.Equal(at) {
		return phrase.Of("It is pinned to %s.", b.clock(at))
	}
	return phrase.Of("It was pinned to %s; the plan has it at %s.", b.clock(at), b.clock(p.Start))
}

func (b *bench) clock(t time.Time) phrase.Phrase { return clockWords(t, b.at, b.cal.Zone) }
