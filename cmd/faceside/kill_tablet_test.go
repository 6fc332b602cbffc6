package main

import (
	"context"
	"maps"
	"math/rand/v2"
	"net/url"
	"slices"
	"strconv"
	"time"

	"github.com/google/uuid"

	"faceside/models"
)

// killTablet is a tablet whose taps outlive the server: it keeps each until it is
// answered, and sends them in order, as static/queue.js does.
type killTablet struct {
	*loadTablet
	chance *rand.Rand
	steps  []models.ID
	kept   []*keptTap // not answered yet
	made   []*keptTap // all of them
}

// keptTap is one tap of a tablet, and what it was told of it.
type keptTap struct {
	id     string
	number int64
	fields url.Values
	made   time.Time
	tries  int
	told   tapTold // State is "" until then
}

// step is what the tap is on; 0 for an undo, which names a tap.
func (k *keptTap) step() models.ID {
	id, err := strconv.ParseInt(k.fields.Get("step"), 10, 64)
	if err != nil {
		return 0
	}
	return id
}

// say makes one more tap.
func (t *killTablet) say(kind models.TapKind, more ...string) *keptTap {
	t.number++
	k := &keptTap{id: uuid.NewString(), number: t.number, made: time.Now(), fields: url.Values{"kind": {string(kind)}, "step": {""}}}
	for i := 0; i+1 < len(more); i += 2 {
		k.fields.Set(more[i], more[i+1])
	}
	t.kept, t.made = append(t.kept, k), append(t.made, k)
	return k
}

// sayMore taps something or other at the steps of this tablet: what can be and what
// cannot, as another tablet has the same ones. What is finished is taken back, so that
// the work does not run out.
func (t *killTablet) sayMore() {
	step := strconv.FormatInt(t.steps[t.chance.IntN(len(t.steps))], 10)
	switch n := t.chance.IntN(20); {
	case n < 7:
		t.say(models.TapStart, "step", step)
	case n < 12:
		t.say(models.TapPutDown, "step", step)
	case n < 15:
		done := t.say(models.TapFinish, "step", step)
		t.say(models.TapUndo, "undoes_id", done.id)
	case n < 17 && len(t.made) > 0:
		t.say(models.TapUndo, "undoes_id", t.made[len(t.made)-1].id)
	case n < 18:
		t.say(models.TapTrouble, "step", step, "note", "A knot")
	default:
		t.say(models.TapSettled, "step", step)
	}
}

// tapOn sends what is kept until ctx ends or more says that it is enough, and has
// sayMore called whenever nothing is kept, and now and then when something is.
func (t *killTablet) tapOn(ctx context.Context, answered func(*keptTap), more bool) {
	for from := int64(0); ctx.Err() == nil; {
		if more && (len(t.kept) == 0 || len(t.kept) < 4 && t.chance.IntN(4) == 0) {
			t.sayMore()
		}
		if len(t.kept) == 0 {
			return
		}
		k := t.kept[max(0, slices.IndexFunc(t.kept, func(k *keptTap) bool { return k.number >= from }))]
		told, err := t.send(ctx, k, from > 0 && k.number > from)
		switch {
		case err != nil:
			pause(ctx, 10*time.Millisecond)
		case told.State == "send":
			from = told.From
		default:
			from, k.told = 0, told
			t.kept = slices.DeleteFunc(t.kept, func(o *keptTap) bool { return o == k })
			answered(k)
		}
	}
}

// send tells the server one tap; first says that nothing is left of what came before.
func (t *killTablet) send(ctx context.Context, k *keptTap, first bool) (tapTold, error) {
	fields := maps.Clone(k.fields)
	fields.Set("number", strconv.FormatInt(k.number, 10))
	if k.tries > 0 {
		fields.Set("late", "on")
		fields.Set("waited", strconv.FormatInt(time.Since(k.made).Milliseconds(), 10))
	}
	if first {
		fields.Set("first", "on")
	}
	k.tries++
	return t.tap(ctx, k.id, fields)
}
