package seed

import (
	"context"
	"fmt"
	"slices"
	"time"

	"faceside/models"
)

// demoEvent is something one maker did on the morning the demo starts, from and
// to in minutes from midnight; to 0: it is still in hand.
type demoEvent struct {
	commission, step string // the commission's name, the step's key
	person           string
	from, to         int
}

// morning taps what was done on the day of the start, and leaves the rest in hand.
func (h *history) morning(ctx context.Context, events []demoEvent) error {
	if err := h.takeOut(ctx, atMinute(h.start, 8*60)); err != nil {
		return err
	}
	type moment struct {
		at    int
		event demoEvent
		ends  bool
	}
	var moments []moment
	for _, e := range events {
		moments = append(moments, moment{e.from, e, false})
		if e.to > 0 {
			moments = append(moments, moment{e.to, e, true})
		}
	}
	slices.SortStableFunc(moments, func(a, b moment) int { return a.at - b.at })
	for _, m := range moments {
		t, err := h.find(ctx, m.event)
		if err != nil {
			return err
		}
		at := atMinute(h.start, m.at)
		if m.ends {
			err = h.finish(ctx, t, at)
		} else {
			err = h.beginBy(ctx, m.event.person, t, at)
		}
		if err != nil {
			return fmt.Errorf("%s, %s: %w", m.event.commission, m.event.step, err)
		}
	}
	return nil
}

// find returns the task an event is about.
func (h *history) find(ctx context.Context, e demoEvent) (*task, error) {
	snap, err := h.store.Snapshot(ctx)
	if err != nil {
		return nil, fmt.Errorf("reading the shop: %w", err)
	}
	for _, st := range snap.Steps {
		if c := snap.Commission(st.CommissionID); st.Key == e.step && c.Name == e.commission {
			return h.all[st.ID], nil
		}
	}
	return nil, fmt.Errorf("%q has no step %q", e.commission, e.step)
}

func (h *history) beginBy(ctx context.Context, person string, t *task, at time.Time) error {
	i := slices.IndexFunc(h.makers, func(m *maker) bool { return m.name == person })
	if i < 0 {
		return fmt.Errorf("nobody is called %q", person)
	}
	t.by, t.started = h.makers[i], at
	_, err := h.tap(ctx, at, models.TapRequest{Kind: models.TapStart, StepID: t.step.ID, PersonID: t.by.id})
	return err
}
