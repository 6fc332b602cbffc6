package seed

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	"github.com/google/uuid"

	"faceside/models"
	"faceside/models/pattern"
)

// Within a day the history looks up every tick who is free.
const tick = 5 * time.Minute

// The greatest share of an estimate that a step takes in the history, and the
// least (common practice, no source).
const (
	slowest  = 1.25
	quickest = 0.85
)

// The start that runs into trouble and the finish that is taken back, counted
// from the first: the things that happen in every shop.
const (
	troubled = 27
	mistaken = 61
)

// history makes the journal of the demo: two makers who, whenever one is free,
// take the next step that can start. It is no planner, and does not look ahead;
// it only keeps to what the shop's rules allow, so that every tap is accepted.
type history struct {
	store   *models.Store
	clock   *DemoClock
	library *pattern.Library
	start   time.Time
	random  *rand.Rand
	taps    int // made so far, for their ids
	after   func(tap bool) error
	starts  int // of steps so far
	ends    int

	stations map[models.ID]models.Station
	clamps   map[models.ID]int // how many of a class there are
	makers   []*maker
	finished []*demoDelivery         // commissions to be delivered once all is done
	todo     []*task                 // wanted and not done, in order of commission and position
	all      map[models.ID]*task     // every step of the commissions taken
	setups   map[models.ID]models.ID // what a station is set to
	known    map[models.ID]*models.Setup
}

// demoDelivery is a commission on its way to the client.
type demoDelivery struct {
	commission models.Commission
	tasks      []*task
}

// maker is a person and what they are at.
type maker struct {
	id    models.ID
	name  string
	at    *task     // in hand, or helped with; nil: free
	until time.Time // when that is done
}

// task is a step in the history.
type task struct {
	step     models.Step
	promised string
	before   []models.Link
	clamps   map[models.ID]int
	wanted   bool          // is done in the history
	left     time.Duration // attended time still to go once put down; 0: not begun
	begun    bool
	by       *maker
	started  time.Time
	attended time.Time // end of its attended part; zero: not yet
	ends     time.Time // end of its rest
	out      bool      // its rest was tapped to be over
}

func newHistory(store *models.Store, clock *DemoClock, library *pattern.Library, start time.Time) *history {
	return &history{
		store: store, clock: clock, library: library, start: start,
		random: rand.New(rand.NewPCG(8, 321)), // any fixed numbers: the same history every time
		all:    map[models.ID]*task{},
		setups: map[models.ID]models.ID{}, known: map[models.ID]*models.Setup{},
	}
}

// make works through the days before the start, then through what is scripted
// for its morning.
func (h *history) make(ctx context.Context, commissions []demoCommission, today []demoEvent) error {
	if err := h.meetShop(ctx); err != nil {
		return err
	}
	due := slices.Clone(commissions)
	slices.SortStableFunc(due, func(a, b demoCommission) int { return b.takenAgo - a.takenAgo })
	for day := workdays(h.start, -due[0].takenAgo); ; day = workdays(day, 1) {
		last := !day.Before(h.start)
		for len(due) > 0 && !takenAt(h.start, due[0]).After(day) {
			if err := h.take(ctx, due[0]); err != nil {
				return err
			}
			due = due[1:]
		}
		if last {
			break
		}
		if err := h.workDay(ctx, day); err != nil {
			return err
		}
	}
	if err := h.deliver(ctx, atMinute(h.start, 8*60)); err != nil {
		return err
	}
	if len(h.finished) > 0 {
		return fmt.Errorf("%q should be delivered by now, and is not complete", h.finished[0].commission.Name)
	}
	if len(h.todo) > 0 {
		return fmt.Errorf("%d steps that should be done by now are not, the first %q", len(h.todo), h.todo[0].step.Name)
	}
	return h.morning(ctx, today)
}

func (h *history) meetShop(ctx context.Context) error {
	snap, err := h.store.Snapshot(ctx)
	if err != nil {
		return fmt.Errorf("reading the shop: %w", err)
	}
	h.stations = map[models.ID]models.Station{}
	for _, st := range snap.Stations {
		h.stations[st.ID] = st
	}
	h.clamps = map[models.ID]int{}
	for _, c := range snap.Clamps {
		h.clamps[c.ID] = c.Count
	}
	for _, p := range snap.People {
		h.makers = append(h.makers, &maker{id: p.ID, name: p.Name})
	}
	return nil
}

