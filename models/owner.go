package models

import (
	"errors"
	"io/fs"
	"os"
)

// The records name people and clients, and hold hashes of PINs: they are for the eyes of
// whoever the server runs as alone. These modes do not hang on the umask of who starts
// it, which can take rights away only.
const (
	OwnersFolder fs.FileMode = 0o700
	OwnersFile   fs.FileMode = 0o600
)

// makeOwners makes the file of a database where there is none, empty, for its owner's
// eyes. SQLite would make it by the umask; what it makes beside it (the log of writes,
// what connections share) gets the mode of the database (findCreateFileMode in os_unix.c).
func makeOwners(path string) error {
	file, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, OwnersFile)
	if errors.Is(err, fs.ErrExist) {
		return nil
	}
	if err != nil {
		return err
	}
	return file.Close()
}
