package handlers

import (
	"strconv"

	"faceside/models"
	"faceside/views"
)

// option is a record that can be chosen.
func option(id models.ID, name string) views.Option {
	return views.Option{Value: strconv.FormatInt(id, 10), Name: name}
}

// options are records to choose from.
func options[T any](records []T, of func(*T) (models.ID, string)) []views.Option {
	var all []views.Option
	for i := range records {
		all = append(all, option(of(&records[i])))
	}
	return all
}

// peopleOptions are those who work here; first is a choice before them, "" for none.
func (r *room) peopleOptions(first string) []views.Option {
	var all []views.Option
	if first != "" {
		all = append(all, views.Option{Name: first})
	}
	for _, p := range r.snap.People {
		if p.Active {
			all = append(all, option(p.ID, p.Name))
		}
	}
	return all
}
