package models

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"faceside/models/phrase"
)

const (
	// backupEvery is how old the newest backup may get before the next is made.
	backupEvery = time.Hour
	// backupAgain is when one that failed is tried again.
	backupAgain = 10 * time.Minute
	// leftBehind is the age from which a half-made backup is nobody's any more.
	leftBehind = aDay
)

// Backups keeps copies of a store's records in a folder: a new one every hour, and of
// the older ones as many as their age asks for. It is safe for use by many goroutines.
type Backups struct {
	store *Store
	dir   string
	log   *slog.Logger

	mu     sync.Mutex
	status BackupStatus
}

// BackupStatus says how the backups stand.
type BackupStatus struct {
	Folder   string
	Kept     int
	LastGood *time.Time    // when the newest good one was made; nil: there is none
	Failed   phrase.Phrase // why the last try failed; empty where it went well
	FailedAt *time.Time
}

// NewBackups keeps the backups of a store in the folder dir. It makes none until Run
// or Take is called.
func NewBackups(store *Store, dir string, log *slog.Logger) *Backups {
	abs, err := filepath.Abs(dir)
	if err != nil { // the working folder is gone: the name as it was given
		abs = dir
	}
	b := &Backups{store: store, dir: abs, log: log}
	b.status.Folder = abs
	if all, err := backupsIn(abs); err == nil {
		b.count(all)
	}
	return b
}

// Status tells how the backups stand; it never waits for one that is being made.
func (b *Backups) Status() BackupStatus {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.status
}

// Run makes backups when they are due, until ctx ends.
func (b *Backups) Run(ctx context.Context) {
	for {
		timer := time.NewTimer(b.Due())
		select {
		case <-ctx.Done():
			timer.Stop()
			return
		case <-timer.C:
		}
		if err := b.Take(ctx); err != nil && ctx.Err() == nil {
			b.log.Error("backup", "error", Logged(err))
		}
	}
}

// Due is how long it is until the next backup. One of a time to come was made before
// the clock was put right, and is not waited for.
func (b *Backups) Due() time.Duration {
	b.mu.Lock()
	defer b.mu.Unlock()
	now := b.store.Now()
	due := now
	if last := b.status.LastGood; last != nil && !last.After(now) {
		due = last.Add(backupEvery)
	}
	if failed := b.status.FailedAt; failed != nil && !failed.After(now) && failed.Add(backupAgain).After(due) {
		due = failed.Add(backupAgain)
	}
	return max(0, due.Sub(now))
}

// Take makes a backup now, checks it, and lets those go that are out of date. Where it
// fails nothing is let go.
func (b *Backups) Take(ctx context.Context) error {
	now := b.store.Now()
	_, err := BackUpInto(ctx, b.store.path, b.dir, now)
	var all []backupFile
	if err == nil {
		all, err = backupsIn(b.dir)
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if err != nil {
		b.status.FailedAt, b.status.Failed = &now, backupFailed(err)
		return fmt.Errorf("backup into %s: %w", b.dir, err)
	}
	b.status.Failed, b.status.FailedAt = phrase.Phrase{}, nil
	b.count(all)
	return nil
}

// count notes what there is. A backup of a time to come was made while the clock stood
// wrong: nobody knows how old it is.
func (b *Backups) count(all []backupFile) {
	b.status.Kept, b.status.LastGood = len(all), nil
	for _, f := range all {
		at, last := f.at, b.status.LastGood
		if !at.After(b.store.Now()) && (last == nil || at.After(*last)) {
			b.status.LastGood = &at
		}
	}
}

// backupFailed says why a backup failed, for the Shop screen.
func backupFailed(err error) phrase.Phrase {
	var known *Error
	if errors.As(err, &known) {
		return known.Sentence
	}
	return phrase.Of("The folder of backups cannot be used: %s.", reason(err))
}

// prepareBackups makes the folder where it is missing, and clears away what a backup
// left behind that was broken off long ago.
func prepareBackups(dir string, now time.Time) error {
	if err := os.MkdirAll(dir, OwnersFolder); err != nil {
		return err
	}
	there, err := os.ReadDir(dir)
	if err != nil {
		return err
	}
	for _, e := range there {
		if !e.IsDir() || !strings.HasPrefix(e.Name(), growingName) {
			continue
		}
		if info, err := e.Info(); err == nil && now.Sub(info.ModTime()) > leftBehind {
			if err := os.RemoveAll(filepath.Join(dir, e.Name())); err != nil {
				return err
			}
		}
	}
	return nil
}

// backupsIn lists the backups in a folder; other files there are not ours. A folder
// that is not there holds none.
func backupsIn(dir string) ([]backupFile, error) {
	there, err := os.ReadDir(dir)
	if errors.Is(err, os.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("list the backups: %w", err)
	}
	var all []backupFile
	for _, e := range there {
		if f, ok := readBackupName(e.Name()); ok && e.Type().IsRegular() {
			all = append(all, f)
		}
	}
	return all, nil
}

// thinOut removes the backups of a folder that need not be kept any more.
func thinOut(dir string, now time.Time) error {
	all, err := backupsIn(dir)
	if err != nil {
		return err
	}
	for _, f := range outOfDate(all, now) {
		if err := os.Remove(filepath.Join(dir, f.name)); err != nil && !errors.Is(err, os.ErrNotExist) {
			return fmt.Errorf("let an old backup go: %w", err)
		}
	}
	return nil
}

// BackUpInto makes a backup of the records in a file into the folder dir, by a name
// that says when, and returns its path.
func BackUpInto(ctx context.Context, file, dir string, now time.Time) (string, error) {
	return backUpInto(ctx, file, dir, now, 0)
}

func backUpInto(ctx context.Context, file, dir string, now time.Time, schema int64) (string, error) {
	if err := prepareBackups(dir, now); err != nil {
		return "", fmt.Errorf("the folder of backups: %w", err)
	}
	var path string
	for at := now; ; at = at.Add(time.Second) { // one may have been made within this second
		path = filepath.Join(dir, nameBackup(at, schema))
		if _, err := os.Lstat(path); errors.Is(err, os.ErrNotExist) {
			break
		} else if err != nil {
			return "", fmt.Errorf("the folder of backups: %w", err)
		}
	}
	if err := BackUp(ctx, file, path); err != nil {
		return "", err
	}
	return path, thinOut(dir, now)
}

// BackedUp has OpenStore make a backup into the folder dir before it brings records of
// an older schema up to date. Where that cannot be made, or its copy not be brought up
// to date, the records are left as they are.
func BackedUp(dir string) OpenWay {
	return func(s *Store) {
		s.beforeMigration = func(ctx context.Context, schema int64) error {
			if _, err := backUpInto(ctx, s.path, dir, s.clock(), schema); err != nil {
				return fmt.Errorf("back the records up before schema %d goes on: %w", schema, err)
			}
			return nil
		}
	}
}
