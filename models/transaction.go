package models

import (
	"context"
	"fmt"
	"slices"
	"sync"

	"gorm.io/gorm"

	"faceside/models/phrase"
)

// togetherMost is how many changes are committed together at most.
const togetherMost = 64

// pending is a change that waits for its turn, or has had it.
type pending struct {
	fn     func(tx *gorm.DB) (*Change, error)
	change *Change
	err    error
	panics any // what fn panicked with
	done   chan struct{}
}

func (p *pending) isDone() bool {
	select {
	case <-p.done:
		return true
	default:
		return false
	}
}

// write runs fn in the one write transaction, then tells the subscribers. A
// nil Change says that nothing was changed. doing completes "Could not ...".
//
// It waits for its turn as long as ctx allows. Once begun, the transaction
// does not stop half-way because a page was closed.
//
// Those that wait at the same time are committed together, as each commit waits
// for the disk: whoever gets the turn does the work of all. A change that is
// refused takes back nothing but itself, and nobody is answered before the
// commit.
func (s *Store) write(ctx context.Context, doing phrase.Key, fn func(tx *gorm.DB) (*Change, error)) error {
	if err := ctx.Err(); err != nil {
		return failed(doing, err)
	}
	p := &pending{fn: s.counted(fn), done: make(chan struct{})}
	s.queue.add(p)
	select {
	case s.writing <- struct{}{}:
		for !p.isDone() { // it may have been among those of the turn before
			s.commit(s.queue.take(togetherMost))
		}
		<-s.writing
	case <-p.done:
	case <-ctx.Done():
		if s.queue.drop(p) {
			return failed(doing, ctx.Err())
		}
		<-p.done // it has begun
	}
	if p.panics != nil {
		panic(p.panics)
	}
	return failed(doing, p.err)
}

// counted counts the revision of a change within its transaction.
func (s *Store) counted(fn func(tx *gorm.DB) (*Change, error)) func(tx *gorm.DB) (*Change, error) {
	return func(tx *gorm.DB) (*Change, error) {
		change, err := fn(tx)
		if err != nil || change == nil {
			return nil, err
		}
		if change.Revision, err = revise(tx, *change); err != nil {
			return nil, err
		}
		s.order.note(*change)
		return change, nil
	}
}

// commit runs what was taken in one transaction, and tells of it.
func (s *Store) commit(all []*pending) {
	err := s.w.WithContext(context.Background()).Transaction(func(tx *gorm.DB) error {
		if len(all) == 1 {
			return all[0].run(tx)
		}
		for _, p := range all {
			if err := p.runAmongOthers(tx); err != nil {
				return err
			}
		}
		return nil
	})
	s.log.committed()
	s.doorWritten()
	for _, p := range all {
		if p.err == nil && err != nil {
			p.err = err
			s.order.forget()
		}
		if p.err == nil && p.change != nil {
			s.subs.tell(*p.change)
		}
		close(p.done)
	}
}

// run does the change, and has the transaction taken back where it fails.
func (p *pending) run(tx *gorm.DB) error {
	p.work(tx)
	return p.err
}

// runAmongOthers does the change and takes it back alone where it fails. The
// error is that this could not be done.
func (p *pending) runAmongOthers(tx *gorm.DB) error {
	if err := tx.Exec("SAVEPOINT among_others").Error; err != nil {
		return err
	}
	if p.work(tx); p.err != nil {
		if err := tx.Exec("ROLLBACK TO among_others").Error; err != nil {
			return err
		}
	}
	return tx.Exec("RELEASE among_others").Error
}

// work runs fn. What it panics with is for the caller of write.
func (p *pending) work(tx *gorm.DB) {
	defer func() {
		if p.panics = recover(); p.panics != nil {
			p.err = fmt.Errorf("panic: %v", p.panics)
		}
	}()
	p.change, p.err = p.fn(tx)
}

// queue is the changes that wait, in the order in which they came.
type queue struct {
	mu  sync.Mutex
	all []*pending
}

func (q *queue) add(p *pending) {
	q.mu.Lock()
	defer q.mu.Unlock()
	q.all = append(q.all, p)
}

// take returns the first of those that wait.
func (q *queue) take(most int) []*pending {
	q.mu.Lock()
	defer q.mu.Unlock()
	n := min(most, len(q.all))
	taken := slices.Clone(q.all[:n])
	q.all = slices.Delete(q.all, 0, n)
	return taken
}

// drop takes one out; false where it is not waiting any more.
func (q *queue) drop(p *pending) bool {
	q.mu.Lock()
	defer q.mu.Unlock()
	i := slices.Index(q.all, p)
	if i < 0 {
		return false
	}
	q.all = slices.Delete(q.all, i, i+1)
	return true
}

// revise counts a change on which plans hang; a plan is made from a revision and
// makes none.
func revise(tx *gorm.DB, change Change) (revision int64, err error) {
	if change.Kind == ChangedPlan {
		return change.Revision, nil
	}
	query := "SELECT revision FROM shop WHERE id = 1"
	if change.Planned() {
		query = "UPDATE shop SET revision = revision + 1 WHERE id = 1 RETURNING revision"
	}
	if err := tx.Raw(query).Scan(&revision).Error; err != nil {
		return 0, fmt.Errorf("count the revision: %w", err)
	}
	return revision, nil
}

// read runs fn in one read transaction: all it sees is of one moment.
func (s *Store) read(ctx context.Context, doing phrase.Key, fn func(tx *gorm.DB) error) error {
	return failed(doing, s.r.WithContext(ctx).Transaction(fn))
}
