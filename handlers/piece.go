package handlers

import (
	"cmp"
	"errors"
	"strconv"

	"faceside/models"
	"faceside/models/pattern"
	"faceside/models/phrase"
	"faceside/models/planner"
	"faceside/views"
)

// viewNames says from where a view of a piece is seen.
var viewNames = map[string]phrase.Key{"front": "Front", "side": "Side, from the right"}

// piece draws a built piece with its sizes in the shop's units; narrow is for a
// column beside a form.
func (w words) piece(built *pattern.Built, narrow bool) views.Drawing {
	if len(built.Views) == 0 {
		return views.Drawing{Wrong: w.say("There is no drawing: the pattern of %s has none.", built.Title)}
	}
	drawing := views.PieceDrawing{Say: w.speaker, Title: w.shipped(built.Title), Narrow: narrow, Views: w.pieceViews(built)}
	svg, err := drawing.SVG()
	if err != nil {
		return views.Drawing{Wrong: w.say("There is no drawing: %s", w.sentence(err))}
	}
	return views.Drawing{SVG: svg}
}

// pieceViews are a built piece from its several sides.
func (w words) pieceViews(built *pattern.Built) []views.PieceView {
	names := map[string]string{}
	for _, p := range built.Parts {
		names[p.Key] = w.shipped(p.Name)
	}
	var all []views.PieceView
	for _, v := range built.Views {
		all = append(all, w.pieceView(v, names))
	}
	return all
}

func (w words) pieceView(v pattern.View, names map[string]string) views.PieceView {
	out := views.PieceView{Name: w.tell(viewNames[v.Name].Of()), Width: v.Width.Millimetres(), Height: v.Height.Millimetres()}
	for _, s := range v.Shapes {
		part := views.DrawnPart{Key: s.Part, Name: names[s.Part], Hidden: s.Hidden,
			X: s.X.Millimetres(), Y: s.Y.Millimetres(), W: s.W.Millimetres(), H: s.H.Millimetres()}
		for _, p := range s.Points {
			part.Points = append(part.Points, [2]float64{p.X.Millimetres(), p.Y.Millimetres()})
		}
		out.Parts = append(out.Parts, part)
	}
	for _, d := range v.Dimensions {
		out.Sizes = append(out.Sizes, views.PieceSize{Name: w.shipped(d.Name), Text: w.length(d.To - d.From), Upright: d.Upright,
			From: d.From.Millimetres(), To: d.To.Millimetres()})
	}
	return out
}

// rebuild builds a stored piece once more for its drawing and its measures, in a
// shop that can do everything: that a machine was sold since does not take them
// away. wrong says why that is not possible.
func (s *server) rebuild(r *room, p *models.Piece) (built *pattern.Built, wrong string) {
	if p.Pattern == "" {
		return nil, r.say.say("There is no drawing: the piece was not made from a pattern.")
	}
	if s.library.Pattern(p.Pattern) == nil {
		return nil, r.say.say("There is no drawing: the pattern %q is not here any more.", p.Pattern)
	}
	shop, here := s.library.GenerousShop(), planner.PatternShop(r.snap)
	shop.Units, shop.Fraction = here.Units, here.Fraction
	shop.Glues, shop.Finishes = append(here.Glues, shop.Glues...), append(here.Finishes, shop.Finishes...)
	built, err := s.library.Build(pattern.Input{Pattern: p.Pattern, Measures: p.Measures, Choices: p.Choices}, shop)
	if err != nil {
		return nil, r.say.say("There is no drawing: the pattern no longer gives this piece. %s", r.say.firstReason(err))
	}
	return built, ""
}

// madeFrom says the measures and choices of a piece in the pattern's order, e.g.
// "Length of the seat": "1200 mm", "Finish": "Shellac".
func (w words) madeFrom(built *pattern.Built) []views.Made {
	var all []views.Made
	for _, m := range built.Measures {
		value := w.figure(strconv.FormatFloat(m.Number, 'f', -1, 64))
		if m.IsLength {
			value = w.length(m.Length)
		}
		all = append(all, views.Made{Name: w.shipped(m.Name), Value: value})
	}
	for _, c := range built.Choices {
		all = append(all, views.Made{Name: w.shipped(c.Name), Value: w.shipped(cmp.Or(c.OptionName, c.Option))})
	}
	return all
}

// firstReason is the first thing wrong with the input of a pattern.
func (w words) firstReason(err error) string {
	var one *pattern.FieldError
	if errors.As(err, &one) {
		return w.patternSays(one)
	}
	return w.sentence(err)
}
