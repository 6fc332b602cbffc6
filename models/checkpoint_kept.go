package models

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"sync"

	"github.com/mattn/go-sqlite3"

	"faceside/models/phrase"
)

// What was brought into the file in part is counted as being there and is not synced, as
// somebody read or committed meanwhile; the file is synced when the rest is brought over
// (walCheckpoint in SQLite's wal.c: nBackfill). Where that sync fails, the disk may have
// lost both for good, and the next one that succeeds says nothing of it (Rebello et al.,
// "Can Applications Recover from fsync Failures?", 2020). Only the rest would be brought
// over once more, and then the log begun anew over the one copy of the first part.
//
// So after a sync that failed nothing is brought over any more: a commit begins the log
// anew only where all of it counts as being in the file (walRestartLog; sqlite.org/wal.html,
// "Checkpointing"). From other programs that might bring it there a reader keeps it, who
// stands in it; and it outlives the store. Whoever is the first to open the records after
// that counts nothing of the log as being in the file (walIndexRecover), and brings all of
// it there again.

// errBroughtByOthers is why the log is kept where the store was not the first to open the
// file, and it cannot be known whether what counts as brought over was synced, or failed to.
var errBroughtByOthers = errors.New("another program had the records open when this one opened them: a part of their log counts as being in the file, and may not be on the disk")

// notSynced says whether the disk failed to sync, be it the log or the file.
func notSynced(err error) bool {
	var said sqlite3.Error
	return errors.As(err, &said) && said.ExtendedCode == sqlite3.ErrIoErrFsync
}

// keptLog is a log that is kept as it is until the store is closed.
type keptLog struct {
	mu    sync.Mutex
	cause error
	tell  func(error)
}

// why is why it is kept, nil where it is not.
func (k *keptLog) why() error {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.cause
}

// keep keeps the log from now on, and says so.
func (c *checkpoints) keep(cause error) {
	// Who reads what is not in the file to its end stands in the log.
	if _, err := c.db.Exec("BEGIN; SELECT count(*) FROM sqlite_schema"); err != nil {
		cause = errors.Join(cause, fmt.Errorf("hold the log: %w", err))
	}
	c.kept.mu.Lock()
	c.kept.cause = cause
	tell := c.kept.tell
	c.kept.mu.Unlock()
	if tell != nil {
		tell(cause)
	}
}

// WhenLogKept has it told, now or later, when the log of the records begins to be kept as
// it is, and why.
func (s *Store) WhenLogKept(tell func(error)) {
	s.log.kept.mu.Lock()
	s.log.kept.tell = tell
	why := s.log.kept.cause
	s.log.kept.mu.Unlock()
	if why != nil {
		tell(why)
	}
}

// LogShortened is an error where the log is kept as it is, and so becomes longer and longer.
func (s *Store) LogShortened() error {
	if told, _ := s.LogTold(); !told.Empty() {
		return errors.New(told.String())
	}
	return nil
}

// LogTold says why the log is kept as it is, and what to do, at length and in short; both
// are empty where it is not.
func (s *Store) LogTold() (long, short phrase.Phrase) {
	switch why := s.log.kept.why(); {
	case why == nil:
		return phrase.Phrase{}, phrase.Phrase{}
	case notSynced(why):
		return phrase.Of("The disk failed when what was tapped was to be brought from the log of the records into their file. Nothing is lost: the log keeps it all, and becomes longer. Start Faceside anew, and have the disk looked at."),
			phrase.Of("The disk failed; nothing is lost. Start Faceside anew, and have the disk looked at.")
	}
	return phrase.Of("Another program had the records open when Faceside was started, so that their log is only added to and becomes longer. Nothing is lost. Close that program, and start Faceside anew."),
		phrase.Of("Another program had the records open; nothing is lost. Close it, and start Faceside anew.")
}

// leaveLog has the log outlive the last connection, which else would bring over what
// does not count as being in the file, and remove it
// (sqlite.org/c3ref/c_fcntl_begin_atomic_write.html#sqlitefcntlpersistwal).
func leaveLog(db *sql.DB) error {
	conn, err := db.Conn(context.Background())
	if err != nil {
		return fmt.Errorf("leave the log: %w", err)
	}
	err = conn.Raw(func(driver any) error {
		return driver.(*sqlite3.SQLiteConn).SetFileControlInt("main", sqlite3.SQLITE_FCNTL_PERSIST_WAL, 1)
	})
	if err := errors.Join(err, conn.Close()); err != nil {
		return fmt.Errorf("leave the log: %w", err)
	}
	return nil
}
