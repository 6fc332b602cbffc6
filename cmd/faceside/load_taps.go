package main

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"sync"
	"time"

	"github.com/google/uuid"

	"faceside/models"
)

// crowd is all tablets and what came of their taps.
type crowd struct {
	tablets []*loadTablet
	asleep  []*loadTablet // whose streams nobody reads
	makers  int
	client  *http.Client // for all but the streams
	leave   context.CancelFunc
	there   sync.WaitGroup // streams and screens

	mu      sync.Mutex
	taps    []sentTap
	refused map[string]int // by the sentence
	unsent  map[string]int // attempts that were not answered, by why
}

// sentTap is one tap that was answered.
type sentTap struct {
	id           string
	seq          int64
	tablet       int
	wanted, told time.Time
}

// gather opens the bench on every tablet and joins the live streams, once everybody is
// let in who has to be.
func gather(ctx context.Context, c loadConfig, shop loadShop, address string) (*crowd, error) {
	each := &http.Client{Timeout: 10 * time.Second, Transport: &http.Transport{MaxIdleConnsPerHost: 6 * c.tablets, MaxIdleConns: 0}}
	streams := &http.Client{Transport: &http.Transport{}}
	at, leave := context.WithCancel(ctx)
	all := &crowd{makers: c.makers, client: each, leave: leave, refused: map[string]int{}, unsent: map[string]int{}}
	if err := all.letIn(ctx, c, shop, address, streams); err != nil {
		all.goHome()
		return nil, err
	}
	joined := make(chan struct{}, c.tablets)
	for _, t := range all.tablets {
		version, err := t.open(ctx)
		if err != nil {
			all.goHome()
			return nil, fmt.Errorf("opening the bench on a tablet: %w", err)
		}
		all.there.Go(func() { t.listen(at, version, func() { joined <- struct{}{} }) })
		all.there.Go(func() { t.draw(at) })
	}
	for range c.tablets {
		select {
		case <-joined:
		case <-time.After(time.Minute):
			all.goHome()
			return nil, fmt.Errorf("not all of %d live streams were joined within a minute", c.tablets)
		}
	}
	return all, nil
}

// letIn makes the tablets, and lets them and their makers in.
func (c *crowd) letIn(ctx context.Context, how loadConfig, shop loadShop, address string, streams *http.Client) error {
	door, err := openDoor(ctx, shop, address)
	if err != nil {
		return fmt.Errorf("signing the planner in: %w", err)
	}
	for i := range how.tablets + how.stalled {
		maker := i % how.makers
		t := newLoadTablet(address, shop.makers[maker], shop.steps[maker], c.client, streams)
		if err := door.letIn(ctx, t); err != nil {
			return fmt.Errorf("letting a tablet and its maker in: %w", err)
		}
		if i < how.tablets {
			c.tablets = append(c.tablets, t)
		} else {
			c.asleep = append(c.asleep, t)
		}
	}
	return nil
}

// tellPatience is how long the streams are waited for.
const tellPatience = 10 * time.Second

// allTold waits until every tablet was told of the others' taps.
func (c *crowd) allTold(ctx context.Context) {
	ctx, stop := context.WithTimeout(ctx, tellPatience)
	defer stop()
	for i, t := range c.tablets {
		newest := int64(0)
		for _, tap := range c.taps {
			if tap.tablet != i {
				newest = max(newest, tap.seq)
			}
		}
		for ctx.Err() == nil && t.newest() < newest {
			pause(ctx, 20*time.Millisecond)
		}
	}
}

// goHome ends the streams and screens.
func (c *crowd) goHome() {
	c.leave()
	c.there.Wait()
}

// round is what a maker taps over and over: a step is begun, put down, taken up,
// finished, that is taken back, and put down.
var round = []models.TapKind{models.TapStart, models.TapPutDown, models.TapStart, models.TapFinish, models.TapUndo, models.TapPutDown}

// tapAll taps at a steady rate until the span is over or ctx ends: whether the
// server keeps up or not, each tap is wanted at its time, and what it waits
// for the ones before counts as the server's. The makers take turns; each uses
// one of their tablets after the other.
func (c *crowd) tapAll(ctx context.Context, rate float64, span time.Duration) {
	start := time.Now()
	var all sync.WaitGroup
	for maker := range c.makers {
		all.Go(func() {
			finished := ""
			for n := 0; ctx.Err() == nil; n++ {
				after := time.Duration(float64(n*c.makers+maker) / rate * float64(time.Second))
				if after >= span {
					return
				}
				pause(ctx, time.Until(start.Add(after)))
				mine := (len(c.tablets)-maker-1)/c.makers + 1
				tablet := maker + n%mine*c.makers
				fields := url.Values{"kind": {string(round[n%len(round)])}}
				if fields.Get("kind") == string(models.TapUndo) {
					fields.Set("undoes_id", finished)
				}
				finished = c.tap(ctx, tablet, fields, start.Add(after))
			}
		})
	}
	all.Wait()
}

// tap sends one tap until it is answered, and returns its id.
func (c *crowd) tap(ctx context.Context, tablet int, fields url.Values, wanted time.Time) string {
	t, id := c.tablets[tablet], uuid.NewString()
	t.number++
	for ctx.Err() == nil {
		told, err := t.tap(ctx, id, fields)
		switch {
		case err != nil && ctx.Err() != nil:
			return id
		case err != nil:
			c.mu.Lock()
			c.unsent[err.Error()]++
			c.mu.Unlock()
			pause(ctx, 500*time.Millisecond)
			continue
		}
		c.mu.Lock()
		if told.State == "written" {
			c.taps = append(c.taps, sentTap{id: id, seq: told.Seq, tablet: tablet, wanted: wanted, told: time.Now()})
		} else {
			c.refused[told.State+": "+told.Why]++
		}
		c.mu.Unlock()
		want(t.own)
		break
	}
	return id
}
