package handlers

import (
	"time"

	"github.com/gin-gonic/gin"

	"faceside/models"
)

// apiTap is one row of the journal. It names no tablet: no screen does.
type apiTap struct {
	Seq       int64      `json:"seq"`
	ID        string     `json:"id"`
	Kind      string     `json:"kind"`
	StepID    *models.ID `json:"step_id"`
	StationID *models.ID `json:"station_id"`
	SetupID   *models.ID `json:"setup_id"`
	PersonID  models.ID  `json:"person_id"`
	HelperID  *models.ID `json:"helper_id"`
	Undoes    *int64     `json:"undoes"`
	Act       string     `json:"act"`
	Trouble   string     `json:"trouble"`
	Note      string     `json:"note"`
	At        time.Time  `json:"at"`
}

// apiTaps are the rows of the journal after one, the oldest first: who asks again with
// the number of the last one he has misses none.
func (s *server) apiTaps(c *gin.Context) (any, error) {
	asked, err := askedPage(c)
	if err != nil {
		return nil, err
	}
	taps, err := s.store.Journal(c.Request.Context(), models.JournalFilter{AfterSeq: asked.after, Limit: asked.limit + 1})
	if err != nil {
		return nil, err
	}
	all := make([]apiTap, len(taps))
	for i, t := range taps {
		all[i] = apiTap{t.Seq, t.ID, string(t.Kind), t.StepID, t.StationID, t.SetupID, t.PersonID, t.HelperID, t.Undoes, t.Act, string(t.Trouble), t.Note, t.At.UTC()}
	}
	return listOf(c, asked, all, func(t *apiTap) int64 { return t.Seq }), nil
}
