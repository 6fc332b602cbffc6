package models

import (
	"errors"
	"fmt"
	"io/fs"
	"syscall"
	"testing"

	"github.com/mattn/go-sqlite3"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestVersionsThatCanDamageTheRecordsAreRefused(t *testing.T) {
	for version, sound := range map[int]bool{
		3006023: false, 3007000: false, // WAL mode came with 3.7.0
		3044005: false, 3044006: true, 3044007: true, 3045000: false, 3045003: false, 3049002: false,
		3050004: false, 3050006: false, 3050007: true, 3050012: true,
		3051000: false, 3051002: false, 3051003: true, 3051004: true,
		3052000: false, 3052001: true, 3053000: true, 3054001: true, 4000000: true,
	} {
		assert.Equal(t, sound, soundSQLite(version) == nil, version)
	}
	assert.EqualError(t, soundSQLite(3050004), "this is SQLite 3.50.4, which can damage the records: 3.51.3 is needed or a newer one other than 3.52.0, or 3.50.7 or 3.44.6 or a newer one of those two lines")
	_, version, _ := sqlite3.Version()
	assert.NoError(t, soundSQLite(version), "the one this program is built with")
}

func TestWhatAnErrorSaysOfTheDisk(t *testing.T) {
	for _, c := range []struct {
		err  error
		want Code
	}{
		{sqlite3.Error{Code: sqlite3.ErrFull}, DiskFull},
		{sqlite3.Error{Code: sqlite3.ErrIoErr, SystemErrno: syscall.ENOSPC}, DiskFull},
		{sqlite3.Error{Code: sqlite3.ErrIoErr, SystemErrno: syscall.EDQUOT}, DiskFull},
		{&fs.PathError{Op: "write", Path: "copy", Err: syscall.ENOSPC}, DiskFull},
		{sqlite3.Error{Code: sqlite3.ErrIoErr, SystemErrno: syscall.EIO}, DiskFails},
		{sqlite3.Error{Code: sqlite3.ErrReadonly}, DiskFails},
		{sqlite3.Error{Code: sqlite3.ErrCorrupt}, DiskFails},
		{&fs.PathError{Op: "write", Path: "copy", Err: syscall.EROFS}, DiskFails},
		{sqlite3.Error{Code: sqlite3.ErrBusy}, Internal},
		{sqlite3.Error{Code: sqlite3.ErrConstraint}, Internal},
		{errors.New("disk full"), Internal},
	} {
		err := failed("save the plan", fmt.Errorf("store the plan: %w", c.err))
		assert.Equal(t, c.want, CodeOf(err), "%v", c.err)
		assert.False(t, CodeOf(err).Refusal())
		require.ErrorContains(t, err, "Nothing was changed.")
		assert.NotContains(t, err.Error(), c.err.Error(), "that is for the log")
	}
}
