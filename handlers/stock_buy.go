package handlers

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"

	"github.com/gin-gonic/gin"
	"github.com/google/uuid"

	"faceside/models/phrase"
	"faceside/models/stock"
	"faceside/models/wood"
	"faceside/views"
)

// buying is how to buy: what share of it becomes parts, and what boards a yard has.
type buying struct {
	yield         stock.Yield
	length, width wood.Length // 0 for not asked
}

// toBuy is the screen of what to buy for all open commissions.
func (s *server) toBuy(c *gin.Context) {
	r, err := s.room(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	in := newReader(c.Request.URL.Query(), r.say)
	data := views.ToBuy{Nav: views.StockNav{At: "buy"}, Form: r.say.buyForm(in.form)}
	how := buyingOf(in)
	status := http.StatusOK
	if err = in.err(); err != nil {
		status, data.Refuse = formStatus(err), r.say.say("There is no list. %s", r.say.reasons(in))
		data.Form.Notice = s.words(c).blame(data.Form.Fields, err)
	} else if err = s.listToBuy(c, r, how, &data); err != nil {
		s.fail(c, err)
		return
	}
	s.pageOrPart(c, status, "stock-buy", "to-buy", s.words(c).say("Boards to buy"), data)
}

// buyForm asks for the yield and the boards of the yard.
func (w words) buyForm(typed url.Values) views.Form {
	form := views.Form{ID: "buy-form", Action: "/stock/buy", Save: w.say("Work it out"), Fields: []views.Field{
		{Name: "boards", Label: w.say("Yield of boards, %%"), Kind: "text", Mode: "decimal", Value: w.figure(oneDecimal(100 * stock.UsualYield.Boards)), Help: w.say("How much of rough boards becomes parts: ends, edges, kerf and knots are lost.")},
		{Name: "sheets", Label: w.say("Yield of sheets, %%"), Kind: "text", Mode: "decimal", Value: w.figure(oneDecimal(100 * stock.UsualYield.Sheets))},
		{Name: "length", Label: w.say("The yard's boards: length"), Kind: "text", Help: w.say("To say about how many. Empty: not asked.")},
		{Name: "width", Label: w.say("The yard's boards: width"), Kind: "text"},
	}}
	for i := range form.Fields {
		if f := &form.Fields[i]; typed.Has(f.Name) {
			f.Value = typed.Get(f.Name)
		}
	}
	return form
}

// buyingOf reads the form; what was not asked is as usual.
func buyingOf(in *reader) buying {
	how := buying{yield: stock.UsualYield, length: in.length("length", 0), width: in.length("width", 0)}
	for _, f := range []struct {
		name string
		into *float64
	}{{"boards", &how.yield.Boards}, {"sheets", &how.yield.Sheets}} {
		if !in.form.Has(f.name) {
			continue
		}
		pct := in.number(f.name)
		if !(pct >= 1 && pct <= 100) && !in.refused(f.name) {
			in.refuse(f.name, "%q is not between 1 and 100 %%.", in.text(f.name))
		}
		*f.into = pct / 100
	}
	for _, f := range []struct{ name, other string }{{"length", "width"}, {"width", "length"}} {
		if in.text(f.name) == "" && in.text(f.other) != "" {
			in.refuse(f.name, "Give the %s too, or leave both empty.", f.name)
		}
	}
	for _, f := range []struct {
		name string
		of   wood.Length
	}{{"length", how.length}, {"width", how.width}} {
		if in.text(f.name) != "" && !in.refused(f.name) && f.of <= 0 {
			in.refuse(f.name, "The %s %s is not more than 0.", f.name, in.text(f.name))
		}
	}
	return how
}

// listToBuy holds what is to be cut against the rack, and lists what is missing.
func (s *server) listToBuy(c *gin.Context, r *room, how buying, data *views.ToBuy) error {
	ctx := c.Request.Context()
	q := cutQuestion{revision: r.snap.Shop.Revision, kerf: stock.UsualRules.Kerf, trim: stock.UsualRules.EndTrim, work: buyWork}
	a, err := s.cutAnswer(ctx, q, r)
	if err != nil {
		return err
	}
	w := s.stockWords(r)
	data.Wrong = append(data.Wrong, w.toldAll(a.list.Wrong)...)
	missing := stock.ShortLines(a.lines, a.plans...)
	for i, p := range a.problems {
		if a.refused[i] != nil { // nothing of it can be planned, so all of it is to be bought
			data.Wrong = append(data.Wrong, ended(capital(w.told(phrase.Of("%s: %s", p.Stock, w.faults(a.refused[i]))))))
			missing = append(missing, linesOf(p.Stock, a.lines)...)
		}
	}
	all, err := stock.ToBuy(a.lines, how.yield)
	if err != nil {
		return fmt.Errorf("work out what all takes: %w", err)
	}
	buy, err := stock.ToBuy(missing, how.yield)
	if err != nil {
		return fmt.Errorf("work out what to buy: %w", err)
	}
	byStock := map[stock.Stock]stock.Purchase{}
	for _, p := range buy {
		byStock[stockOf(p)] = p
	}
	feet, area := 0.0, 0.0
	for _, p := range all {
		short := byStock[stockOf(p)]
		row, err := w.purchase(p, short, how, r.snap.Shop.Units)
		if err != nil {
			return err
		}
		data.Rows = append(data.Rows, row)
		if p.Sheet {
			area += short.Buy
		} else {
			feet += short.Buy
		}
	}
	data.Totals = w.totals(feet, area)
	for _, l := range a.lines {
		if l.TooThick {
			_, rough := w.lineSizes(l)
			data.Thick = append(data.Thick, r.say.say("%d × %s of %s, %s rough", l.Quantity, l.Name, l.Commission, rough))
		}
	}
	return nil
}

// stockOf is the stock that a purchase is of.
func stockOf(p stock.Purchase) stock.Stock {
	if p.Sheet {
		return stock.Stock{Species: p.Species, Thickness: p.Thickness}
	}
	return stock.Stock{Species: p.Species, Quarter: p.Quarter}
}

// linesOf is the lines that are cut from one stock.
func linesOf(of stock.Stock, lines []stock.Line) []stock.Line {
	var out []stock.Line
	for _, l := range lines {
		if l.Species == of.Species && l.Quarter == of.Quarter && !l.TooThick && (!l.Sheet || l.Finished.Thickness == of.Thickness) {
			out = append(out, l)
		}
	}
	return out
}

func (w stockWords) totals(feet, area float64) []string {
	var all []string
	if feet > 0 {
		all = append(all, w.say("%s of boards", w.boardFeet(feet)))
	}
	if area > 0 {
		all = append(all, w.say("%s of sheets", w.area(area)))
	}
	if len(all) == 0 {
		return []string{w.say("Nothing: the boards on hand give all parts.")}
	}
	return all
}

// purchase tells one stock: all that is needed of it, and what is short.
func (w stockWords) purchase(p, short stock.Purchase, how buying, units string) (views.PurchaseRow, error) {
	row := views.PurchaseRow{
		Name:   w.stock(p.Species, p.Quarter, p.Thickness),
		Needed: w.say("%d parts, %s rough", p.Pieces, w.measure(p.Sheet, p.Net, p.Net)),
		OnHand: w.say("on hand for %d of them", p.Pieces-short.Pieces),
	}
	if short.Pieces == 0 {
		row.OnHand = w.say("on hand for all of them")
		return row, nil
	}
	if short.Pieces == p.Pieces {
		row.OnHand = w.say("none of them on hand")
	}
	row.Buy = w.measure(p.Sheet, short.Buy, short.Buy)
	row.Least = w.say("for %d parts; the longest part takes %s, the widest %s", short.Pieces, w.length(short.Longest), w.length(short.Widest))
	length, width := how.length, how.width
	if length == 0 {
		length, width = usualFace(short, units)
	}
	n, err := short.BoardsOf(length, width)
	if err != nil {
		return row, fmt.Errorf("count the boards: %w", err)
	}
	if how.length > 0 {
		row.Boards = w.say("about %d of %s", n, w.face(length, width))
		if length < short.Longest || width < short.Widest {
			row.Boards = w.say("%s, too small for some parts", row.Boards)
		}
	}
	row.Bought = &views.Bought{FormID: uuid.NewString(), Species: p.Species, Quarter: p.Quarter, Count: strconv.Itoa(n),
		Length: w.length(length), Width: w.length(width)}
	if p.Sheet {
		row.Bought.Thickness = w.length(p.Thickness)
	}
	return row, nil
}

// usualFace is a usual size of boards, or of sheets, that every part which is short can
// be cut from, in a round measure of the shop.
func usualFace(short stock.Purchase, units string) (length, width wood.Length) {
	of, grid := stock.UsualBoard, 10*wood.Millimetre
	if short.Sheet {
		of = stock.UsualSheet
	}
	if units == wood.Inches {
		grid = wood.Inch
	}
	round := func(l wood.Length) wood.Length { return (l + grid - 1) / grid * grid }
	return round(max(of.Length, short.Longest+2*stock.UsualRules.EndTrim)), round(max(of.Width, short.Widest))
}
