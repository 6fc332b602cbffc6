package handlers

import (
	"cmp"
	"net/http"
	"slices"
	"time"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/planner"
	"faceside/views"
)

// traveller is the order of work of a commission on paper, with boxes to tick, its
// parts, and codes that open a step on the tablet.
func (s *server) traveller(c *gin.Context) {
	snap, com, err := s.commissionRead(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	data, err := s.travellerData(c, snap, com)
	if err != nil {
		s.fail(c, err)
		return
	}
	s.page(c, http.StatusOK, "traveller", s.words(c).say("Traveller of %s", com.Name), data)
}

func (s *server) travellerData(c *gin.Context, snap *models.Snapshot, com *models.Commission) (views.Traveller, error) {
	own, err := s.roomOf(snap)
	if err != nil {
		return views.Traveller{}, err
	}
	open, err := s.room(c) // the plan is of all that is open
	if err != nil {
		return views.Traveller{}, err
	}
	data := views.Traveller{Href: commissionHref(com.ID), Shop: own.say.shipped(snap.Shop.Name), Name: com.Name, Client: com.Client,
		Promised: own.say.date(com.PromisedOn), Printed: own.dated(own.at), Note: com.Note, OnlyHere: onlyHere(c)}
	if data.Code, err = qrCode(origin(c)+commissionHref(com.ID), com.Name); err != nil {
		return data, err
	}
	for i := range own.snap.Pieces {
		p := &own.snap.Pieces[i]
		piece := views.TravellerPiece{Name: p.Name, Parts: own.partSizes(own.partsOf(p.ID))}
		if built, _ := s.rebuild(own, p); built != nil { // what keeps it from being drawn stands on the commission's screen
			piece.From = own.say.madeFrom(built)
		}
		data.Pieces = append(data.Pieces, piece)
	}
	for i, st := range own.inOrder(com.ID, open.snap) {
		step, err := own.sheetStep(st, origin(c))
		if err != nil {
			return data, err
		}
		step.Number, step.Of = i+1, ""
		for _, text := range step.Cautions {
			at := slices.Index(data.Cautions, text)
			if at < 0 {
				at = len(data.Cautions)
				data.Cautions = append(data.Cautions, text)
			}
			step.Mind = append(step.Mind, at+1)
		}
		step.Cautions = nil
		if len(data.Pieces) > 1 {
			step.Of = own.pieceName(st)
		}
		if planned := planner.Expected(open.snap, st.ID); planned != nil && st.FinishedAt == nil {
			step.When = own.dated(planned.Start)
		}
		data.Steps = append(data.Steps, step)
	}
	return data, nil
}

// inOrder are the steps of a commission as they were done and as they are expected;
// those the plan does not have come last, in their pattern's order.
func (r *room) inOrder(id models.ID, open *models.Snapshot) []*models.Step {
	steps := slices.Clone(r.snap.StepsOf(id))
	at := make(map[models.ID]time.Time, len(steps))
	for _, st := range steps {
		if st.FinishedAt != nil {
			at[st.ID] = *st.FinishedAt
		} else if planned := planner.Expected(open, st.ID); planned != nil {
			at[st.ID] = planned.Start
		}
	}
	rank := func(st *models.Step) int {
		switch {
		case st.FinishedAt != nil:
			return 0
		case !at[st.ID].IsZero():
			return 1
		}
		return 2
	}
	slices.SortStableFunc(steps, func(a, b *models.Step) int {
		return cmp.Or(cmp.Compare(rank(a), rank(b)), at[a.ID].Compare(at[b.ID]), cmp.Compare(a.PieceID, b.PieceID), cmp.Compare(a.Position, b.Position))
	})
	return steps
}
