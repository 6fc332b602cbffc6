package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"log/slog"
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
	listen := flags.String("listen", defaultListen, "`HOST:PORT` to serve on; port 0 takes a free one")
	data := flags.String("data", defaultData, "`FOLDER` that keeps the shop; made where it is missing")
	profile := flags.String("profile", "", "`FILE` that gets a profile of the processor time; written at the end")
	if status, done := parseFlags(flags, args, stderr); done {
		return status
	}
	ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGINT, syscall.SIGTERM)
	defer stop()
	err := profiled(*profile, func() error { return serve(ctx, *listen, *data, stdout, stderr) })
	if err != nil {
		return fail(stderr, "serve", err)
	}
	return exitOK
}

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

// serve serves the shop in the folder dir until ctx ends. A folder without a
// shop gets an empty one.
func serve(ctx context.Context, listen, dir string, stdout, stderr io.Writer) (err error) {
	// Listening comes first: a port in use must not leave a new folder behind.
	listener, err := listenOn(listen)
	if err != nil {
		return err
	}
	defer listener.Close()
	if err := prepareFolder(dir); err != nil {
		return err
	}
	store, err := openShop(ctx, dir)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, store.Close()) }()

	fmt.Fprintf(stdout, "The shop is kept in %s\n", dir)
	warnIfReachable(stderr, listener.Addr())
	return serveStore(ctx, served{
		store:    store,
		listener: listener,
		log:      slog.New(slog.NewTextHandler(stderr, nil)),
		out:      stdout,
		notes:    stderr,
	})
}

// openShop opens the shop in the folder dir, or fits out a new one.
func openShop(ctx context.Context, dir string) (*models.Store, error) {
	store, err := models.OpenStore(ctx, shopPath(dir), time.Now)
	if err != nil {
		return nil, fmt.Errorf("opening the shop in -data %s: %w", dir, err)
	}
	if err := seed.FitOut(ctx, store, localZone()); err != nil {
		return nil, errors.Join(fmt.Errorf("fitting out the shop in -data %s: %w", dir, err), store.Close())
	}
	return store, nil
}

// warnIfReachable says so where others than this machine can reach the address.
func warnIfReachable(w io.Writer, address net.Addr) {
	tcp, ok := address.(*net.TCPAddr)
	if ok && tcp.IP.IsLoopback() {
		return
	}
	fmt.Fprintf(w, "Caution: %s can be reached from the network, and there is no sign-in: anybody who reaches it may tap and change the shop.\n", address)
}
