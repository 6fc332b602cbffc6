package handlers

import (
	"errors"
	"fmt"
	"net/http"
	"strconv"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/pattern"
	"faceside/models/phrase"
	"faceside/models/planner"
	"faceside/views"
)

// keepForm asks under what title a piece of a commission is to be kept.
func (s *server) keepForm(c *gin.Context) {
	k, err := s.keepingOf(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	s.page(c, http.StatusOK, "pattern-keep", s.words(c).say("Keep as a pattern"), s.keepPage(k))
}

// keepPiece keeps a piece of a commission as a pattern of the shop's own.
func (s *server) keepPiece(c *gin.Context) {
	k, err := s.keepingOf(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	in, err := s.reader(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	if err = s.keep(c, k, in); err == nil {
		seeOther(c, "/patterns")
		return
	}
	data := s.keepPage(k)
	s.words(c).refuse(&data.Form, in.form, err)
	if fileError(err) != nil {
		data.Wrong, data.Form.Notice = s.words(c).patternWrong(err), ""
		s.page(c, http.StatusUnprocessableEntity, "pattern-keep", s.words(c).say("Keep as a pattern"), data)
		return
	}
	var many *pattern.Errors
	if errors.As(err, &many) {
		data.Form.Notice = ""
		for _, one := range many.List {
			if f := fieldNamed(data.Form.Fields, one.Field); f != nil {
				f.Error = capital(s.words(c).patternSays(one)) + "."
			} else {
				data.Form.Notice += capital(s.words(c).patternSays(one)) + ". "
			}
		}
		s.page(c, http.StatusUnprocessableEntity, "pattern-keep", s.words(c).say("Keep as a pattern"), data)
		return
	}
	s.page(c, formStatus(err), "pattern-keep", s.words(c).say("Keep as a pattern"), data)
}

// keeping is a commission of which a piece is to be kept.
type keeping struct {
	snap  *models.Snapshot
	com   *models.Commission
	say   words
	found []found // by the checks
}

func (s *server) keepingOf(c *gin.Context) (*keeping, error) {
	snap, com, err := s.commissionRead(c)
	if err != nil {
		return nil, err
	}
	all, err := findingsOf(snap)
	if err != nil {
		return nil, err
	}
	return &keeping{snap: snap, com: com, say: s.words(c), found: all}, nil
}

func (s *server) keepPage(k *keeping) views.KeepPattern {
	data := views.KeepPattern{Name: k.com.Name, Href: commissionHref(k.com.ID)}
	data.Form = views.Form{ID: "keep", Action: commissionHref(k.com.ID) + "/keep", Save: k.say.say("Keep the pattern"), Fields: []views.Field{
		{Name: "title", Label: k.say.say("Title of the pattern"), Kind: "text", Value: k.com.Name, Help: k.say.say("Shown when a new commission is taken; at most 80 signs.")},
	}}
	if len(k.snap.Pieces) > 1 {
		data.Form.Fields = append(data.Form.Fields, views.Field{Name: "piece", Label: k.say.say("Piece"), Kind: "select",
			Value: strconv.FormatInt(k.snap.Pieces[0].ID, 10), Options: pieceOptions(k.snap.Pieces)})
	}
	changed := false
	for i := range k.snap.Pieces {
		data.Pieces = append(data.Pieces, s.keptPiece(k, &k.snap.Pieces[i], k.found))
		changed = changed || len(data.Pieces[i].Changes) > 0
	}
	if changed {
		data.Form.Fields = append(data.Form.Fields, views.Field{Name: "carry", Label: k.say.say("Carry what was changed by hand"), Kind: "check", Value: "on",
			Help: k.say.say("Else the steps are those that the pattern makes by itself.")})
	}
	return data
}

// keep writes the pattern and puts it on the shelf.
func (s *server) keep(c *gin.Context, k *keeping, in *reader) error {
	piece := &k.snap.Pieces[0]
	if id := in.record("piece"); id != nil {
		if piece = k.snap.Piece(*id); piece == nil {
			return &models.Error{Code: models.NotFound, Field: "piece", Sentence: phrase.Of("“%s” has no such piece.", k.com.Name)}
		}
	}
	if err := in.err(); err != nil {
		return err
	}
	title := in.text("title")
	own, _, err := s.library.own(c.Request.Context())
	if err != nil {
		return err
	}
	name := patternKey(title, func(k string) bool {
		for _, o := range own {
			if o.Key == k {
				return true
			}
		}
		return s.library.Pattern(k) != nil
	})
	var changes *pattern.Changes
	if in.check("carry") {
		if changes, err = s.changesOf(k.snap, piece); err != nil {
			return err
		}
	}
	data, err := s.library.Keep(inputOf(piece), planner.PatternShop(k.snap), name, title, changes)
	if err != nil {
		return err
	}
	p, err := s.library.add(c.Request.Context(), name+".yaml", data)
	if err != nil {
		return fmt.Errorf("keep %q as a pattern: %w", piece.Name, err)
	}
	s.log.Info("pattern kept", "key", p.Key, "from", piece.Pattern)
	return nil
}

// patternKeyLength is how long a pattern's key is made of its title, so that a
// number may be set behind it.
const patternKeyLength = 36

// patternKey makes a pattern's key of its title.
func patternKey(title string, taken func(string) bool) string {
	base := key(title, "pattern", func(string) bool { return false })
	if base[0] >= '0' && base[0] <= '9' {
		base = "pattern-" + base
	}
	if len(base) > patternKeyLength {
		base = base[:patternKeyLength]
	}
	return key(base, "pattern", taken)
}
