package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/signal"
	"syscall"
	"time"

	"faceside/models"
	"faceside/seed"
)

func runDemo(args []string, _ io.Reader, stdout, stderr io.Writer) int {
	flags := flag.NewFlagSet("demo", flag.ContinueOnError)
	way := reach{tls: "off"} // its records are invented
	way.hostFlags(flags)
	data := flags.String("data", "", "`FOLDER` to keep the demo shop in; without it the shop is thrown away at the end")
	day := flags.String("start", "", "working `DAY` (2026-11-24) on which the demo starts; without it the last one")
	if status, done := parseFlags(flags, args, stderr); done {
		return status
	}
	start, err := demoStart(*day)
	if err != nil {
		fmt.Fprintf(stderr, "faceside demo: %v\n", err)
		return exitUsage
	}
	ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGINT, syscall.SIGTERM)
	defer stop()
	if err := demo(ctx, way, *data, start, stdout, stderr); err != nil {
		return fail(stderr, "demo", err)
	}
	return exitOK
}

// demoStart reads the -start flag; "" is the last working day.
func demoStart(day string) (time.Time, error) {
	if day == "" {
		return seed.DemoStart(time.Now())
	}
	start, err := seed.DemoStartOn(day)
	if err != nil {
		return time.Time{}, fmt.Errorf("-start %q: %w", day, err)
	}
	return start, nil
}

// demo makes the invented shop, in the folder dir or one that is removed at the
// end, and serves it until ctx ends.
func demo(ctx context.Context, way reach, dir string, start time.Time, stdout, stderr io.Writer) (err error) {
	listener, err := listenOn(way.listen)
	if err != nil {
		return err
	}
	defer listener.Close()
	by, err := way.open(listener, dir, stderr)
	if err != nil {
		return err
	}
	clock := seed.NewDemoClock(start)
	store, remove, err := demoShop(ctx, dir, clock, start)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, store.Close(), remove()) }()

	clock.LetGo()
	fmt.Fprintf(stdout, "An invented shop. Its clock starts at %s and runs on from there.\n", start.Format("15:04 on Monday, 2 January 2006"))
	warnIfReachable(stderr, listener.Addr())
	return serveStore(ctx, served{
		store:    store,
		listener: listener,
		by:       by,
		log:      slog.New(slog.NewTextHandler(stderr, nil)),
		out:      stdout,
		notes:    stderr,
	})
}

// demoShop makes the demo in the folder dir, or a temporary one where dir is "".
// remove clears a temporary folder away, once the store is closed.
func demoShop(ctx context.Context, dir string, clock *seed.DemoClock, start time.Time) (store *models.Store, remove func() error, err error) {
	remove = func() error { return nil }
	if dir == "" {
		dir, err = os.MkdirTemp(memoryFolder(), "faceside-demo-*")
		if err != nil {
			return nil, nil, fmt.Errorf("making a folder for the demo: %w", err)
		}
		folder := dir
		remove = func() error { return os.RemoveAll(folder) }
	} else if err := emptyFolder(dir); err != nil {
		return nil, nil, err
	}
	held, err := holdFolder(dir, "serving the demo")
	if err != nil {
		return nil, nil, errors.Join(err, remove())
	}
	end := remove
	remove = func() error { return errors.Join(held.release(), end()) }
	store, err = models.OpenStore(ctx, shopPath(dir), clock.Now)
	if err != nil {
		return nil, nil, errors.Join(fmt.Errorf("opening the demo shop in %s: %w", dir, err), remove())
	}
	if err := seed.Demo(ctx, store, clock, start); err != nil {
		return nil, nil, errors.Join(fmt.Errorf("making the demo shop: %w", err), store.Close(), remove())
	}
	return store, remove, nil
}

// memoryFolder is a folder kept in memory where the system has one, else "", the
// usual place for temporary files. The demo's history is some hundred
// transactions, each of which would wait for a disk.
func memoryFolder() string {
	const shared = "/dev/shm" // on Linux
	probe, err := os.MkdirTemp(shared, "faceside-probe-*")
	if err != nil || os.Remove(probe) != nil {
		return ""
	}
	return shared
}

// emptyFolder refuses a folder that keeps a shop: the demo never writes into one.
func emptyFolder(dir string) error {
	if err := prepareFolder(dir); err != nil {
		return err
	}
	there, err := hasShop(dir)
	if err != nil {
		return err
	}
	if there {
		return fmt.Errorf("the folder -data %s keeps a shop already; `faceside serve -data %s` serves it", dir, dir)
	}
	return nil
}
