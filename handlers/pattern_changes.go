package handlers

import (
	"errors"
	"slices"

	"faceside/models"
	"faceside/models/checks"
	"faceside/models/pattern"
	"faceside/models/planner"
	"faceside/views"
)

// changesOf finds what was changed by hand of a piece of a commission.
func (s *server) changesOf(snap *models.Snapshot, piece *models.Piece) (*pattern.Changes, error) {
	order, err := planner.WorkOrder(snap, piece.ID)
	if err != nil {
		return nil, err
	}
	return s.library.Changes(inputOf(piece), planner.PatternShop(snap), order)
}

// inputOf is what a piece was built from.
func inputOf(piece *models.Piece) pattern.Input {
	return pattern.Input{Pattern: piece.Pattern, Measures: piece.Measures, Choices: piece.Choices}
}

// keptPiece tells what a pattern that is kept of a piece would carry.
func (s *server) keptPiece(k *keeping, piece *models.Piece, all []found) views.KeptPiece {
	row := views.KeptPiece{Name: piece.Name}
	changes, err := s.changesOf(k.snap, piece)
	if err != nil {
		row.Wrong = k.say.pieceWrong(err)
		return row
	}
	row.Counts, row.Changes, row.Lost = k.say.tellAll(changes.Counts()), k.say.tellAll(changes.Said()), k.say.tellAll(changes.Lost())
	row.Apart = linkedOutside(k.snap, piece.ID)
	for _, c := range k.say.countFindings(slices.DeleteFunc(slices.Clone(all), func(f found) bool { return f.piece != piece.ID })) {
		if c.Mark != string(checks.Tells) {
			row.Findings = append(row.Findings, c)
		}
	}
	return row
}

// pieceWrong says why a piece cannot be built anew.
func (w words) pieceWrong(err error) string {
	var many *pattern.Errors
	if !errors.As(err, &many) {
		return w.sentence(err)
	}
	text := ""
	for _, one := range many.List {
		text += capital(w.patternSays(one)) + ". "
	}
	return text
}

// linkedOutside says whether links lead to steps of other pieces.
func linkedOutside(snap *models.Snapshot, piece models.ID) bool {
	return slices.ContainsFunc(snap.Links, func(l models.Link) bool {
		before, after := snap.Step(l.BeforeID), snap.Step(l.AfterID)
		return before != nil && after != nil && before.PieceID != after.PieceID && (before.PieceID == piece || after.PieceID == piece)
	})
}

// tellChanges tells, of a piece whose pattern holds changes made by hand, which of
// them cannot be made, and what the checks have against the order of work.
func (d *draft) tellChanges(built *pattern.Built, p *views.Preview) {
	for _, out := range built.LeftOut {
		p.LeftOut = append(p.LeftOut, capital(d.room.say.tell(out.Reason))+".")
	}
	if !d.pattern.Changed() {
		return // a pattern of which nothing was changed by hand has nothing to stop for
	}
	for _, f := range checks.Run(built, d.shop) {
		if f.Severity != checks.Tells {
			p.Findings = append(p.Findings, views.FindingRow{Mark: string(f.Severity), Word: d.room.say.severity(f.Severity), Title: d.room.say.tell(f.Title.Of()), Reason: d.room.say.tell(f.Reason), Source: d.room.say.shipped(f.Source)})
		}
	}
}
