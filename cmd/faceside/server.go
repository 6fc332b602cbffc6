package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"runtime"
	"runtime/debug"
	"strings"
	"sync"
	"time"

	"faceside/handlers"
	"faceside/models"
	"faceside/models/behind"
	"faceside/models/planner"
	"faceside/seed"
	"faceside/static"
)

// stopLimit is how long requests under way, and after them the planner, may take
// to end once the server is told to stop.
const stopLimit = 5 * time.Second

// served is what serving a shop takes.
type served struct {
	store    *models.Store
	planner  planner.Options
	listener net.Listener
	by       reached
	backups  *models.Backups // nil: none are made
	metrics  net.Listener    // where the program is measured; nil: nowhere
	log      *slog.Logger
	out      io.Writer // where the address goes
	notes    io.Writer // where it says what is missing
}

// listenOn takes the address before anything else is done, so that a port in
// use is told at once.
func listenOn(address string) (net.Listener, error) {
	if _, _, err := net.SplitHostPort(address); err != nil {
		return nil, fmt.Errorf("-listen %q is not HOST:PORT: %w", address, err)
	}
	listener, err := net.Listen("tcp", address)
	if err != nil {
		return nil, fmt.Errorf("cannot listen on -listen %s: %w", address, err)
	}
	return listener, nil
}

// serveStore serves a shop, and keeps its plan up to date, until ctx ends.
// Taps under way are let through; the live streams are ended.
func serveStore(ctx context.Context, s served) error {
	shareProcessors()
	library, err := seed.Library()
	if err != nil {
		return fmt.Errorf("reading the patterns: %w", err)
	}
	s.store.WhenLogKept(func(why error) {
		s.log.Error("the log of the records is kept as it is until the program is started anew", "error", models.Logged(why))
	})
	measured := newMeasured()
	measured.watch(s.store, s.backups)
	s.planner.OnRun = measured.planned
	plans := planner.New(s.store, s.log, s.planner)
	handler, err := handlers.New(handlers.Config{
		Store: s.store, Planner: plans, Library: library,
		Static: static.Files(), Missing: static.Missing(), Log: s.log,
		Stopping: ctx.Done(), Hosts: s.by.hosts, Limits: handlers.UsualLimits(), Trust: s.by.trust,
		Backups: s.backups, Measures: measured,
	})
	if err != nil {
		return fmt.Errorf("putting the screens together: %w", err)
	}
	if missing := static.Missing(); len(missing) > 0 {
		fmt.Fprintf(s.notes, "Not built in: %s. The pages work as plain HTML and do not follow other tablets by themselves; `go generate ./static` fetches the files, then build again.\n",
			strings.Join(missing, ", "))
	}

	planning, stopPlanning := context.WithCancel(ctx)
	planned := make(chan error, 1)
	go func() { planned <- plans.Run(planning) }()
	defer s.keepBackups(planning)()
	if s.metrics != nil {
		fmt.Fprintf(s.out, "It can be measured at http://%s/metrics\n", s.metrics.Addr())
		defer measured.serve(planning, s.metrics, s.log)()
	}
	s.by.say(s.out, s.listener.Addr())
	err = s.by.serve(ctx, s.listener, func() *http.Server { return handlers.HTTPServer(handler, s.log) })
	stopPlanning()
	select {
	case planErr := <-planned:
		if planErr != nil && !errors.Is(planErr, context.Canceled) {
			err = errors.Join(err, fmt.Errorf("planning: %w", planErr))
		}
	case <-time.After(stopLimit):
		err = errors.Join(err, fmt.Errorf("planning did not stop within %s", stopLimit))
	}
	return err
}

// keepBackups makes backups when they are due, behind the taps, until ctx ends; the
// function that it returns waits for one that is being made.
func (s served) keepBackups(ctx context.Context) (wait func()) {
	if s.backups == nil {
		return func() {}
	}
	done := make(chan struct{})
	go func() {
		defer close(done)
		behind.Do(func() { s.backups.Run(ctx) })
	}()
	return func() { <-done }
}

// unusedLimit is how long a connection on which nothing was asked yet is left once the
// server is told to stop: what is on its way is still answered.
const unusedLimit = 500 * time.Millisecond

// unused follows the connections of a server on which nothing was asked yet, and returns
// what closes them. Browsers open some to have them at hand, and Shutdown would wait for
// each until it is five seconds old.
func unused(server *http.Server) (closeAll func()) {
	var mu sync.Mutex
	open := map[net.Conn]struct{}{}
	server.ConnState = func(c net.Conn, state http.ConnState) {
		mu.Lock()
		defer mu.Unlock()
		if state == http.StateNew {
			open[c] = struct{}{}
		} else {
			delete(open, c)
		}
	}
	return func() {
		mu.Lock()
		defer mu.Unlock()
		for c := range open {
			_ = c.Close() // nobody waits for an answer
		}
	}
}

// softMemory is from how many bytes on the program rather collects its garbage
// more often than take more.
const softMemory = 160 << 20

// garbageShare is how much garbage, in per cent of what is in use, is let come
// together before it is collected. What is in use is small; collecting half as often
// as usual takes less from the taps, and softMemory bounds it.
const garbageShare = 200

// shareProcessors lets more run at once than there are processors, unless the
// environment says how many. The planner and the drawing of screens can keep all
// of them busy for milliseconds; a tap that comes back from the disk then need not
// wait until Go interrupts one of them: the system gives it its share at once.
func shareProcessors() {
	if os.Getenv("GOMAXPROCS") == "" {
		runtime.GOMAXPROCS(runtime.NumCPU() + 2)
	}
	if os.Getenv("GOMEMLIMIT") == "" {
		debug.SetMemoryLimit(softMemory)
	}
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(garbageShare)
	}
}

// serveHTTP answers requests until ctx ends or the listener fails. Live streams must end
// by themselves when ctx does.
func serveHTTP(ctx context.Context, listener net.Listener, server *http.Server) error {
	closeUnused := unused(server)
	failed := make(chan error, 1)
	go func() { failed <- server.Serve(listener) }()
	select {
	case err := <-failed:
		return fmt.Errorf("serving on %s: %w", listener.Addr(), err)
	case <-ctx.Done():
	}
	limit, cancel := context.WithTimeout(context.Background(), stopLimit)
	defer cancel()
	defer time.AfterFunc(unusedLimit, closeUnused).Stop()
	if err := server.Shutdown(limit); err != nil {
		return fmt.Errorf("stopping: %w", errors.Join(err, server.Close()))
	}
	return nil
}
