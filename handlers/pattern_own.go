package handlers

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"path"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/views"
)

// ownPatternsPath is where they are listed, and a file of one is sent.
const ownPatternsPath = "/patterns"

// patternLimit is the largest pattern file that is taken, in bytes; the whole
// form stays under bodyLimit.
const patternLimit = 200 << 10

// ownPatterns lists the shop's own patterns and the shipped ones.
func (s *server) ownPatterns(c *gin.Context) {
	s.showPatterns(c, http.StatusOK, func(*views.OwnPatterns) {})
}

// showPatterns shows the list, with what an action has to say put into it.
func (s *server) showPatterns(c *gin.Context, status int, say func(*views.OwnPatterns)) {
	r, err := s.room(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	own, wrong, err := s.library.own(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	data := views.OwnPatterns{Limit: fmt.Sprintf("%d kB", patternLimit>>10)}
	kept := map[string]bool{}
	for _, o := range own {
		kept[o.Key] = true
		row := views.OwnPattern{Key: o.Key, Title: o.Title, Kept: r.say.say("kept %s ## a pattern", r.say.at(o.MadeAt)), File: patternFileHref(o.Key), Remove: "/patterns/" + o.Key + "/remove"}
		if err := wrong[o.Key]; err != nil {
			row.Wrong = r.say.patternWrong(err)
		} else if p := s.library.Pattern(o.Key); p != nil && p.Piece {
			row.Take = draftHref(o.Key)
		}
		data.Own = append(data.Own, row)
	}
	for _, p := range s.library.Patterns() {
		if !kept[p.Key] {
			data.Shipped = append(data.Shipped, views.OwnPattern{Key: p.Key, Title: r.say.shipped(p.Title), File: patternFileHref(p.Key), Take: draftHref(p.Key)})
		}
	}
	say(&data)
	s.page(c, status, "pattern-own", s.words(c).say("Patterns"), data)
}

func patternFileHref(key string) string { return "/patterns/" + key + "/file" }

// patternWrong says what is wrong with a pattern file, and where.
func (w words) patternWrong(err error) *views.FileWrong {
	at := fileError(err)
	if at == nil {
		return &views.FileWrong{Reason: w.sentence(err)}
	}
	wrong := &views.FileWrong{File: at.File, Field: at.Field, Reason: capital(at.Reason) + "."}
	if at.Line > 0 {
		wrong.Place = w.say("line %d, column %d", at.Line, at.Column)
	}
	return wrong
}

// importPattern takes a pattern file in. What is refused is not kept.
func (s *server) importPattern(c *gin.Context) {
	name, data, err := patternFile(c)
	if err == nil {
		var took string
		if p, addErr := s.library.add(c.Request.Context(), name, data); addErr != nil {
			err = addErr
		} else {
			took = p.Key
			s.log.Info("pattern kept", "key", took, "bytes", len(data))
			seeOther(c, "/patterns#"+took)
			return
		}
	}
	status := http.StatusUnprocessableEntity
	if fileError(err) == nil {
		status = statusOf(err)
	}
	s.showPatterns(c, status, func(data *views.OwnPatterns) { data.Wrong = s.words(c).patternWrong(err) })
}

// patternFile reads the file that was sent.
func patternFile(c *gin.Context) (name string, data []byte, err error) {
	header, err := c.FormFile("file")
	if err != nil {
		var tooBig *http.MaxBytesError
		if errors.As(err, &tooBig) {
			return "", nil, tooLarge()
		}
		return "", nil, &models.Error{Code: models.Invalid, Field: "file", Sentence: phrase.Of("Choose a pattern file first.")}
	}
	if header.Size > patternLimit {
		return "", nil, tooLarge()
	}
	file, err := header.Open()
	if err != nil {
		return "", nil, fmt.Errorf("open the file that was sent: %w", err)
	}
	defer func() { err = errors.Join(err, file.Close()) }()
	data, err = io.ReadAll(io.LimitReader(file, patternLimit+1))
	if err != nil {
		return "", nil, fmt.Errorf("read the file that was sent: %w", err)
	}
	return path.Base(header.Filename), data, nil
}

func tooLarge() error {
	return &models.Error{Code: models.Invalid, Field: "file", Sentence: phrase.Of("The file is larger than %d kB; nothing was kept.", patternLimit>>10)}
}

// exportPattern gives a pattern's file, own or shipped, to be saved.
func (s *server) exportPattern(c *gin.Context) {
	key := c.Param("key")
	var source []byte
	if p := s.library.Pattern(key); p != nil {
		source = p.Source()
	} else {
		own, _, err := s.library.own(c.Request.Context())
		if err != nil {
			s.fail(c, err)
			return
		}
		for _, o := range own {
			if o.Key == key {
				source = []byte(o.Source)
			}
		}
	}
	if source == nil {
		s.fail(c, &models.Error{Code: models.NotFound, Field: "pattern", Value: key, Sentence: phrase.Of("There is no pattern called %q.", key)})
		return
	}
	c.Header("Content-Disposition", fmt.Sprintf(`attachment; filename="%s.yaml"`, key))
	s.send(c, http.StatusOK, "application/yaml; charset=utf-8", source) // the type of RFC 9512
}

// removePattern removes one of the shop's own patterns.
func (s *server) removePattern(c *gin.Context) {
	if err := s.library.remove(c.Request.Context(), c.Param("key")); err != nil {
		s.showPatterns(c, statusOf(err), func(data *views.OwnPatterns) { data.Notice = s.words(c).sentence(err) })
		return
	}
	seeOther(c, "/patterns")
}
