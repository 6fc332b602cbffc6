//go:build !linux

package main

import (
	"errors"
	"os"
)

// isTerminal says whether somebody types into a file.
func isTerminal(f *os.File) bool {
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}

// hideTyping is not known here: the caller says so.
func hideTyping(*os.File) (show func() error, err error) {
	return nil, errors.New("a terminal that shows what is typed")
}