// take enters a commission and learns its steps.
func (h *history) take(ctx context.Context, c demoCommission) error {
	h.clock.Set(takenAt(h.start, c).Add(time.Duration(len(h.all)) * time.Second))
	id, err := takeDemo(ctx, h.store, h.library, h.start, c)
	if err != nil {
		return err
	}
	if err := h.after(false); err != nil {
		return fmt.Errorf("after %q came in: %w", c.name, err)
	}
	snap, err := h.store.CommissionSnapshot(ctx, id)
	if err != nil {
		return fmt.Errorf("reading %q: %w", c.name, err)
	}
	for i := range snap.Setups {
		h.known[snap.Setups[i].ID] = &snap.Setups[i]
	}
	tasks := map[string]*task{}
	for _, st := range snap.StepsOf(id) {
		t := &task{step: *st, promised: snap.Commissions[0].PromisedOn, before: snap.Before(st.ID), clamps: map[models.ID]int{}, wanted: c.delivered}
		for _, use := range snap.ClampsOf(st.ID) {
			t.clamps[use.ClampClassID] = use.Count
		}
		h.all[st.ID] = t
		tasks[st.Key] = t
	}
	if c.delivered {
		d := &demoDelivery{commission: snap.Commissions[0]}
		for _, st := range snap.StepsOf(id) {
			d.tasks = append(d.tasks, tasks[st.Key])
		}
		h.finished = append(h.finished, d)
	}
	for _, key := range c.upTo {
		t, ok := tasks[key]
		if !ok {
			return fmt.Errorf("%q has no step %q", c.name, key)
		}
		h.wantBefore(t)
	}
	for _, st := range snap.StepsOf(id) {
		if t := h.all[st.ID]; t.wanted {
			h.todo = append(h.todo, t)
		}
	}
	return nil
}

// wantBefore marks everything that comes before a step.
func (h *history) wantBefore(t *task) {
	for _, l := range t.before {
		if b := h.all[l.BeforeID]; !b.wanted {
			b.wanted = true
			h.wantBefore(b)
		}
	}
}

// deliver notes as delivered what was complete when the shop opened.
func (h *history) deliver(ctx context.Context, opening time.Time) error {
	h.clock.Set(opening)
	var waiting []*demoDelivery
	for _, d := range h.finished {
		if slices.ContainsFunc(d.tasks, func(t *task) bool { return t.attended.IsZero() || t.ends.After(opening) }) {
			waiting = append(waiting, d)
			continue
		}
		d.commission.State = models.Delivered
		if err := h.store.SaveCommission(ctx, d.commission); err != nil {
			return fmt.Errorf("delivering %q: %w", d.commission.Name, err)
		}
	}
	h.finished = waiting
	return nil
}

// workDay goes through the openings of a day.
func (h *history) workDay(ctx context.Context, day time.Time) error {
	for _, o := range usualWeek() {
		if o.Weekday != day.Weekday() {
			continue
		}
		closes := atMinute(day, o.Closes)
		if err := h.deliver(ctx, atMinute(day, o.Opens)); err != nil {
			return err
		}
		for now := atMinute(day, o.Opens); now.Before(closes); now = now.Add(tick) {
			if err := h.lookUp(ctx, now, closes); err != nil {
				return err
			}
		}
		if err := h.stop(ctx, closes); err != nil {
			return err
		}
	}
	return nil
}

// atMinute is a minute of a day by the clock on the wall.
func atMinute(day time.Time, minute int) time.Time {
	return time.Date(day.Year(), day.Month(), day.Day(), 0, minute, 0, 0, day.Location())
}

// lookUp ends what is done by now and gives free makers something to do.
func (h *history) lookUp(ctx context.Context, now, closes time.Time) error {
	if err := h.finishBy(ctx, now); err != nil {
		return err
	}
	if err := h.takeOut(ctx, now); err != nil {
		return err
	}
	for _, m := range h.makers {
		if m.at != nil {
			continue
		}
		if t := h.pick(m, now, closes); t != nil {
			if err := h.begin(ctx, m, t, now); err != nil {
				return err
			}
		}
	}
	return nil
}

// finishBy taps what was done by a time, in the order in which it was done.
func (h *history) finishBy(ctx context.Context, now time.Time) error {
	done := slices.DeleteFunc(slices.Clone(h.makers), func(m *maker) bool { return m.at == nil || m.until.After(now) })
	slices.SortStableFunc(done, func(a, b *maker) int { return a.until.Compare(b.until) })
	for _, m := range done {
		t := m.at
		m.at = nil
		if t.by != m {
			continue // lent a hand
		}
		if err := h.finish(ctx, t, m.until); err != nil {
			return err
		}
	}
	return nil
}

func (h *history) finish(ctx context.Context, t *task, at time.Time) error {
	done, err := h.tap(ctx, at, models.TapRequest{Kind: models.TapFinish, StepID: t.step.ID, PersonID: t.by.id})
	if err != nil {
		return err
	}
	h.ends++
	if h.ends == mistaken {
		if done, err = h.takeBack(ctx, t, done); err != nil {
			return err
		}
	}
	t.attended = done.Tap.At
	t.ends = t.attended.Add(time.Duration(t.step.Unattended) * time.Minute)
	t.out = t.step.Unattended == 0
	h.todo = slices.DeleteFunc(h.todo, func(o *task) bool { return o == t })
	return nil
}

