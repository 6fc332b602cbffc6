package models

import (
	"database/sql"
	"fmt"
)

// Every commit goes into the log of the database (WAL) and waits for the disk; from time
// to time what stands there is brought into the file. SQLite does that at the end of a
// commit that finds the log long: whoever made it, and all behind, wait while hundreds
// of pages are written and synced, and again at each further commit as long as somebody
// reads, and nobody is told where it fails. So it does not (driverName). Here a connection
// of its own does it beside the taps, and only what came meanwhile, a few pages, is brought
// over while no tap is written. Then the next commit begins the log from its front. What is
// in the log is as safe as in the file.
const (
	// checkpointPages is from how many pages on, of 4 KiB, that stand in the log alone
	// they are brought over.
	checkpointPages = 1000
	// checkpointLast is how long the log may get until that is tried after each commit, as
	// where somebody always reads what is in it when it could begin anew.
	checkpointLast = 8 * checkpointPages
	// checkpointCommits is after how many commits the length is looked at.
	checkpointCommits = 32
)

// checkpoints brings what was committed into the file.
type checkpoints struct {
	pages   int // from how many on, and every how many commits; for who has the token of writing
	every   int
	last    int
	commits int      // since it was looked at; for the same
	long    bool     // when it was looked at, it was longer than last; for the same
	wanted  chan int // holds pages when it is to be looked at
	db      *sql.DB  // nil until somebody keeps watch
	leave   chan struct{}
	left    chan struct{}
	kept    keptLog
}

func newCheckpoints() checkpoints {
	return checkpoints{pages: checkpointPages, every: checkpointCommits, last: checkpointLast, wanted: make(chan int, 1), leave: make(chan struct{}), left: make(chan struct{})}
}

// watchLog begins to watch the log. The connection is not opened before it is needed.
func (s *Store) watchLog() error {
	w, err := s.w.DB()
	if err != nil {
		return err
	}
	length, there, err := checkpoint(w, "NOOP")
	if err != nil {
		return err
	}
	if s.log.db, err = sql.Open(driverName, writerDSN(s.path)); err != nil {
		return fmt.Errorf("connection for the log: %w", err)
	}
	s.log.db.SetMaxOpenConns(1)
	if 0 < there && there < length {
		s.log.keep(errBroughtByOthers)
	}
	go func() {
		defer close(s.log.left)
		for {
			select {
			case <-s.log.leave:
				return
			case pages := <-s.log.wanted:
				// One that fails otherwise than is told there, as on a disk that is full,
				// leaves the log as it was: it is tried again some commits later, and
				// whoever writes is told.
				_ = s.shortenLog(pages)
			}
		}
	}()
	return nil
}

// close ends the watch.
func (c *checkpoints) close() error {
	if c.db == nil {
		return nil
	}
	close(c.leave)
	<-c.left
	err := c.db.Close()
	c.db = nil
	return err
}

// committed counts a commit.
func (c *checkpoints) committed() {
	if c.commits++; c.commits < c.every && !c.long {
		return
	}
	c.commits = 0
	pages := c.pages
	if c.long {
		pages = 1
	}
	select {
	case c.wanted <- pages:
	default:
	}
}

// shortenLog brings what the log alone has into the file, where it is so many pages, and
// keeps the log from then on where the disk fails to sync.
func (s *Store) shortenLog(pages int) error {
	if s.log.kept.why() != nil {
		return nil
	}
	err := s.bringOver(pages)
	if notSynced(err) {
		s.log.keep(err)
	}
	return err
}

func (s *Store) bringOver(pages int) error {
	length, there, err := checkpoint(s.log.db, "NOOP")
	if err != nil || length-there < pages {
		return err
	}
	if _, _, err := checkpoint(s.log.db, "PASSIVE"); err != nil {
		return err
	}
	s.writing <- struct{}{} // it is never held for long
	defer func() { <-s.writing }()
	length, _, err = checkpoint(s.log.db, "PASSIVE")
	s.log.long = length > s.log.last
	return err
}

// checkpoint does one of a sort (sqlite.org/pragma.html#pragma_wal_checkpoint) and returns
// how many pages are in the log, and how many of them in the file, too. PASSIVE waits for
// nobody: what somebody still reads past is left.
func checkpoint(db *sql.DB, sort string) (length, there int, err error) {
	var busy int
	if err := db.QueryRow("PRAGMA wal_checkpoint("+sort+")").Scan(&busy, &length, &there); err != nil {
		return 0, 0, fmt.Errorf("bring the log into the file (%s): %w", sort, err)
	}
	return length, there, nil
}
