package models_test

import (
	"context"
	"testing"

	"faceside/models"
	"faceside/models/testrig"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestAPieceIsAddedToACommission(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	com := b.snap().Commissions[0]
	piece := testrig.NewCommission(t, b.store, "x", "2026-03-20").Pieces[0]
	piece.Name = "Second shelf"
	before := b.snap()
	id, err := b.store.AddPiece(ctx, com.ID, com.Edition, piece)
	require.NoError(t, err)

	after := b.snap()
	require.Len(t, after.Pieces, 2)
	assert.Equal(t, "Second shelf", after.Piece(id).Name)
	assert.Equal(t, com.ID, after.Piece(id).CommissionID)
	assert.Len(t, after.Steps, 2*len(before.Steps), "its steps come to those there are")
	assert.Len(t, after.Links, 2*len(before.Links))
	assert.Equal(t, before.Steps, after.Steps[:len(before.Steps)], "what was there stays as it was")
	assert.Equal(t, com.Edition+1, after.Commission(com.ID).Edition)
	assert.Greater(t, after.Shop.Revision, before.Shop.Revision)
	for _, st := range after.Steps[len(before.Steps):] {
		assert.Equal(t, id, st.PieceID)
		assert.Equal(t, models.Todo, st.State)
	}

	added := after.Steps[len(before.Steps)]
	require.NoError(t, b.store.EditCommission(ctx, com.ID, com.Edition+1, []models.Edit{models.RemoveStep{StepID: added.ID}}, nil),
		"it is edited like the first")
}

func TestAPieceThatCannotBeAddedIsRefusedWhole(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	com := b.snap().Commissions[0]
	fresh := func() models.NewPiece {
		p := testrig.NewCommission(t, b.store, "x", "2026-03-20").Pieces[0]
		p.Name = "Second shelf"
		return p
	}
	for name, c := range map[string]struct {
		commission, edition int64
		spoil               func(*models.NewPiece)
		says                string
		code                models.Code
	}{
		"no such commission": {commission: 99, says: "There is no commission with number 99.", code: models.NotFound},
		"an old edition":     {commission: com.ID, edition: com.Edition - 1, says: "were changed since you looked", code: models.Stale},
		"the same name":      {commission: com.ID, spoil: func(p *models.NewPiece) { p.Name = "Shelf" }, says: "has a piece called “Shelf” already", code: models.Conflict},
		"no name":            {commission: com.ID, spoil: func(p *models.NewPiece) { p.Name = " " }, says: "The piece is empty.", code: models.Invalid},
		"no steps":           {commission: com.ID, spoil: func(p *models.NewPiece) { p.Steps, p.Links = nil, nil }, says: "has no steps", code: models.Invalid},
		"a circle": {commission: com.ID, spoil: func(p *models.NewPiece) {
			p.Links = append(p.Links, models.NewLink{Before: "coat-2", After: "joint", Link: models.Link{From: models.FromEnd}})
		}, says: "circle", code: models.Invalid},
		"clamps beyond the rack": {commission: com.ID, spoil: func(p *models.NewPiece) {
			for i := range p.Steps {
				for class := range p.Steps[i].Clamps {
					p.Steps[i].Clamps[class] = 99
				}
			}
		}, says: "the rack has", code: models.Invalid},
	} {
		t.Run(name, func(t *testing.T) {
			before := b.snap()
			p := fresh()
			if c.spoil != nil {
				c.spoil(&p)
			}
			_, err := b.store.AddPiece(ctx, c.commission, c.edition, p)
			require.ErrorContains(t, err, c.says)
			assert.Equal(t, c.code, models.CodeOf(err))
			after := b.snap()
			assert.Equal(t, []int{len(before.Pieces), len(before.Parts), len(before.Steps), len(before.Links), len(before.Setups)},
				[]int{len(after.Pieces), len(after.Parts), len(after.Steps), len(after.Links), len(after.Setups)}, "nothing is half saved")
			assert.Equal(t, before.Commission(com.ID), after.Commission(com.ID))
		})
	}
	dropped := com
	dropped.State = models.Dropped
	require.NoError(t, b.store.SaveCommission(ctx, dropped))
	_, err := b.store.AddPiece(ctx, com.ID, com.Edition, fresh())
	require.ErrorContains(t, err, "is dropped: its steps are not changed any more")
}