// takeBack undoes a finish that was tapped too soon, and finishes again.
func (h *history) takeBack(ctx context.Context, t *task, done models.TapResult) (models.TapResult, error) {
	undo := models.TapRequest{Kind: models.TapUndo, StepID: t.step.ID, PersonID: t.by.id, Undoes: done.Tap.Seq}
	if _, err := h.tap(ctx, done.Tap.At.Add(15*time.Second), undo); err != nil {
		return models.TapResult{}, err
	}
	return h.tap(ctx, done.Tap.At.Add(2*time.Minute), models.TapRequest{Kind: models.TapFinish, StepID: t.step.ID, PersonID: t.by.id})
}

// report has trouble with a step just begun, which is soon over.
func (h *history) report(ctx context.Context, t *task, now time.Time) error {
	for _, said := range []struct {
		kind  models.TapKind
		after time.Duration
		note  string
	}{
		{models.TapTrouble, time.Minute, "Grain tears out: turning the stock round"},
		{models.TapSettled, 3 * time.Minute, ""},
		{models.TapStart, 3*time.Minute + 10*time.Second, ""},
	} {
		tap := models.TapRequest{Kind: said.kind, StepID: t.step.ID, PersonID: t.by.id, Note: said.note}
		if _, err := h.tap(ctx, now.Add(said.after), tap); err != nil {
			return err
		}
	}
	return nil
}

// takeOut taps that rests are over.
func (h *history) takeOut(ctx context.Context, now time.Time) error {
	for _, t := range h.inOrder() {
		if t.out || t.attended.IsZero() || t.ends.After(now) {
			continue
		}
		if _, err := h.tap(ctx, now, models.TapRequest{Kind: models.TapOut, StepID: t.step.ID, PersonID: t.by.id}); err != nil {
			return err
		}
		t.out = true
	}
	return nil
}

// inOrder lists all tasks by number, so that the history does not hang on the order of a map.
func (h *history) inOrder() []*task {
	all := make([]*task, 0, len(h.all))
	for _, t := range h.all {
		all = append(all, t)
	}
	slices.SortFunc(all, func(a, b *task) int { return int(a.step.ID - b.step.ID) })
	return all
}

// begin takes a step in hand, for as long as it will take.
func (h *history) begin(ctx context.Context, m *maker, t *task, now time.Time) error {
	if _, err := h.tap(ctx, now, models.TapRequest{Kind: models.TapStart, StepID: t.step.ID, PersonID: m.id}); err != nil {
		return err
	}
	if !t.begun {
		share := quickest + (slowest-quickest)*h.random.Float64()
		t.left = time.Duration(share * float64(t.step.Attended) * float64(time.Minute)).Round(time.Second)
		t.started, t.begun = now, true
	}
	t.by = m
	h.starts++
	if h.starts == troubled {
		if err := h.report(ctx, t, now); err != nil {
			return err
		}
	}
	m.until = now.Add(h.setupTime(t) + t.left)
	if t.step.SetupID != nil {
		h.setups[t.step.StationID] = *t.step.SetupID
	}
	helpers := t.step.Hands
	for _, other := range append([]*maker{m}, h.makers...) {
		if other.at == nil && helpers > 0 {
			other.at, other.until = t, m.until
			helpers--
		}
	}
	return nil
}

// setupTime is what setting the station for a step takes.
func (h *history) setupTime(t *task) time.Duration {
	if t.step.SetupID == nil || h.setups[t.step.StationID] == *t.step.SetupID {
		return 0
	}
	station := h.stations[t.step.StationID]
	return time.Duration(station.SettingMinutes(h.known[h.setups[station.ID]], h.known[*t.step.SetupID])) * time.Minute
}

// stop puts down what is in hand when the shop closes.
func (h *history) stop(ctx context.Context, closes time.Time) error {
	if err := h.finishBy(ctx, closes); err != nil {
		return err
	}
	for _, m := range h.makers {
		t := m.at
		m.at = nil
		if t == nil || t.by != m {
			continue
		}
		t.left = m.until.Sub(closes)
		if _, err := h.tap(ctx, closes, models.TapRequest{Kind: models.TapPutDown, StepID: t.step.ID, PersonID: m.id}); err != nil {
			return err
		}
	}
	return nil
}

// tap moves the clock, but never back, and taps. The ids follow from the count,
// so that the history is the same every time.
func (h *history) tap(ctx context.Context, at time.Time, r models.TapRequest) (models.TapResult, error) {
	h.taps++
	if at.After(h.clock.Now()) {
		h.clock.Set(at)
	}
	r.ID = uuid.NewSHA1(uuid.NameSpaceOID, fmt.Appendf(nil, "ninth plank, tap %d", h.taps)).String()
	r.Tablet = "machine room"
	result, err := h.store.Tap(ctx, r)
	if err != nil {
		return result, fmt.Errorf("tapping %s for step %d at %s: %w", r.Kind, r.StepID, at.Format(time.DateTime), err)
	}
	return result, h.after(true)
}
