package handlers

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"mime"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"faceside/models"
	"faceside/models/phrase"
)

// csvType is that of RFC 4180 and RFC 7111.
const csvType = "text/csv; charset=utf-8; header=present"

// csvTable is what a program or a spreadsheet reads: its columns have names that stay
// as they are, in every language. A cell is a text, a whole number, a number, or a time.
type csvTable struct {
	name    string // of the file, without its ending
	columns []string
	rows    [][]any
}

// csvForm is how a table is written.
type csvForm struct {
	comma   rune
	mark    bool   // a byte order mark, by which a spreadsheet knows UTF-8
	decimal string // the decimal sign
	time    string // layout
	zone    *time.Location
}

// csvAsked reads how the table is to be written: for programs, or for a spreadsheet as
// the shop's language has it.
func (w words) csvAsked(c *gin.Context) (csvForm, error) {
	f := csvForm{comma: ',', decimal: ".", time: time.RFC3339, zone: w.now.Location()}
	switch text := c.Query("for"); text {
	case "":
	case "spreadsheet":
		f.mark, f.time = true, "2006-01-02 15:04"
		if f.decimal = w.figure("."); f.decimal == "," {
			f.comma = ';'
		}
	default:
		return f, &models.Error{Code: models.Invalid, Field: "for", Value: text,
			Sentence: phrase.Of("for: %q is not known; leave it out, or write spreadsheet.", text)}
	}
	return f, nil
}

// sendTable answers with a table as a file.
func (s *server) sendTable(c *gin.Context, t csvTable) {
	form, err := s.words(c).csvAsked(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	text, err := form.write(t)
	if err != nil {
		s.fail(c, err)
		return
	}
	c.Header("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": t.name + ".csv"}))
	s.send(c, http.StatusOK, csvType, text)
}

func (f csvForm) write(t csvTable) ([]byte, error) {
	var out bytes.Buffer
	if f.mark {
		out.WriteString("\uFEFF")
	}
	w := csv.NewWriter(&out)
	w.Comma, w.UseCRLF = f.comma, true
	if err := w.Write(t.columns); err != nil {
		return nil, fmt.Errorf("write the columns of %s: %w", t.name, err)
	}
	for _, row := range t.rows {
		cells := make([]string, len(row))
		for i, cell := range row {
			cells[i] = f.cell(cell)
		}
		if err := w.Write(cells); err != nil {
			return nil, fmt.Errorf("write a row of %s: %w", t.name, err)
		}
	}
	w.Flush()
	return out.Bytes(), w.Error()
}

func (f csvForm) cell(cell any) string {
	switch cell := cell.(type) {
	case string:
		return harmless(cell)
	case float64:
		return strings.Replace(strconv.FormatFloat(cell, 'f', -1, 64), ".", f.decimal, 1)
	case time.Time:
		return cell.In(f.zone).Format(f.time)
	}
	return fmt.Sprint(cell)
}

// risky is what at the beginning of a cell a spreadsheet could take for a formula, by
// OWASP (ASVS 5.0, 1.2.10, and its page on CSV injection), wide forms too, and the
// apostrophe that is put before it.
const risky = "=+-@\t\r\n\x00＝＋－＠'"

// harmless puts an apostrophe before what is risky at the beginning of a text, and
// behind what would begin a new cell where a program separates by something else.
// Whoever takes those apostrophes out again has the text as it was.
func harmless(text string) string {
	var out strings.Builder
	begins := true
	for _, c := range strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(text) {
		if begins && strings.ContainsRune(risky, c) {
			out.WriteByte('\'')
		}
		out.WriteRune(c)
		begins = beginsCell(begins, c)
	}
	return out.String()
}

// beginsCell tells whether a cell could begin after a character.
func beginsCell(begins bool, c rune) bool {
	return strings.ContainsRune(",;\t\n", c) || begins && c == '"'
}
