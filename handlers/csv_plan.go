package handlers

import (
	"strings"

	"github.com/gin-gonic/gin"

	"faceside/handlers/csvtable"
	"faceside/models"
)

// planTable answers with the plan of the whole shop.
func (s *server) planTable(c *gin.Context) {
	r, err := s.room(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	s.sendTable(c, r.planTable("plan", func(*models.Step) bool { return true }))
}

// commissionPlanTable answers with the plan's steps of one commission.
func (s *server) commissionPlanTable(c *gin.Context) {
	_, com, err := s.commissionRead(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	r, err := s.room(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	s.sendTable(c, r.planTable(fileName(com)+"-plan", func(st *models.Step) bool { return st.CommissionID == com.ID }))
}

func (r *room) planTable(name string, wanted func(*models.Step) bool) csvtable.Table {
	t := csvtable.Table{Name: name, Columns: []string{
		"step_id", "commission_id", "commission", "piece", "step", "phase", "state", "station", "setup", "people",
		"setup_start", "start", "attended_end", "end", "attended_minutes", "unattended_minutes",
	}}
	for _, coming := range r.toCome() {
		st, p := coming.step, coming.planned
		if !wanted(st) {
			continue
		}
		station, setup := "", ""
		if of := r.snap.Station(st.StationID); of != nil {
			station = of.Name
		}
		if of := r.snap.SetupOf(st); of != nil {
			setup = of.State
		}
		var people []string
		for i := range p.PersonIDs {
			people = append(people, r.who(&p.PersonIDs[i]))
		}
		t.Rows = append(t.Rows, []any{
			st.ID, st.CommissionID, r.commission(st.CommissionID), r.pieceName(st), st.Name, st.Phase, string(r.standing(st)), station, setup, strings.Join(people, "; "),
			p.SetupStart, p.Start, p.AttendedEnd, p.End, st.Attended, st.Unattended,
		})
	}
	return t
}
