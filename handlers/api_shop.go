package handlers

import (
	"strings"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/wood"
)

type apiShop struct {
	Name     string      `json:"name"`
	TimeZone string      `json:"time_zone"`
	Units    string      `json:"units"`
	Language string      `json:"language"`
	Hours    []apiHours  `json:"hours"`
	DaysOff  []apiDayOff `json:"days_off"`
	People   []apiPerson `json:"people"`
	Clamps   []apiClamps `json:"clamps"`
}

type apiHours struct {
	Weekday string `json:"weekday"`
	Opens   string `json:"opens"`
	Closes  string `json:"closes"`
}

type apiDayOff struct {
	Date     string     `json:"date"`
	PersonID *models.ID `json:"person_id"`
	Reason   string     `json:"reason"`
}

type apiPerson struct {
	ID     models.ID `json:"id"`
	Name   string    `json:"name"`
	Active bool      `json:"active"`
}

type apiClamps struct {
	ID      models.ID `json:"id"`
	Name    string    `json:"name"`
	ReachMM float64   `json:"reach_mm"`
	Count   int       `json:"count"`
}

// apiShop is the shop itself.
func (s *server) apiShop(c *gin.Context) (any, error) {
	r, err := s.room(c)
	if err != nil {
		return nil, err
	}
	snap := r.snap
	shop := apiShop{Name: r.say.shipped(snap.Shop.Name), TimeZone: snap.Shop.TimeZone, Units: snap.Shop.Units, Language: snap.Shop.Language,
		Hours: []apiHours{}, DaysOff: []apiDayOff{}, People: []apiPerson{}, Clamps: []apiClamps{}}
	for _, h := range snap.Hours {
		shop.Hours = append(shop.Hours, apiHours{strings.ToLower(h.Weekday.String()), clockTime(h.Opens), clockTime(h.Closes)})
	}
	for _, d := range snap.DaysOff {
		shop.DaysOff = append(shop.DaysOff, apiDayOff{d.Date, d.PersonID, d.Reason})
	}
	for _, p := range snap.People {
		shop.People = append(shop.People, apiPerson{p.ID, p.Name, p.Active})
	}
	for _, class := range snap.Clamps {
		shop.Clamps = append(shop.Clamps, apiClamps{class.ID, class.Name, millimetres(class.Reach), class.Count})
	}
	return shop, nil
}

// millimetres is a length as a number for other programs.
func millimetres(l wood.Length) float64 { return float64(l) / float64(wood.Millimetre) }
