package handlers

import (
	"time"

	"faceside/views"
)

// backupsSaid says how the backups stand; nil where none are made.
func (s *server) backupsSaid(r *room) *views.Backups {
	if s.backups == nil {
		return nil
	}
	status := s.backups.Status()
	when := func(t *time.Time) string {
		if t == nil {
			return ""
		}
		return r.say.at(*t)
	}
	return &views.Backups{Kept: status.Kept, Folder: status.Folder, Good: when(status.LastGood),
		Failed: r.say.tell(status.Failed), Tried: when(status.FailedAt)}
}

// clockSaid says what is wrong with the clock of the server; "" where nothing is.
func (s *server) clockSaid(w words) string { return w.tell(s.store.ClockTold(w.now.Location())) }

// logSaid says why the log of the records becomes longer and longer, at length and in
// short; "" where it does not.
func (s *server) logSaid(w words) (long, short string) {
	told, brief := s.store.LogTold()
	return w.tell(told), w.tell(brief)
}
