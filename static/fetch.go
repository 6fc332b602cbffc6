//go:build ignore

// Command fetch puts the browser libraries of package.json into vendor, where
// the static package embeds them; what only the tests need stays in
// node_modules. It asks npm for exactly what the lock file says, without running
// any script of theirs, and does nothing when that is already there.
package main

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
)

// libraries says which file of an npm package becomes which file in vendor.
var libraries = []struct{ from, to string }{
	{"htmx.org/dist/htmx.min.js", "htmx.min.js"},
	{"htmx.org/LICENSE", "htmx.LICENSE"},
}

// forTests is what the browser tests read from node_modules.
const forTests = "node_modules/axe-core/axe.min.js"

// stamp holds the checksum of the lock file that vendor was filled from.
const stamp = "vendor/.lock-sum"

func main() {
	if err := fetch(); err != nil {
		fmt.Fprintf(os.Stderr, "static: %v\n", err)
		os.Exit(1)
	}
}

func fetch() error {
	lock, err := os.ReadFile("package-lock.json")
	if err != nil {
		return fmt.Errorf("reading the lock file: %w", err)
	}
	sum := fmt.Appendf(nil, "%x\n", sha256.Sum256(lock))
	if upToDate(sum) {
		fmt.Println("static: the browser libraries are already in static/vendor")
		return nil
	}
	if err := install(); err != nil {
		return err
	}
	for _, l := range libraries {
		if err := copyFile(filepath.Join("node_modules", l.from), filepath.Join("vendor", l.to)); err != nil {
			return fmt.Errorf("taking %s from the npm package: %w", l.from, err)
		}
		fmt.Printf("static: vendor/%s\n", l.to)
	}
	if err := os.WriteFile(stamp, sum, 0o644); err != nil {
		return fmt.Errorf("noting what was fetched: %w", err)
	}
	return nil
}

// upToDate says whether vendor was filled from the lock file with this sum.
func upToDate(sum []byte) bool {
	have, err := os.ReadFile(stamp)
	if err != nil || !bytes.Equal(have, sum) {
		return false
	}
	for _, l := range libraries {
		if _, err := os.Stat(filepath.Join("vendor", l.to)); err != nil {
			return false
		}
	}
	_, err = os.Stat(forTests)
	return err == nil
}

func install() error {
	npm := exec.Command("npm", "ci", "--include=dev", "--ignore-scripts", "--no-audit", "--no-fund")
	npm.Stdout, npm.Stderr = os.Stdout, os.Stderr
	err := npm.Run()
	if errors.Is(err, exec.ErrNotFound) {
		return fmt.Errorf("npm is needed to fetch the browser libraries, and is not in PATH; install Node.js with npm: %w", err)
	}
	if err != nil {
		return fmt.Errorf("npm ci: %w", err)
	}
	return nil
}

// copyFile writes to by way of a temporary file, so that a half-copied library
// never looks whole.
func copyFile(from, to string) error {
	data, err := os.ReadFile(from)
	if err != nil {
		return err
	}
	if err := os.WriteFile(to+".part", data, 0o644); err != nil {
		return err
	}
	return os.Rename(to+".part", to)
}
