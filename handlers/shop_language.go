package handlers

import (
	"github.com/gin-gonic/gin"

	"faceside/models/phrase"
	"faceside/models/wood"
	"faceside/views"
	"faceside/views/tongues"
)

// unitNames are the units of length, by themselves.
var unitNames = []struct {
	units string
	name  phrase.Key
}{{wood.Millimetres, phrase.Key("millimetres ## units")}, {wood.Inches, phrase.Key("inches ## units")}}

// tongues are the languages and units a new shop can be read in, each said in its own
// language: whoever reads them need not know the one that the screen happens to be in.
func (s *server) tongues(r *room) *views.Tongues {
	all := &views.Tongues{}
	for _, l := range tongues.Languages() {
		say := s.views.In(l.Code).Say
		all.Ask = append(all.Ask, views.Spoken{Code: l.Code, Text: say.Say("Language and units")})
		for _, u := range unitNames {
			all.Choices = append(all.Choices, views.TongueChoice{Language: l.Code, Units: u.units, Name: l.Name + " · " + say.Phrase(u.name.Of()),
				Current: l.Code == r.snap.Shop.Language && u.units == r.snap.Shop.Units})
		}
	}
	return all
}

// saveTongue takes the shop's language and units from its first screen. What the shop
// was fitted out with follows: its names are kept in English and said in its language,
// until somebody types another.
func (s *server) saveTongue(c *gin.Context) {
	snap, err := s.snapshot(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	in, err := s.reader(c)
	if err == nil {
		shop := snap.Shop
		shop.Language, shop.Units = in.text("language"), in.text("units")
		err = s.store.SaveShop(c.Request.Context(), shop)
	}
	if err != nil {
		s.fail(c, err)
		return
	}
	seeOther(c, "/")
}
