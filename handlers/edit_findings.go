package handlers

import (
	"fmt"
	"slices"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/checks"
	"faceside/models/pattern"
	"faceside/models/phrase"
	"faceside/models/planner"
	"faceside/views"
)

// found is a finding of the checks with the records it is about.
type found struct {
	checks.Finding
	piece models.ID
	order *pattern.Built // the order of work it was found in
	steps []models.ID
}

// findingsOf runs the checks over every piece of a commission, with the times of
// the current plan.
func findingsOf(snap *models.Snapshot) ([]found, error) {
	shop := planner.PatternShop(snap)
	var all []found
	for _, p := range snap.Pieces {
		order, err := planner.PieceOrder(snap, p.ID)
		if err != nil {
			return nil, fmt.Errorf("read the order of work of %q: %w", p.Name, err)
		}
		id, again := map[string]models.ID{}, map[string]bool{}
		for i := range snap.Steps {
			if st := &snap.Steps[i]; st.PieceID == p.ID {
				id[st.Key], again[st.Key] = st.ID, st.AgainOf != nil
			}
		}
		for _, f := range checks.Run(order, shop, planner.PieceTimes(snap, p.ID)) {
			if slices.ContainsFunc(f.Steps, func(key string) bool { return again[key] }) {
				continue // work that was judged already, on other parts: the order of work does not tell those apart
			}
			one := found{Finding: f, piece: p.ID, order: order}
			for _, key := range f.Steps {
				if id[key] != 0 {
					one.steps = append(one.steps, id[key])
				}
			}
			all = append(all, one)
		}
	}
	return all, nil
}

// newStops are the gravest findings that were not there before.
func newStops(was, now []found) []found {
	type of struct {
		piece models.ID
		id    string
	}
	known := map[of]bool{}
	for _, f := range was {
		known[of{f.piece, f.ID()}] = true
	}
	var fresh []found
	for _, f := range now {
		if f.Severity == checks.Stops && !known[of{f.piece, f.ID()}] {
			fresh = append(fresh, f)
		}
	}
	return fresh
}

// severities are what a finding asks of the maker.
var severities = map[checks.Severity]phrase.Key{checks.Stops: "stops", checks.Warns: "warns", checks.Tells: "tells"}

func (w words) severity(s checks.Severity) string { return w.tell(severities[s].Of()) }

// severityWords say a severity in a count: "2 to stop for".
var severityWords = map[checks.Severity]phrase.Key{checks.Stops: "to stop for", checks.Warns: "to beware of", checks.Tells: "to know"}

func (w words) countFindings(all []found) []views.FindingCount {
	var counts []views.FindingCount
	for _, severity := range []checks.Severity{checks.Stops, checks.Warns, checks.Tells} {
		n := 0
		for _, f := range all {
			if f.Severity == severity {
				n++
			}
		}
		if n > 0 {
			counts = append(counts, views.FindingCount{Mark: string(severity), Word: w.tell(severityWords[severity].Of()), Count: n})
		}
	}
	return counts
}

// What a list of findings offers.
const (
	remedies   = true
	noRemedies = false
)

// findingRows tells findings, each with its remedy where that is offered.
func (e *editing) findingRows(all []found, offer bool) []views.FindingRow {
	var rows []views.FindingRow
	for _, f := range all {
		row := views.FindingRow{Mark: string(f.Severity), Word: e.say.severity(f.Severity), Title: e.say.tell(f.Title.Of()), Reason: e.say.tell(f.Reason), Source: e.say.shipped(f.Source)}
		for _, id := range f.steps {
			if st := e.snap.Step(id); st != nil {
				row.Steps = append(row.Steps, views.Link{Name: e.stepName(st), Href: editStepHref(st)})
			}
		}
		if offer && f.Remedy != nil && e.locked() == "" {
			row.Remedy = &views.RemedyForm{Action: editHref(e.com.ID) + "/remedy", Edition: e.com.Edition, Finding: f.ID(), Piece: f.piece, Say: e.say.tell(f.Remedy.Say)}
		}
		rows = append(rows, row)
	}
	return rows
}

// applyRemedy makes the change that a finding offers.
func (s *server) applyRemedy(c *gin.Context) {
	e, err := s.editingOf(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	in, err := s.reader(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	a := attemptOf(in)
	if err = s.remedy(c, e, in, a); err == nil {
		onward(c, editHref(e.com.ID))
		return
	}
	if e, err = s.again(c, e, err); err != nil {
		data := e.list()
		data.Notice = s.words(c).sentence(err)
		for _, f := range a.objects {
			data.Notice += " " + e.say.tell(f.Title.Of()) + ": " + e.say.tell(f.Reason)
		}
		s.pageOrPart(c, formStatus(err), "edit", "edit", e.say.say("Steps of %s", e.com.Name), data)
	}
}

// remedy finds the finding again and stores the order of work that its remedy
// makes.
func (s *server) remedy(c *gin.Context, e *editing, in *reader, a *attempt) error {
	piece, id := in.record("piece"), in.text("finding")
	for _, f := range e.findings {
		if piece == nil || f.piece != *piece || f.ID() != id || f.Remedy == nil {
			continue
		}
		order, err := checks.Apply(f.order, f.Remedy)
		if err != nil {
			return &models.Error{Code: models.Conflict, Field: "finding", Value: id, Sentence: phrase.Of("It cannot be mended like this: %s.", err.Error())}
		}
		edit, err := planner.OrderEdit(order, f.piece, e.snap)
		if err != nil {
			return fmt.Errorf("the records of %q: %w", f.Remedy.Say, err)
		}
		return s.try(c, e.com.ID, a, edit)
	}
	return &models.Error{Code: models.Stale, Field: "finding", Value: id, Sentence: phrase.Of("The checks do not find that any more: the steps have been changed.")}
}
