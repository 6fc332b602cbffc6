package main

import (
	"os"
	"path/filepath"
	"strings"
	"time"
)

// localZone is the IANA name of this machine's time zone, or "UTC" where it
// cannot be told. It is only what a new shop begins with.
func localZone() string {
	if name := os.Getenv("TZ"); isZone(name) {
		return name
	}
	// On most systems /etc/localtime is a link to a file named after its zone.
	target, err := filepath.EvalSymlinks("/etc/localtime")
	if err != nil {
		return "UTC"
	}
	if _, name, found := strings.Cut(filepath.ToSlash(target), "/zoneinfo/"); found && isZone(name) {
		return name
	}
	return "UTC"
}

// isZone leaves out "Local", which means another zone on every machine.
func isZone(name string) bool {
	if name == "" || name == "Local" {
		return false
	}
	_, err := time.LoadLocation(name)
	return err == nil
}
