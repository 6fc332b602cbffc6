package models

import (
	"context"
	"database/sql"
	"fmt"
)

// Every commit goes into the log of the database (WAL) and waits for the disk; from time
// to time what stands there is brought into the file. SQLite does that at the end of a
// commit that finds the log long: whoever made it, and all behind, wait while hundreds
// of pages are written and synced, and again at each further commit as long as somebody
// reads. Here a connection of its own does it beside the taps, and only what came
// meanwhile, a few pages, is brought over while no tap is written. Then the next commit
// begins the log from its front. What is in the log is as safe as in the file.
const (
	// checkpointPages is from how many pages on, of 4 KiB, that stand in the log alone
	// they are brought over.
	checkpointPages = 1000
	// checkpointLast is how long the log may get until the commits themselves see to it,
	// whatever keeps that from being done beside them.
	checkpointLast = 8 * checkpointPages
	// checkpointCommits is after how many commits the length is looked at.
	checkpointCommits = 32
)

// checkpoints brings what was committed into the file.
type checkpoints struct {
	pages   int // from how many on, and every how many commits; for who has the token of writing
	every   int
	commits int      // since it was looked at; for the same
	wanted  chan int // holds pages when it is to be looked at
	db      *sql.DB  // nil until somebody keeps watch
	leave   chan struct{}
	left    chan struct{}
}

func newCheckpoints() checkpoints {
	return checkpoints{pages: checkpointPages, every: checkpointCommits, wanted: make(chan int, 1), leave: make(chan struct{}), left: make(chan struct{})}
}

// watchLog begins to watch the log. The connection is not opened before it is needed.
func (s *Store) watchLog(ctx context.Context) error {
	if err := s.w.WithContext(ctx).Exec(fmt.Sprintf("PRAGMA wal_autocheckpoint = %d", checkpointLast)).Error; err != nil {
		return fmt.Errorf("say how long the log may get: %w", err)
	}
	var err error
	if s.log.db, err = sql.Open("sqlite3", writerDSN(s.path)); err != nil {
		return fmt.Errorf("connection for the log: %w", err)
	}
	s.log.db.SetMaxOpenConns(1)
	go func() {
		defer close(s.log.left)
		for {
			select {
			case <-s.log.leave:
				return
			case pages := <-s.log.wanted:
				// One that fails, as on a disk that is full, leaves the log as it was: it
				// is tried again some commits later, and whoever writes is told.
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
	if c.commits++; c.commits < c.every {
		return
	}
	c.commits = 0
	select {
	case c.wanted <- c.pages:
	default:
	}
}

// shortenLog brings what the log alone has into the file, where it is so many pages.
func (s *Store) shortenLog(pages int) error {
	length, there, err := s.log.bring("NOOP")
	if err != nil || length-there < pages {
		return err
	}
	if _, _, err := s.log.bring("PASSIVE"); err != nil {
		return err
	}
	s.writing <- struct{}{} // it is never held for long
	defer func() { <-s.writing }()
	_, _, err = s.log.bring("PASSIVE")
	return err
}

// bring does one checkpoint of a sort (sqlite.org/pragma.html#pragma_wal_checkpoint) and
// returns how many pages are in the log, and how many of them in the file, too. PASSIVE
// waits for nobody: what somebody still reads past is left.
func (c *checkpoints) bring(sort string) (length, there int, err error) {
	var busy int
	if err := c.db.QueryRow("PRAGMA wal_checkpoint("+sort+")").Scan(&busy, &length, &there); err != nil {
		return 0, 0, fmt.Errorf("bring the log into the file (%s): %w", sort, err)
	}
	return length, there, nil
}
