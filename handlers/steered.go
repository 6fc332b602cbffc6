package handlers

import (
	"fmt"
	"net/http"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/views"
)

// steeredShown is how many kept changes the screen lists.
const steeredShown = 100

// steered lists what was steered, newest first.
func (s *server) steered(c *gin.Context) { s.showSteered(c, http.StatusOK, "") }

func (s *server) showSteered(c *gin.Context, status int, notice string) {
	r, err := s.room(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	rows, err := s.store.WhatWasSteered(c.Request.Context(), steeredShown)
	if err != nil {
		s.fail(c, fmt.Errorf("read what was steered: %w", err))
		return
	}
	data := views.Steered{Notice: notice}
	var kept []string
	for i := range rows {
		row := r.steeredRow(&rows[i])
		if rows[i].Act == c.Query("kept") && rows[i].LetGoAt == nil {
			kept = append([]string{row.Says}, kept...)
		}
		data.Rows = append(data.Rows, row)
	}
	data.Kept = strings.Join(kept, " · ")
	s.pageOrPart(c, status, "steered", "steered", r.say.say("What was steered"), data)
}

func (r *room) steeredRow(row *models.Steered) views.SteeredRow {
	v := views.SteeredRow{Says: capital(r.say.tell(row.Says)), Kept: r.doneBy(row.KeptAt, row.KeptBy)}
	switch {
	case row.LetGoAt != nil:
		v.State = r.say.say("let go: %s", r.doneBy(*row.LetGoAt, row.LetGoBy))
	case r.isOver(&row.Change):
		v.State = r.say.say("over")
	default:
		v.Active, v.State = true, r.say.say("in force")
		v.LetGo = fmt.Sprintf("/steered/%d/let-go", row.ID)
	}
	return v
}

// isOver tells whether the days of a change lie behind, or what it was for is over.
func (r *room) isOver(c *models.Steer) bool {
	today := r.say.now.Format(time.DateOnly)
	switch c.Kind {
	case models.SteerDown:
		st := r.snap.Station(c.StationID)
		return st == nil || !st.Down
	case models.SteerDayOff, models.SteerDayBack, models.SteerHours, models.SteerHands, models.SteerStation, models.SteerLend, models.SteerBorrow, models.SteerPin:
		return max(c.Date, c.Until) < today
	}
	return false
}

// doneBy says who did something, and when.
func (r *room) doneBy(at time.Time, by *models.ID) string {
	if who := r.who(by); who != "" {
		return r.say.say("%[1]s, %[2]s ## who and when", who, r.say.at(at))
	}
	return r.say.at(at)
}

// letGo puts back what a kept change found.
func (s *server) letGo(c *gin.Context) {
	id, err := idOf(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	snap, err := s.snapshot(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	var by models.ID
	if p := s.person(c, snap); p != nil {
		by = p.ID
	}
	err = s.store.LetGo(c.Request.Context(), id, by)
	forget(c)
	switch {
	case err == nil:
		seeOther(c, "/steered")
	case statusOf(err) == http.StatusConflict || statusOf(err) == http.StatusUnprocessableEntity:
		s.showSteered(c, statusOf(err), s.words(c).sentence(err))
	default:
		s.fail(c, err)
	}
}
