package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"faceside/models"
)

func runBackup(args []string, _ io.Reader, stdout, stderr io.Writer) int {
	flags := flag.NewFlagSet("backup", flag.ContinueOnError)
	data := flags.String("data", defaultData, "`FOLDER` that keeps the shop")
	out := flags.String("out", "", "`FILE` to write, which must not be there yet; without it one in the folder of backups")
	var folder string
	backupsFlag(flags, &folder)
	if status, done := parseFlags(flags, args, stderr); done {
		return status
	}
	path, err := backup(context.Background(), *data, *out, backupsFolder(folder, *data))
	if err != nil {
		return fail(stderr, "backup", err)
	}
	fmt.Fprintf(stdout, "copied the shop in %s to %s\n", *data, path)
	return exitOK
}

// backupsFlag adds the flag for where backups are kept.
func backupsFlag(flags *flag.FlagSet, folder *string) {
	flags.StringVar(folder, "backups", "", "`FOLDER` for the backups, better on another disk; without it the folder backups in that of -data")
}

// backupsFolder is where the backups of the shop in the folder dir are kept.
func backupsFolder(asked, dir string) string {
	if asked != "" {
		return asked
	}
	return filepath.Join(dir, "backups")
}

// backup copies the shop kept in the folder dir to the new file out, or where that is
// "" into the folder of backups, and returns the copy's path. It leaves the shop as it
// is: also one whose schema an older program, that serves it, brought as far as it knows.
func backup(ctx context.Context, dir, out, folder string) (string, error) {
	if err := needShop(dir); err != nil {
		return "", err
	}
	if out == "" {
		return models.BackUpInto(ctx, shopPath(dir), folder, time.Now())
	}
	return out, models.BackUp(ctx, shopPath(dir), out)
}

// needShop refuses a folder that keeps no shop. A restore that was broken off there is
// ended first: until then the records may be without their log.
func needShop(dir string) error {
	there, err := hasShop(dir)
	if err != nil {
		return err
	}
	if !there {
		return fmt.Errorf("the folder -data %s keeps no shop: %s is not there", dir, shopPath(dir))
	}
	if _, err := os.Stat(filepath.Join(dir, restoreMark)); errors.Is(err, os.ErrNotExist) {
		return nil
	}
	h, err := holdFolder(dir, "ending a restore")
	if err != nil {
		return err
	}
	return h.release()
}

// openExisting opens the shop kept in the folder dir and never makes a new one.
func openExisting(ctx context.Context, dir string) (*models.Store, error) {
	if err := needShop(dir); err != nil {
		return nil, err
	}
	return models.OpenStore(ctx, shopPath(dir), time.Now, models.BackedUp(backupsFolder("", dir)))
}
