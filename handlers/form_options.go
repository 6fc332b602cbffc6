package handlers

import (
	"slices"
	"strconv"

	"faceside/models"
	"faceside/views"
)

// option is a record that can be chosen.
func option(id models.ID, name string) views.Option {
	return views.Option{Value: strconv.FormatInt(id, 10), Name: name}
}

// options are records to choose from; first is a choice before them, "" for none.
func options[T any](first string, records []T, of func(*T) (models.ID, string)) []views.Option {
	var all []views.Option
	if first != "" {
		all = append(all, views.Option{Name: first})
	}
	for i := range records {
		all = append(all, option(of(&records[i])))
	}
	return all
}

// peopleOptions are those who work here.
func (r *room) peopleOptions(first string) []views.Option {
	here := slices.DeleteFunc(slices.Clone(r.snap.People), func(p models.Person) bool { return !p.Active })
	return options(first, here, func(p *models.Person) (models.ID, string) { return p.ID, p.Name })
}

func (r *room) stationOptions(first string) []views.Option {
	return options(first, r.snap.Stations, func(st *models.Station) (models.ID, string) { return st.ID, st.Name })
}

func (r *room) glueOptions(first string) []views.Option {
	return options(first, r.snap.Glues, func(g *models.Glue) (models.ID, string) { return g.ID, g.Name })
}

func (r *room) finishOptions(first string) []views.Option {
	return options(first, r.snap.Finishes, func(f *models.Finish) (models.ID, string) { return f.ID, f.Name })
}

// pieceOptions are the pieces of a commission.
func pieceOptions(pieces []models.Piece) []views.Option {
	return options("", pieces, func(p *models.Piece) (models.ID, string) { return p.ID, p.Name })
}
