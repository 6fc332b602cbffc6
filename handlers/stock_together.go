package handlers

import (
	"fmt"
	"slices"
	"strconv"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/planner"
	"faceside/models/stock"
	"faceside/views"
)

// keepTogether has parts of a commission match in colour, or lets them be.
func (s *server) keepTogether(c *gin.Context) {
	id, _, in, ok := s.posted(c, idOf)
	if !ok {
		return
	}
	var parts []models.ID
	for _, text := range in.form["part"] {
		n, err := strconv.ParseInt(text, 10, 64)
		if err != nil {
			in.refuse("part", "%q is no number of a part.", text)
		}
		parts = append(parts, n)
	}
	if !in.check("apart") && in.text("group") == "" {
		in.refuse("group", "Give the group a name, for example “seat panel”.")
	}
	err := in.err()
	if err == nil {
		err = s.store.KeepTogether(c.Request.Context(), id, parts, in.text("group"))
	}
	forget(c)
	if err == nil {
		seeOther(c, commissionHref(id)+"/cut-list#together")
		return
	}
	s.showCutList(c, formStatus(err), func(data *views.CutList) {
		data.Together.Typed = in.text("group")
		if data.Together.Notice = s.words(c).reasons(in); data.Together.Notice == "" {
			data.Together.Notice = s.words(c).sentence(err)
		}
		for i := range data.Together.Parts {
			data.Together.Parts[i].Chosen = slices.Contains(in.form["part"], data.Together.Parts[i].ID)
		}
	})
}

// together is what of a commission's parts belongs together, and what may.
func (w stockWords) together(snap *models.Snapshot, list planner.StockList, action string) views.Together {
	out := views.Together{Action: action}
	at := map[string]int{}
	for _, g := range stock.Groups(list.Lines) {
		for _, l := range g.Lines {
			_, rough := w.lineSizes(l)
			of := w.stock(l.Species, l.Quarter, l.Finished.Thickness)
			if list.Cut(l) < l.Quantity {
				out.Parts = append(out.Parts, views.TogetherPart{ID: l.Part, Name: fmt.Sprintf("%d × %s", l.Quantity, l.Name), Detail: of + ", " + rough})
			}
			if l.Group == "" {
				continue
			}
			i, known := at[l.Group]
			if !known {
				i = len(out.Groups)
				at[l.Group] = i
				out.Groups = append(out.Groups, views.TogetherGroup{Name: l.Group})
			}
			group := &out.Groups[i]
			group.IDs, group.Names = append(group.IDs, l.Part), append(group.Names, fmt.Sprintf("%d × %s", l.Quantity, l.Name))
			if !slices.Contains(group.Stocks, of) {
				group.Stocks = append(group.Stocks, of)
			}
		}
	}
	out.Offers = offers(snap, list)
	return out
}

// offers are the assemblies that are glued up of several boards of one stock: of parts
// that are all in it, not cut yet and in no group.
func offers(snap *models.Snapshot, list planner.StockList) []views.TogetherGroup {
	var out []views.TogetherGroup
	for _, a := range snap.Assemblies {
		group, pieces := views.TogetherGroup{Name: a.Name}, 0
		var of []stock.Line
		for _, use := range snap.AssemblyParts {
			i := slices.IndexFunc(list.Lines, func(l stock.Line) bool { return l.Part == strconv.FormatInt(use.PartID, 10) })
			if use.AssemblyID != a.ID || i < 0 {
				continue
			}
			if l := list.Lines[i]; l.Quantity == use.Quantity && l.Group == "" && list.Cut(l) == 0 {
				pieces, of = pieces+l.Quantity, append(of, l)
				group.IDs, group.Names = append(group.IDs, l.Part), append(group.Names, fmt.Sprintf("%d × %s", l.Quantity, l.Name))
			}
		}
		if pieces > 1 && len(stock.Problems(of, nil, stock.UsualRules)) == 1 {
			out = append(out, group)
		}
	}
	return out
}
