package models

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"net/url"
	"os"
	"path/filepath"
	"runtime"
	"time"

	"gorm.io/driver/sqlite"

	"faceside/models/phrase"
)

// Backup writes all records, as of one moment, into a new file at path, while
// work goes on; see BackUp.
func (s *Store) Backup(ctx context.Context, path string) error { return BackUp(ctx, s.path, path) }

// BackUp copies the records in the file from, as of one moment and of whatever
// schema, into a new file at path; they may be in use meanwhile. It refuses a path
// where there is something already. The file is whole, read from end to end and
// opened as a store, or not there: it grows under another name and is then given
// its own.
func BackUp(ctx context.Context, from, path string) error {
	if _, err := os.Lstat(path); err == nil {
		return invalid("path", path, "There is a file at %s already: a backup never writes over one.", path)
	} else if !errors.Is(err, os.ErrNotExist) {
		return invalid("path", path, "No backup can be written to %s: %s.", path, reason(err))
	}
	dir, err := os.MkdirTemp(filepath.Dir(path), growingName+"*")
	if err != nil {
		return invalid("path", path, "No backup can be written to %s: %s.", path, reason(err))
	}
	growing := filepath.Join(dir, "records")
	err = vacuumInto(ctx, from, growing)
	if err == nil {
		err = CheckBackup(ctx, growing)
	}
	if err == nil {
		// A hard link, unlike a rename, does not replace what came there meanwhile.
		err = os.Link(growing, path)
	}
	if err == nil {
		err = SyncFolder(filepath.Dir(path))
	}
	err = errors.Join(err, os.RemoveAll(dir))
	if diskCode(err) == DiskFull { // it is the copy that has no room, wherever the records are
		return &Error{Code: DiskFull, Field: "path", Value: path, Sentence: phrase.Of("The disk with the folder of backups is full. Make room on it."), cause: err}
	}
	return failed("write the backup", err)
}

// growingName begins the name of a folder in which a backup grows.
const growingName = ".backup-"

// vacuumInto copies a database and has the copy reach the disk. It reads through
// a connection of its own: the writer goes on, and the readers, which may write
// nothing at all, would refuse.
func vacuumInto(ctx context.Context, from, path string) error {
	err := reading(from, func(db *sql.DB) error {
		if err := ours(ctx, db); err != nil {
			return err
		}
		_, err := db.ExecContext(ctx, "VACUUM INTO ?", path)
		return err
	})
	if err != nil {
		return fmt.Errorf("copy the records: %w", err)
	}
	if err := os.Chmod(path, OwnersFile); err != nil { // SQLite makes a file for everybody's eyes
		return fmt.Errorf("keep the copy to its owner: %w", err)
	}
	return syncFile(path)
}

// CheckBackup reads a file of records from end to end, and opens it as a store: a
// backup that cannot be read, or not be brought up to this program's schema, is none.
// The file is left as it is, in one piece; one of an older schema is opened as a copy.
func CheckBackup(ctx context.Context, path string) error {
	schema, err := sound(ctx, path)
	if err != nil {
		return err
	}
	newest, err := newestSchema()
	if err != nil {
		return err
	}
	opened := path
	if schema < newest {
		opened = path + ".tried"
		if err := CopyFile(path, opened); err != nil {
			return err
		}
		defer os.Remove(opened)
	}
	if err := opens(ctx, opened); err != nil {
		return fmt.Errorf("open the copy: %w", err)
	}
	return nil
}

// sound reads a database from end to end and returns its schema.
func sound(ctx context.Context, path string) (schema int64, err error) {
	err = reading(path, func(db *sql.DB) error {
		if err := ours(ctx, db); err != nil {
			return err
		}
		var says string
		if err := db.QueryRowContext(ctx, "PRAGMA integrity_check").Scan(&says); err != nil {
			return fmt.Errorf("check the copy: %w", err)
		}
		if says != "ok" {
			return fmt.Errorf("the copy is damaged: %s", says)
		}
		if err := db.QueryRowContext(ctx, schemaQuery).Scan(&schema); err != nil {
			return fmt.Errorf("read the schema's version: %w", err)
		}
		return nil
	})
	return schema, err
}

// opens opens a file as a store, reads the shop in it, and leaves one file.
func opens(ctx context.Context, path string) error {
	s, err := OpenStore(ctx, path, time.Now)
	if err != nil {
		return err
	}
	_, err = s.Snapshot(ctx)
	if err := errors.Join(err, s.Close()); err != nil {
		return err
	}
	// A store leaves its file in WAL mode, and a file in that mode is not read from a
	// folder that cannot be written.
	db, err := sql.Open(sqlite.DriverName, dsn(path, url.Values{"_journal_mode": {"DELETE"}, "mode": {"rw"}}))
	if err != nil {
		return err
	}
	if err := errors.Join(db.PingContext(ctx), db.Close()); err != nil {
		return err
	}
	return syncFile(path)
}

// reading opens a file to read it, for the length of one call.
func reading(path string, do func(*sql.DB) error) error {
	db, err := sql.Open(sqlite.DriverName, dsn(path, url.Values{"_busy_timeout": {busyTimeout}, "mode": {"ro"}}))
	if err != nil {
		return err
	}
	return errors.Join(do(db), db.Close())
}

// CopyFile copies a file and has the copy reach the disk.
func CopyFile(from, to string) (err error) {
	in, err := os.Open(from)
	if err != nil {
		return fmt.Errorf("read the copy: %w", err)
	}
	defer in.Close()
	out, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, OwnersFile)
	if err != nil {
		return fmt.Errorf("make room for the copy: %w", err)
	}
	_, err = io.Copy(out, in)
	if err := errors.Join(err, out.Sync(), out.Close()); err != nil {
		return errors.Join(fmt.Errorf("copy the records: %w", err), os.Remove(to))
	}
	return nil
}

func syncFile(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return fmt.Errorf("open the copy: %w", err)
	}
	return errors.Join(f.Sync(), f.Close())
}

// SyncFolder has the names in a folder reach the disk, where the system can do that.
func SyncFolder(dir string) error {
	if runtime.GOOS == "windows" {
		return nil
	}
	f, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// reason is what the system says of a path, without the path.
func reason(err error) string {
	var p *os.PathError
	if errors.As(err, &p) {
		return p.Err.Error()
	}
	return err.Error()
}
