package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
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
	if err := os.MkdirAll(dir, 0o750); err != nil {
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
