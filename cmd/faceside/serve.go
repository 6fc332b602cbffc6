package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"net"
	"os"
	"os/signal"
	"runtime/pprof"
	"syscall"
	"time"

	"faceside/models"
	"faceside/seed"
)

const (
	defaultListen = "127.0.0.1:8321"
	defaultData   = ".faceside"
)

func runServe(args []string, _ io.Reader, stdout, stderr io.Writer) int {
	flags := flag.NewFlagSet("serve", flag.ContinueOnError)
	var o serveOptions
	o.reach.hostFlags(flags)
	o.reach.tlsFlags(flags)
	flags.StringVar(&o.data, "data", defaultData, "`FOLDER` that keeps the shop; made where it is missing")
	backupsFlag(flags, &o.backups)
	flags.Int64Var(&o.photos, "photos", models.PhotosUsual>>20, "how many `MB` the photos of notes may take together; every backup holds them, too")
	flags.StringVar(&o.metrics, "metrics", "", "`HOST:PORT` of this machine alone (127.0.0.1:9321) at which the program can be measured")
	o.log.add(flags)
	profile := flags.String("profile", "", "`FILE` that gets a profile of the processor time; written at the end")
	if status, done := parseFlags(flags, args, stderr); done {
		return status
	}
	if o.photos < 1 || o.photos > photosMostMB {
		return fail(stderr, "serve", fmt.Errorf("-photos %d must be from 1 to %d MB", o.photos, photosMostMB))
	}
	ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGINT, syscall.SIGTERM)
	defer stop()
	err := profiled(*profile, func() error { return serve(ctx, o, stdout, stderr) })
	if err != nil {
		return fail(stderr, "serve", err)
	}
	return exitOK
}

// photosMostMB is the largest -photos: a terabyte.
const photosMostMB = 1 << 20

// profiled runs work and writes where its processor time went to a file; "" for
// none.
func profiled(path string, work func() error) (err error) {
	if path == "" {
		return work()
	}
	file, err := os.Create(path)
	if err != nil {
		return fmt.Errorf("-profile %s cannot be written: %w", path, err)
	}
	defer func() { err = errors.Join(err, file.Close()) }()
	if err := pprof.StartCPUProfile(file); err != nil {
		return fmt.Errorf("starting the profile: %w", err)
	}
	defer pprof.StopCPUProfile()
	return work()
}

// serveOptions say what is served and how.
type serveOptions struct {
	reach reach
	data  string // the folder that keeps the shop

	backups string // the folder that keeps its backups; "": within that of the shop
	photos  int64  // how many MB they may take together; 0: as many as usual
	metrics string // where the program is measured; "": nowhere
	log     logFlags
}

// serve serves the shop in a folder until ctx ends. A folder without a shop gets an
// empty one.
func serve(ctx context.Context, o serveOptions, stdout, stderr io.Writer) (err error) {
	// Listening comes first: a port in use must not leave a new folder behind.
	listener, err := listenOn(o.reach.listen)
	if err != nil {
		return err
	}
	defer listener.Close()
	var metrics net.Listener
	if o.metrics != "" {
		if metrics, err = listenMetrics(o.metrics); err != nil {
			return err
		}
		defer metrics.Close()
	}
	log, endLog, err := o.log.open(stderr)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, endLog()) }()
	if err := prepareFolder(o.data); err != nil {
		return err
	}
	held, err := holdFolder(o.data, fmt.Sprintf("serving on %s", listener.Addr()))
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, held.release()) }()
	folder := backupsFolder(o.backups, o.data)
	if err := warnIfOpen(stderr, o.data, folder); err != nil {
		return err
	}
	store, err := openShop(ctx, o.data, folder)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, store.Close()) }()
	if o.photos > 0 {
		store.LimitPhotos(o.photos << 20)
	}

	// Before an authority is made: who is refused may come back with names for it.
	if err := needPassphrase(ctx, store, listener.Addr(), o.data, stderr); err != nil {
		return err
	}
	by, err := o.reach.open(listener, o.data, stderr)
	if err != nil {
		return err
	}
	defer by.close()
	fmt.Fprintf(stdout, "The shop is kept in %s\n", o.data)
	return serveStore(ctx, served{
		store:    store,
		listener: listener,
		by:       by,
		backups:  models.NewBackups(store, folder, log),
		metrics:  metrics,
		log:      log,
		out:      stdout,
		notes:    stderr,
	})
}

// openShop opens the shop in the folder dir, or fits out a new one. Records of an
// older schema are backed up first.
func openShop(ctx context.Context, dir, backups string) (*models.Store, error) {
	store, err := models.OpenStore(ctx, shopPath(dir), time.Now, models.BackedUp(backups))
	if err != nil {
		return nil, fmt.Errorf("opening the shop in -data %s: %w", dir, err)
	}
	if err := seed.FitOut(ctx, store, localZone()); err != nil {
		return nil, errors.Join(fmt.Errorf("fitting out the shop in -data %s: %w", dir, err), store.Close())
	}
	return store, nil
}

// needPassphrase refuses to serve the network a shop in which nobody has to sign in; on
// this machine alone that is noted.
func needPassphrase(ctx context.Context, store *models.Store, address net.Addr, dir string, notes io.Writer) error {
	rules, err := store.SignIn(ctx)
	switch {
	case err != nil || rules.On():
		return err
	case !onlyLoopback(address):
		return fmt.Errorf("%s can be reached from the network, and whoever reaches it could do everything: set the planner's passphrase first, by `faceside passphrase -data %s`", address, dir)
	}
	fmt.Fprintf(notes, "Nobody has to sign in; `faceside passphrase -data %s` changes that.\n", dir)
	return nil
}

func onlyLoopback(address net.Addr) bool {
	tcp, ok := address.(*net.TCPAddr)
	return ok && tcp.IP.IsLoopback()
}

// warnIfReachable says so where others than this machine can reach the address.
func warnIfReachable(w io.Writer, address net.Addr) {
	if onlyLoopback(address) {
		return
	}
	fmt.Fprintf(w, "Caution: %s can be reached from the network, and there is no sign-in: anybody who reaches it may tap and change the shop.\n", address)
}
