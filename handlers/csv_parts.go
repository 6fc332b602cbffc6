package handlers

import (
	"github.com/gin-gonic/gin"

	"faceside/handlers/csvtable"
	"faceside/models"
)

// partsTable answers with the parts of a commission in any state.
func (s *server) partsTable(c *gin.Context) {
	snap, com, err := s.commissionRead(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	r, err := s.roomOf(snap)
	if err != nil {
		s.fail(c, err)
		return
	}
	t := csvtable.Table{Name: fileName(com) + "-parts", Columns: []string{
		"part_id", "commission_id", "commission", "piece", "part", "quantity", "species", "grain",
		"length_mm", "width_mm", "thickness_mm", "rough_length_mm", "rough_width_mm", "rough_thickness_mm", "together", "note",
	}}
	for _, p := range r.snap.Parts {
		piece := ""
		if of := r.snap.Piece(p.PieceID); of != nil {
			piece = of.Name
		}
		t.Rows = append(t.Rows, []any{
			p.ID, com.ID, com.Name, piece, p.Name, p.Quantity, p.Species, p.Grain,
			millimetres(p.Length), millimetres(p.Width), millimetres(p.Thickness),
			millimetres(p.RoughLength), millimetres(p.RoughWidth), millimetres(p.RoughThickness), p.Together, p.Note,
		})
	}
	s.sendTable(c, t)
}

// fileName is what a commission's files are called.
func fileName(com *models.Commission) string {
	return key(com.Name, "commission", func(string) bool { return false })
}
