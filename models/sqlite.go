package models

import (
	"errors"
	"fmt"
	"syscall"

	"github.com/mattn/go-sqlite3"
)

// soundSQLite refuses a version of SQLite, in its own count (3051003 for 3.51.3), that
// can damage a database in WAL mode while several connections have it open. The fault
// is told at sqlite.org/wal.html#walresetbug: there from 3.7.0 to 3.51.2, mended in
// 3.51.3 and, of the older lines, in 3.44.6 and 3.50.7. 3.52.0, in which it was mended
// first, was withdrawn for what else is new in it (sqlite.org/news.html).
func soundSQLite(version int) error {
	const withdrawn = 3052000
	mended := version >= 3051003 || version >= 3050007 && version < 3051000 || version >= 3044006 && version < 3045000
	if mended && version != withdrawn {
		return nil
	}
	return fmt.Errorf("this is SQLite %d.%d.%d, which can damage the records: 3.51.3 is needed or a newer one other than 3.52.0, or 3.50.7 or 3.44.6 or a newer one of those two lines",
		version/1_000_000, version/1000%1000, version%1000)
}

// diskCode says what an error says of the disk: that it is full, that it fails, or
// with "" nothing.
func diskCode(err error) Code {
	if errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT) {
		return DiskFull
	}
	var said sqlite3.Error
	if !errors.As(err, &said) {
		if errors.Is(err, syscall.EIO) || errors.Is(err, syscall.EROFS) {
			return DiskFails
		}
		return ""
	}
	switch said.Code {
	case sqlite3.ErrFull:
		return DiskFull
	case sqlite3.ErrIoErr, sqlite3.ErrCantOpen, sqlite3.ErrReadonly, sqlite3.ErrCorrupt, sqlite3.ErrNotADB:
		if said.SystemErrno == syscall.ENOSPC || said.SystemErrno == syscall.EDQUOT {
			return DiskFull
		}
		return DiskFails
	}
	return ""
}
