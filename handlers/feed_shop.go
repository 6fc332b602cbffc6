package handlers

import (
	"context"
	"fmt"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/views"
)

func feedPath(f models.Feed) string {
	if f.PersonID == nil {
		return "/calendars/shop/" + f.Secret + ".ics"
	}
	return fmt.Sprintf("/calendars/people/%d/%s.ics", *f.PersonID, f.Secret)
}

// feeds tells the calendars that can be read, and those that could: one of the shop
// and one of each person.
func (s *server) feeds(c *gin.Context, r *room) (views.Feeds, error) {
	open, err := s.store.Feeds(c.Request.Context())
	if err != nil {
		return views.Feeds{}, err
	}
	byPerson := map[models.ID]models.Feed{}
	for _, f := range open {
		id := models.ID(0) // the shop
		if f.PersonID != nil {
			id = *f.PersonID
		}
		byPerson[id] = f
	}
	data := views.Feeds{OnlyHere: onlyHere(c), Rows: []views.FeedRow{{Name: r.say.say("The whole shop")}}}
	for _, p := range r.snap.People {
		if _, known := byPerson[p.ID]; known || p.Active {
			data.Rows = append(data.Rows, views.FeedRow{Name: p.Name, Person: p.ID})
		}
	}
	for i := range data.Rows {
		row := &data.Rows[i]
		f, known := byPerson[row.Person]
		if !known {
			continue
		}
		row.Address, row.Since = origin(c)+feedPath(f), r.say.at(f.MadeAt)
		if row.Code, err = qrCode(row.Address, r.say.say("The address of this calendar, for a camera")); err != nil {
			return views.Feeds{}, err
		}
	}
	return data, nil
}

// renewFeed gives a calendar its first address, or a new one.
func (s *server) renewFeed(c *gin.Context) {
	s.changeFeed(c, func(ctx context.Context, person *models.ID) error {
		_, err := s.store.RenewFeed(ctx, person)
		return err
	})
}

// endFeed takes the address of a calendar back.
func (s *server) endFeed(c *gin.Context) { s.changeFeed(c, s.store.EndFeed) }

func (s *server) changeFeed(c *gin.Context, change func(context.Context, *models.ID) error) {
	in, err := s.reader(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	person := in.record("person")
	if err = in.err(); err == nil {
		err = change(c.Request.Context(), person)
	}
	s.shopSaved(c, "calendars", "", in.form, err)
}
