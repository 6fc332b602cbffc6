package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"syscall"

	"faceside/models"
)

// holdFile is locked by the one program that has a shop's folder to itself; it says
// which that is. The lock is the system's and ends with the program, however it ends.
const holdFile = "in-use"

// hold is a shop's folder that no other server, and no restore, may take.
type hold struct{ file *os.File }

// holdFolder takes the folder dir, which must be there, and clears up after a restore
// that was broken off in it. doing says what for, for who is refused meanwhile.
func holdFolder(dir, doing string) (*hold, error) {
	file, err := os.OpenFile(filepath.Join(dir, holdFile), os.O_RDWR|os.O_CREATE, models.OwnersFile)
	if err != nil {
		return nil, fmt.Errorf("the folder -data %s cannot be taken: %w", dir, err)
	}
	if err := syscall.Flock(int(file.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
		defer file.Close()
		if errors.Is(err, syscall.EWOULDBLOCK) {
			return nil, fmt.Errorf("the shop in -data %s is in use by %s: stop that first", dir, saidHolder(file))
		}
		return nil, fmt.Errorf("the folder -data %s cannot be taken: %w", dir, err)
	}
	h := &hold{file}
	if err := errors.Join(h.say(doing), endRestore(dir)); err != nil {
		return nil, errors.Join(err, h.release())
	}
	return h, nil
}

// say writes down what the folder is held for.
func (h *hold) say(doing string) error {
	text := fmt.Sprintf("process %d, %s\n", os.Getpid(), doing)
	if err := errors.Join(h.file.Truncate(0), writeAt(h.file, text)); err != nil {
		return fmt.Errorf("writing down who has the folder: %w", err)
	}
	return nil
}

func writeAt(w io.WriterAt, text string) error {
	_, err := w.WriteAt([]byte(text), 0)
	return err
}

// saidHolder is what the program that holds a folder wrote down.
func saidHolder(file *os.File) string {
	text, err := io.ReadAll(io.LimitReader(file, 200))
	if said := strings.TrimSpace(string(text)); err == nil && said != "" {
		return said
	}
	return "another program"
}

// release lets the folder go. The file stays: to remove it would let two programs hold
// two files of its name.
func (h *hold) release() error { return h.file.Close() }
