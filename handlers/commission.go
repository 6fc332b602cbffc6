package handlers

import (
	"fmt"
	"net/http"
	"slices"
	"sort"
	"strconv"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/models/planner"
	"faceside/views"
)

// phases is the usual order of the phases; others come after, by name.
var phases = []string{"milling", "joinery", "glue-up", "shaping", "sanding", "finishing", "fitting"}

// commission is the screen of one commission, in any state.
func (s *server) commission(c *gin.Context) {
	id, err := idOf(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	data, err := s.commissionData(c, id)
	if err != nil {
		s.fail(c, err)
		return
	}
	s.pageOrPart(c, http.StatusOK, "commission", "commission", data.Row.Name, data)
}

// commissionRead reads the commission the path names, in any state, with all its records.
func (s *server) commissionRead(c *gin.Context) (*models.Snapshot, *models.Commission, error) {
	id, err := idOf(c)
	if err != nil {
		return nil, nil, err
	}
	snap, err := s.store.CommissionSnapshot(c.Request.Context(), id)
	if err != nil {
		return nil, nil, fmt.Errorf("read commission %d: %w", id, err)
	}
	return snap, snap.Commission(id), nil
}

func (s *server) commissionData(c *gin.Context, id models.ID) (views.Commission, error) {
	snap, err := s.store.CommissionSnapshot(c.Request.Context(), id)
	if err != nil {
		return views.Commission{}, fmt.Errorf("read commission %d: %w", id, err)
	}
	own, err := s.roomOf(snap)
	if err != nil {
		return views.Commission{}, err
	}
	all, err := s.room(c)
	if err != nil {
		return views.Commission{}, err
	}
	com := snap.Commission(id)
	e, err := checked(own, com)
	if err != nil {
		return views.Commission{}, err
	}
	gates := all.gatesOf(id)
	data := views.Commission{
		Href: commissionHref(id), Note: com.Note,
		Row:    own.commissionRow(own.summary(com), forecastsByID(planner.Forecasts(all.snap))[id]),
		Pieces: s.pieceRows(own, gates), Across: own.across(), Phases: own.phaseSteps(id),
		Edit: own.say.editForm(com), Moves: own.say.moves(com.State), Steer: own.steerLinks(com),
	}
	data.Foreseen = own.foreseen(com.State == models.Open)
	if e.locked() == "" {
		data.AddPiece = addPieceHref(id)
		data.Counts, data.Findings = e.say.countFindings(e.findings), e.findingRows(e.findings, noRemedies)
	}
	for _, g := range gates {
		row, ok := all.gate(g)
		row.Commission = ""
		switch {
		case !ok:
		case len(data.Gates) < benchGates:
			data.Gates = append(data.Gates, row)
		default:
			data.Later = append(data.Later, row)
		}
	}
	return data, nil
}

// summary counts what the list of commissions counts, for one.
func (r *room) summary(com *models.Commission) models.CommissionSummary {
	sum := models.CommissionSummary{Commission: *com}
	for _, st := range r.snap.StepsOf(com.ID) {
		sum.Steps++
		sum.Minutes += st.Attended
		if _, ended := st.Ended(r.at); ended {
			sum.Done++
		}
		if st.FinishedAt == nil {
			sum.MinutesLeft += max(0, st.Attended-st.Worked/60)
		}
	}
	return sum
}

// pieceRows tells each piece with its order of work and its parts, and what it was
// made from, in the pattern's own words; by the keys it is stored with where the
// pattern no longer gives it.
func (s *server) pieceRows(r *room, gates []planner.Gate) []views.PieceRow {
	var rows []views.PieceRow
	for i := range r.snap.Pieces {
		p := &r.snap.Pieces[i]
		row := views.PieceRow{Name: p.Name, Graph: r.graph(p, gates), Parts: r.partSizes(r.partsOf(p.ID))}
		if built, wrong := s.rebuild(r, p); built != nil {
			row.From, row.Drawing = r.say.madeFrom(built), r.say.piece(built, false)
		} else {
			row.From, row.Drawing.Wrong = append(r.say.paired(p.Measures), r.say.paired(p.Choices)...), wrong
		}
		rows = append(rows, row)
	}
	return rows
}

// partsOf are the parts of one piece.
func (r *room) partsOf(piece models.ID) []models.Part {
	var parts []models.Part
	for _, p := range r.snap.Parts {
		if p.PieceID == piece {
			parts = append(parts, p)
		}
	}
	return parts
}

// across says which steps wait for those of another piece, which no drawing shows:
// each is of one piece.
func (r *room) across() []string {
	var all []string
	for _, l := range r.snap.Links {
		before, after := r.snap.Step(l.BeforeID), r.snap.Step(l.AfterID)
		if before != nil && after != nil && before.PieceID != after.PieceID {
			all = append(all, r.say.say("“%s” of %s waits for “%s” of %s.", after.Name, r.pieceName(after), before.Name, r.pieceName(before)))
		}
	}
	return all
}

// pieceName says of which piece a step is.
func (r *room) pieceName(st *models.Step) string {
	if p := r.snap.Piece(st.PieceID); p != nil {
		return p.Name
	}
	return ""
}

// paired says keys with their values, sorted.
func (w words) paired(values map[string]string) []views.Made {
	var all []views.Made
	for key, value := range values {
		all = append(all, views.Made{Name: w.tell(models.Named(key)), Value: value})
	}
	sort.Slice(all, func(i, j int) bool { return all[i].Name < all[j].Name })
	return all
}

// phaseSteps groups a commission's steps by phase, in the usual order.
func (r *room) phaseSteps(id models.ID) []views.PhaseSteps {
	by := map[string]*views.PhaseSteps{}
	for _, st := range r.snap.StepsOf(id) {
		p := by[st.Phase]
		if p == nil {
			p = &views.PhaseSteps{Phase: capital(r.say.phase(st.Phase))}
			by[st.Phase] = p
		}
		row := r.row(st, false)
		row.Commission = ""
		if len(r.snap.Pieces) > 1 {
			row.Commission = r.pieceName(st)
		}
		if planned := planner.Expected(r.snap, st.ID); planned != nil && st.State == models.Todo {
			row.When = r.say.at(planned.Start)
			if pinnedThere(st, planned) {
				row.When = r.say.say("pinned %s", row.When)
			}
		}
		if st.FinishedAt != nil {
			row.When = r.say.at(*st.FinishedAt)
		}
		if st.State == models.Done {
			p.Done++
		}
		p.Live = p.Live || st.State != models.Done && row.Mark != mark(models.StandsWaiting)
		p.Steps = append(p.Steps, row)
	}
	var rows []views.PhaseSteps
	for _, phase := range sortedPhases(by) {
		rows = append(rows, *by[phase])
	}
	return rows
}

func sortedPhases[T any](by map[string]T) []string {
	var all []string
	for phase := range by {
		all = append(all, phase)
	}
	place := func(phase string) int {
		if i := slices.Index(phases, phase); i >= 0 {
			return i
		}
		return len(phases)
	}
	sort.Slice(all, func(i, j int) bool {
		if a, b := place(all[i]), place(all[j]); a != b {
			return a < b
		}
		return all[i] < all[j]
	})
	return all
}

func (r *room) partSizes(parts []models.Part) []views.PartSizes {
	var rows []views.PartSizes
	for _, p := range parts {
		rows = append(rows, views.PartSizes{
			Count: p.Quantity, Name: p.Name, Species: r.say.shipped(p.Species), Note: p.Note, Grain: r.say.tell(grainWords[p.Grain].Of()),
			Finished: r.say.size(p.Length, p.Width, p.Thickness),
			Rough:    r.say.size(p.RoughLength, p.RoughWidth, p.RoughThickness),
		})
	}
	return rows
}

var grainWords = map[string]phrase.Key{"length": "", "width": "grain across in the piece", "none": "no grain direction"}

// gatesOf are the gates of one commission, most pressing first.
func (r *room) gatesOf(id models.ID) []planner.Gate {
	var all []planner.Gate
	for _, g := range planner.Gates(r.snap, r.at) {
		if st := r.snap.Step(g.StepID); st != nil && st.CommissionID == id {
			all = append(all, g)
		}
	}
	return all
}

// graph is the drawn order of work of a piece.
func (r *room) graph(p *models.Piece, gates []planner.Gate) views.Drawing {
	holds := map[models.ID]int{}
	for _, g := range gates {
		holds[g.StepID] = len(g.Holds)
	}
	g := views.OrderGraph{Say: r.say.speaker, Title: r.say.say("Order of work of %s", p.Name)}
	own := map[models.ID]bool{}
	for _, st := range r.snap.StepsOf(p.CommissionID) {
		if st.PieceID != p.ID {
			continue
		}
		own[st.ID] = true
		step := views.OrderStep{
			ID: st.ID, Name: st.Name, Stream: r.stream(st), Phase: r.say.phase(st.Phase), State: views.State(r.standing(st)),
			Minutes: st.Attended, Rest: st.Rest, RestMin: st.Unattended, Holds: holds[st.ID], Href: stepHref(st.ID),
		}
		if planned := planner.Expected(r.snap, st.ID); planned != nil && st.State == models.Todo {
			step.When, step.Pinned = r.say.at(planned.Start), pinnedThere(st, planned)
		}
		g.Steps = append(g.Steps, step)
	}
	for _, link := range r.snap.Links {
		if !own[link.BeforeID] || !own[link.AfterID] {
			continue
		}
		g.Links = append(g.Links, views.OrderLink{Before: link.BeforeID, After: link.AfterID, From: link.From,
			Least: link.MinLag, Greatest: link.MaxLag, Why: r.say.shipped(link.Why)})
	}
	g.ID = fmt.Sprintf("graph-%d", p.ID)
	svg, err := g.SVG()
	if err != nil {
		return views.Drawing{Wrong: r.say.say("The order of work cannot be drawn: %s", err.Error())}
	}
	small, err := g.Map()
	if err != nil {
		return views.Drawing{Wrong: r.say.say("The order of work cannot be drawn: %s", err.Error())}
	}
	strips, err := g.Strips()
	if err != nil {
		return views.Drawing{Wrong: r.say.say("The order of work cannot be drawn: %s", err.Error())}
	}
	return views.Drawing{SVG: svg, Map: small, Strips: strips}
}

// stream is what a step works toward: the assembly it makes or is worked on,
// else its first part, else its piece.
func (r *room) stream(st *models.Step) string {
	if st.MakesID != nil {
		if a := r.snap.Assembly(*st.MakesID); a != nil {
			return a.Name
		}
	}
	if names := r.assembliesOf(st); len(names) > 0 {
		return names[0]
	}
	for _, use := range r.snap.PartsOf(st.ID) {
		if p := r.snap.Part(use.PartID); p != nil {
			return p.Name
		}
	}
	return r.pieceName(st)
}

// editForm asks for what can be changed of a commission.
func (w words) editForm(com *models.Commission) views.Form {
	return views.Form{
		ID: "commission-form", Action: commissionHref(com.ID), Save: w.say("Save the changes"),
		Fields: w.aboutFields(com),
	}
}

// aboutFields are the questions about a commission itself.
func (w words) aboutFields(com *models.Commission) []views.Field {
	return []views.Field{
		{Name: "name", Label: w.say("Name"), Kind: "text", Value: com.Name, Help: w.say("What the shop calls it.")},
		{Name: "client", Label: w.say("Client"), Kind: "text", Value: com.Client},
		{Name: "promised_date", Label: w.say("Promised for"), Kind: "date", Value: com.PromisedOn, Help: w.say("Complete by closing time of that day.")},
		{Name: "weight", Label: w.say("Weight"), Kind: "number", Value: strconv.Itoa(com.Weight), Mode: "numeric", Least: "1", Greatest: "9",
			Help: w.say("How much a late day hurts: 1 hardly, 9 it must not happen.")},
		{Name: "note", Label: w.say("Note"), Kind: "textarea", Value: com.Note, Wide: true},
	}
}

// moves are the states a commission can be put in from where it is.
func (w words) moves(state models.CommissionState) []views.CommissionMove {
	hold := views.CommissionMove{State: string(models.Held), Label: w.say("Hold"), Help: w.say("It stays, but is not planned until it is resumed.")}
	resume := views.CommissionMove{State: string(models.Open), Label: w.say("Resume"), Help: w.say("It is planned again.")}
	reopen := views.CommissionMove{State: string(models.Open), Label: w.say("Open again"), Help: w.say("It comes back among the open commissions.")}
	deliver := views.CommissionMove{State: string(models.Delivered), Label: w.say("Delivered"), Help: w.say("Every step must be done.")}
	drop := views.CommissionMove{State: string(models.Dropped), Label: w.say("Drop"), Help: w.say("It will not be made. Its records stay.")}
	switch state {
	case models.Open:
		return []views.CommissionMove{deliver, hold, drop}
	case models.Held:
		return []views.CommissionMove{resume, drop}
	}
	return []views.CommissionMove{reopen}
}
