package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"faceside/models"
)

// shopFile is the database in a shop's folder.
const shopFile = "shop.db"

// shopPath is where the folder dir keeps its shop.
func shopPath(dir string) string { return filepath.Join(dir, shopFile) }

// hasShop says whether the folder dir keeps a shop.
func hasShop(dir string) (bool, error) {
	_, err := os.Stat(shopPath(dir))
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	if err != nil {
		return false, fmt.Errorf("looking for a shop in -data %s: %w", dir, err)
	}
	return true, nil
}

// prepareFolder makes the folder where it is missing, and finds out whether
// files can be written in it before anything else relies on that.
func prepareFolder(dir string) error {
	if err := os.MkdirAll(dir, models.OwnersFolder); err != nil {
		return fmt.Errorf("the folder -data %s cannot be made: %w", dir, err)
	}
	probe, err := os.CreateTemp(dir, ".writable-*")
	if err != nil {
		return fmt.Errorf("the folder -data %s cannot be written to: %w", dir, err)
	}
	if err := errors.Join(probe.Close(), os.Remove(probe.Name())); err != nil {
		return fmt.Errorf("the folder -data %s cannot be written to: %w", dir, err)
	}
	return nil
}

// warnIfOpen says so where others than its owner can enter a folder, once each. What was
// made there by a program before this one, or copied there, they can read.
func warnIfOpen(w io.Writer, folders ...string) error {
	for _, dir := range folders {
		info, err := os.Stat(dir)
		if errors.Is(err, fs.ErrNotExist) { // the first backup makes it
			continue
		}
		if err != nil {
			return fmt.Errorf("looking who can enter %s: %w", dir, err)
		}
		if mode := info.Mode().Perm(); mode&0o077 != 0 {
			fmt.Fprintf(w, "Caution: others than its owner can enter the folder %s (its mode is %#o), and may read the shop's records: `chmod -R go= %s` keeps them out.\n", dir, mode, dir)
		}
	}
	return nil
}
