package handlers

import (
	"mime"
	"net/http"
	"time"

	"github.com/gin-gonic/gin"

	"faceside/handlers/csvtable"
	"faceside/models"
	"faceside/models/phrase"
)

// csvType is that of RFC 4180 and RFC 7111.
const csvType = "text/csv; charset=utf-8; header=present"

// csvAsked reads how the table is to be written: for programs, or for a spreadsheet as
// the shop's language has it.
func (w words) csvAsked(c *gin.Context) (csvtable.Form, error) {
	f := csvtable.Form{Comma: ',', Decimal: ".", Time: time.RFC3339, Zone: w.now.Location()}
	switch text := c.Query("for"); text {
	case "":
	case "spreadsheet":
		f.Mark, f.Time = true, "2006-01-02 15:04"
		if f.Decimal = w.figure("."); f.Decimal == "," {
			f.Comma = ';'
		}
	default:
		return f, &models.Error{Code: models.Invalid, Field: "for", Value: text,
			Sentence: phrase.Of("for: %q is not known; leave it out, or write spreadsheet.", text)}
	}
	return f, nil
}

// sendTable answers with a table as a file.
func (s *server) sendTable(c *gin.Context, t csvtable.Table) {
	form, err := s.words(c).csvAsked(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	text, err := form.Write(t)
	if err != nil {
		s.fail(c, err)
		return
	}
	c.Header("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": t.Name + ".csv"}))
	s.send(c, http.StatusOK, csvType, text)
}
