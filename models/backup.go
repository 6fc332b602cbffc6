package models

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
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
		// A hard link, unlike a rename, does not replace what came there meanwhile.
		err = os.Link(growing, path)
	}
	return failed("write the backup", errors.Join(err, os.RemoveAll(dir)))
}

// vacuumInto copies the database and has the copy reach the disk.
func (s *Store) vacuumInto(ctx context.Context, path string) error {
	if err := s.w.WithContext(ctx).Exec("VACUUM INTO ?", path).Error; err != nil {
		return fmt.Errorf("copy the records: %w", err)
	}
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return fmt.Errorf("open the copy: %w", err)
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
