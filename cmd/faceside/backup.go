package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"time"

	"faceside/models"
)

func runBackup(args []string, _ io.Reader, stdout, stderr io.Writer) int {
	flags := flag.NewFlagSet("backup", flag.ContinueOnError)
	data := flags.String("data", defaultData, "`FOLDER` that keeps the shop")
	out := flags.String("out", "", "`FILE` to write; it must not be there yet")
	if status, done := parseFlags(flags, args, stderr); done {
		return status
	}
	if *out == "" {
		fmt.Fprintln(stderr, "faceside backup: -out FILE says where the copy goes, and is missing")
		return exitUsage
	}
	if err := backup(context.Background(), *data, *out); err != nil {
		return fail(stderr, "backup", err)
	}
	fmt.Fprintf(stdout, "copied the shop in %s to %s\n", *data, *out)
	return exitOK
}

// backup copies the shop kept in the folder dir to the new file out.
func backup(ctx context.Context, dir, out string) (err error) {
	store, err := openExisting(ctx, dir)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, store.Close()) }()
	return store.Backup(ctx, out)
}

// openExisting opens the shop kept in the folder dir and never makes a new one.
func openExisting(ctx context.Context, dir string) (*models.Store, error) {
	there, err := hasShop(dir)
	if err != nil {
		return nil, err
	}
	if !there {
		return nil, fmt.Errorf("the folder -data %s keeps no shop: %s is not there", dir, shopPath(dir))
	}
	return models.OpenStore(ctx, shopPath(dir), time.Now)
}
