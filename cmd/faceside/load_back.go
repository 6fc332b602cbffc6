package main

import (
	"context"
	"net/url"
	"strconv"
	"sync"
	"time"

	"faceside/models"
)

// backPatience is how long the tablets that come back are waited for.
const backPatience = 10 * backLimit

// comeBack has something tapped while no tablet listens, and then all of them come
// back at once, each over connections of its own, as after a failure of the network.
// It returns how long after that they were served: each told what it had missed, and
// its bench drawn anew.
func (c *crowd) comeBack(ctx context.Context, station models.ID) (served spread) {
	for tablet := range c.makers {
		c.tap(ctx, tablet, url.Values{"kind": {string(models.TapSet)}, "step": {}, "station": {strconv.FormatInt(station, 10)}}, time.Now())
	}
	c.client.CloseIdleConnections()
	for _, t := range c.tablets {
		done(t.own)
		done(t.others)
	}
	at, leave := context.WithTimeout(ctx, backPatience)
	c.leave = leave
	defer c.goHome()
	var mu sync.Mutex
	var all sync.WaitGroup
	start := time.Now()
	for _, t := range c.tablets {
		c.there.Go(func() { t.listen(at, t.version, func() {}) })
		all.Go(func() {
			select {
			case <-t.own:
			case <-t.others:
			case <-at.Done():
				return
			}
			if !t.fetch(at, "/bench") {
				return
			}
			took := time.Since(start)
			mu.Lock()
			defer mu.Unlock()
			served.add(took)
		})
	}
	all.Wait()
	return served
}

// done takes back what is wanted.
func done(c chan struct{}) {
	select {
	case <-c:
	default:
	}
}
