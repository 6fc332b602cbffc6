package models

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"

	"gorm.io/driver/sqlite"
)

// Backup writes all records, as of one moment, into a new file at path, while
// work goes on. It refuses a path where there is something already. The file
// is whole or not there: it grows under another name and is then given its own.
func (s *Store) Backup(ctx context.Context, path string) error {
	if _, err := os.Lstat(path); err == nil {
		return invalid("path", path, "There is a file at %s already: a backup never writes over one.", path)
	} else if !errors.Is(err, os.ErrNotExist) {
		return invalid("path", path, "No backup can be written to %s: %s.", path, reason(err))
	}
	dir, err := os.MkdirTemp(filepath.Dir(path), ".backup-*")
	if err != nil {
		return invalid("path", path, "No backup can be written to %s: %s.", path, reason(err))
	}
	growing := filepath.Join(dir, "records")
	err = s.vacuumInto(ctx, growing)
	if err == nil {
		err = sound(ctx, growing)
	}
	if err == nil {
		// A hard link, unlike a rename, does not replace what came there meanwhile.
		err = os.Link(growing, path)
	}
	return failed("write the backup", errors.Join(err, os.RemoveAll(dir)))
}

// vacuumInto copies the database and has the copy reach the disk. It reads
// through a connection of its own: the writer goes on, and the readers, which
// may write nothing at all, would refuse.
func (s *Store) vacuumInto(ctx context.Context, path string) error {
	err := reading(s.path, func(db *sql.DB) error {
		_, err := db.ExecContext(ctx, "VACUUM INTO ?", path)
		return err
	})
	if err != nil {
		return fmt.Errorf("copy the records: %w", err)
	}
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return fmt.Errorf("open the copy: %w", err)
	}
	return errors.Join(f.Sync(), f.Close())
}

// sound reads a copy from end to end: a backup that cannot be read is none.
func sound(ctx context.Context, path string) error {
	return reading(path, func(db *sql.DB) error {
		var says string
		if err := db.QueryRowContext(ctx, "PRAGMA integrity_check").Scan(&says); err != nil {
			return fmt.Errorf("check the copy: %w", err)
		}
		if says != "ok" {
			return fmt.Errorf("the copy is damaged: %s", says)
		}
		return nil
	})
}

// reading opens a file to read it, for the length of one call.
func reading(path string, do func(*sql.DB) error) error {
	db, err := sql.Open(sqlite.DriverName, dsn(path, url.Values{"_busy_timeout": {busyTimeout}, "mode": {"ro"}}))
	if err != nil {
		return err
	}
	return errors.Join(do(db), db.Close())
}

// reason is what the system says of a path, without the path.
func reason(err error) string {
	var p *os.PathError
	if errors.As(err, &p) {
		return p.Err.Error()
	}
	return err.Error()
}
