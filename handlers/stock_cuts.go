package handlers

import (
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"
	"github.com/google/uuid"

	"faceside/models"
	"faceside/models/phrase"
	"faceside/models/stock"
	"faceside/models/wood"
	"faceside/views"
)

// sawCaution stands before every list of cuts (common practice, no source).
var sawCaution = phrase.Key("Guard and riving knife on, push stick in reach, nobody behind the blade. Short and narrow pieces need the jig the saw's manual asks for. Check each measure before the cut.")

// cuts is the screen of the cutting plan.
func (s *server) cuts(c *gin.Context) {
	s.showCuts(c, http.StatusOK, c.Request.URL.Query(), "")
}

// showCuts shows the plan that a form asks for, with what an action has to say.
func (s *server) showCuts(c *gin.Context, status int, asked url.Values, notice string) {
	r, err := s.room(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	in := newReader(asked, r.say)
	data := views.Cuts{Nav: views.StockNav{At: "cuts"}, Form: r.cutsForm(in.form), Caution: r.say.tell(sawCaution.Of()), Notice: notice,
		For: r.say.say("For all open commissions: what is not cut yet, out of the boards on hand.")}
	q := r.cutQuestion(in)
	if com := r.snap.Commission(q.commission); com != nil {
		data.For = s.words(c).say("For %s: what is not cut yet, out of the boards on hand.", com.Name)
	}
	if err = in.err(); err != nil {
		status, data.Refuse = formStatus(err), r.say.say("There is no plan. %s", r.say.reasons(in))
		data.Form.Notice = s.words(c).blame(data.Form.Fields, err)
	} else if err = s.planCuts(c, r, q, &data); err != nil {
		s.fail(c, err)
		return
	}
	s.page(c, status, "stock-cuts", s.words(c).say("Cutting plan"), data)
}

// cutsForm asks how to saw, with what was typed, or what is usual.
func (r *room) cutsForm(typed url.Values) views.Form {
	commissions := options(r.say.say("all that are open"), r.snap.Commissions, func(com *models.Commission) (models.ID, string) { return com.ID, com.Name })
	form := views.Form{ID: "cuts-form", Action: "/stock/cuts", Save: r.say.say("Plan the cuts"), Fields: []views.Field{
		{Name: "commission", Label: r.say.say("Commission"), Kind: "select", Options: commissions},
		{Name: "kerf", Label: r.say.say("Kerf"), Kind: "text", Value: r.say.length(stock.UsualRules.Kerf), Help: r.say.say("What one cut takes: measure your blade.")},
		{Name: "end_trim", Label: r.say.say("Off each end"), Kind: "text", Value: r.say.length(stock.UsualRules.EndTrim), Help: r.say.say("For checks in the ends, kerf included.")},
		{Name: "match", Label: r.say.say("match equal parts in colour"), Kind: "check",
			Help: r.say.say("Equal parts come from one board, else from one log. Groups made on a cut list always do.")},
	}}
	for i := range form.Fields {
		if f := &form.Fields[i]; typed.Has(f.Name) {
			f.Value = typed.Get(f.Name)
		}
	}
	return form
}

// cutQuestion reads the form; what was not asked is as usual.
func (r *room) cutQuestion(in *reader) cutQuestion {
	q := cutQuestion{revision: r.snap.Shop.Revision, kerf: stock.UsualRules.Kerf, trim: stock.UsualRules.EndTrim, match: in.check("match"), work: planWork}
	for _, f := range []struct {
		name string
		into *wood.Length
		most wood.Length
	}{{"kerf", &q.kerf, 50 * wood.Millimetre}, {"end_trim", &q.trim, 500 * wood.Millimetre}} {
		if !in.form.Has(f.name) {
			continue
		}
		*f.into = in.length(f.name, *f.into)
		if *f.into < 0 || *f.into > f.most {
			in.refuse(f.name, "%s is not between 0 and %s.", in.text(f.name), f.most)
		}
	}
	if id := in.record("commission"); id != nil {
		q.commission = *id
		if r.snap.Commission(*id) == nil {
			in.refuse("commission", "There is no open commission with number %d.", *id)
		}
	}
	return q
}

// planCuts makes the plan and tells it.
func (s *server) planCuts(c *gin.Context, r *room, q cutQuestion, data *views.Cuts) error {
	a, err := s.cutAnswer(c.Request.Context(), q, r)
	if err != nil {
		return err
	}
	w := s.stockWords(r)
	data.Wrong = w.toldAll(a.list.Wrong)
	boards, pieces, short := 0, 0, 0
	var used, parts, kept float64
	for i, p := range a.problems {
		plan, told := a.plans[i], w.cutStock(p, a.plans[i], a.refused[i], a.lines)
		if len(plan.Layouts) > 0 {
			if told.Plan, err = sentPlanOf(p, plan).encode(); err != nil {
				return err
			}
			told.Only, data.Booked = strconv.Itoa(data.Booked), data.Booked+1
		}
		data.Stocks = append(data.Stocks, told)
		boards += len(plan.Layouts)
		used, parts, kept = used+plan.BoardArea(), parts+plan.PartArea(), kept+plan.KeptArea()
		for _, piece := range p.Pieces {
			pieces += piece.Quantity
		}
		for _, sh := range plan.Short {
			short += sh.Quantity
		}
	}
	data.FormID, data.Keep = uuid.NewString(), w.face(stock.UsualRules.KeepLength, stock.UsualRules.KeepWidth)
	data.Totals = []string{r.say.say("%d of %s ## parts", pieces-short, phrase.Of("%d parts", pieces)), r.say.say("%d boards cut into", boards)}
	if used > 0 {
		data.Totals = append(data.Totals, w.waste(1-parts/used, kept/used))
	}
	for _, l := range a.lines {
		if l.TooThick {
			data.Wrong = append(data.Wrong, r.say.say("“%s” of %s is not planned: no stock is sold thick enough, so it is glued up from thinner boards.", l.Name, l.Commission))
		}
	}
	if a.hurried {
		data.Wrong = append(data.Wrong, r.say.say("The server was too busy to look as long as usual; asked again, it may find a better plan."))
	}
	return nil
}

// cutStock tells the plan for one stock.
func (w stockWords) cutStock(p stock.Problem, plan stock.Plan, refused error, lines []stock.Line) views.CutStock {
	out := views.CutStock{Name: w.stock(p.Stock.Species, p.Stock.Quarter, p.Stock.Thickness)}
	if refused != nil {
		out.Wrong = w.say("There is no plan: %s", ended(w.faults(refused)))
		return out
	}
	tell := cutTeller{stockWords: w, kerf: p.Rules.Kerf, letters: map[string]string{}, pieces: map[string]stock.Piece{}, from: map[string]string{}}
	for _, l := range lines {
		tell.from[l.Commission+"/"+l.Part] = l.Commission
	}
	cut := map[string]int{}
	for _, l := range plan.Layouts {
		for _, placed := range l.Placed {
			cut[placed.Piece]++
		}
	}
	for _, piece := range p.Pieces {
		tell.pieces[piece.Key] = piece
		if cut[piece.Key] == 0 {
			continue
		}
		tell.letters[piece.Key] = letters(len(out.Parts))
		out.Parts = append(out.Parts, views.CutPart{Letter: tell.letters[piece.Key], Count: cut[piece.Key], Name: piece.Name,
			Size: w.face(piece.Length, piece.Width), Commission: tell.from[piece.Key]})
	}
	for _, sh := range plan.Short {
		piece := tell.pieces[sh.Piece]
		out.Short = append(out.Short, w.say("%d × %s, %s, of %s: %s", sh.Quantity, piece.Name, w.face(piece.Length, piece.Width), tell.from[sh.Piece], ended(w.told(sh.Why))))
	}
	if len(plan.Layouts) > 0 {
		out.Facts = []string{w.waste(plan.Waste(), plan.KeptArea()/plan.BoardArea()), w.bound(plan)}
	}
	out.Together, out.Apart = w.matched(plan.Matched, lines)
	var longest, widest wood.Length
	for _, l := range plan.Layouts {
		longest, widest = max(longest, l.Board.Length), max(widest, l.Board.Width)
	}
	for _, l := range plan.Layouts {
		out.Boards = append(out.Boards, tell.board(l, longest, widest))
	}
	return out
}

// matched says how the parts that are to match lie, and which do not match.
func (w words) matched(matched []stock.Matched, lines []stock.Line) (match, apart []string) {
	for _, m := range matched {
		i := slices.IndexFunc(lines, func(l stock.Line) bool { return l.Match == m.Match })
		if i < 0 {
			continue
		}
		name := lines[i].Group
		if name == "" {
			name = lines[i].Name
		}
		name = w.say("“%s” of %s", name, lines[i].Commission)
		boards := strings.Join(m.Boards, ", ")
		switch m.How {
		case stock.OneBoard:
			match = append(match, w.say("%s: all from board %s", name, boards))
		case stock.Following:
			match = append(match, w.say("%s: from boards %s, which follow each other in one log; no one board holds them", name, boards))
		case stock.OneLog:
			match = append(match, w.say("%s: from boards %s of one log, though not beside each other in it", name, boards))
		default:
			apart = append(apart, w.say("%s: from boards %s. No board on hand, and no log, holds them all.", name, boards))
		}
	}
	return match, apart
}

// waste says what share of the boards becomes no part, and how much of it is kept.
func (w words) waste(all, kept float64) string {
	return w.say("waste %s of the boards: %s offcuts worth keeping, %s lost", w.percent(all), w.percent(kept), w.percent(max(0, all-kept)))
}

// bound says how good a plan is.
func (w stockWords) bound(plan stock.Plan) string {
	if plan.Gap() < 0.0005 {
		return w.say("takes %s of board, and no plan can do with less", w.area(plan.BoardArea()))
	}
	return w.say("takes %s of board; no plan can do with less than %s, so this one is at most %s above the best",
		w.area(plan.BoardArea()), w.area(plan.Bound.Boards), w.percent(plan.Gap()))
}

// ended is a sentence with its full stop.
func ended(sentence string) string { return strings.TrimSuffix(sentence, ".") + "." }

// letters numbers parts as A to Z, then AA, AB and so on.
func letters(n int) string {
	if n < 26 {
		return string(rune('A' + n))
	}
	return letters(n/26-1) + letters(n%26)
}
