package handlers

import (
	"bytes"
	"compress/gzip"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io"

	"faceside/models/stock"
	"faceside/models/wood"
)

// sentPlan is the plan of one stock as its page sends it back when the boards are cut:
// the server does not remember what it showed, and plans anew after every change.
type sentPlan struct {
	Stock   stock.Stock
	Kerf    wood.Length
	EndTrim wood.Length
	Pieces  []stock.Piece
	Layouts []stock.Layout
}

// sentLimit is the largest plan that is unpacked, in bytes: a thousand parts with their
// cuts take less.
const sentLimit = 4 << 20

func sentPlanOf(p stock.Problem, plan stock.Plan) sentPlan {
	s := sentPlan{Stock: p.Stock, Kerf: p.Rules.Kerf, EndTrim: p.Rules.EndTrim, Layouts: plan.Layouts}
	cut := map[string]int{}
	for _, l := range plan.Layouts {
		for _, part := range l.Placed {
			cut[part.Piece]++
		}
	}
	for _, piece := range p.Pieces {
		if piece.Quantity = cut[piece.Key]; piece.Quantity > 0 {
			piece.Match = "" // how they lie was said when it was shown
			s.Pieces = append(s.Pieces, piece)
		}
	}
	return s
}

// encode packs the plan into the text of a form's field.
func (s sentPlan) encode() (string, error) {
	var out bytes.Buffer
	zip := gzip.NewWriter(&out)
	err := json.NewEncoder(zip).Encode(s)
	if err == nil {
		err = zip.Close()
	}
	if err != nil {
		return "", fmt.Errorf("pack the plan of %s: %w", s.Stock, err)
	}
	return base64.RawURLEncoding.EncodeToString(out.Bytes()), nil
}

// readSentPlan unpacks a plan and checks that it can be sawn: nothing of it is taken on trust.
func readSentPlan(text string) (sentPlan, error) {
	var s sentPlan
	packed, err := base64.RawURLEncoding.DecodeString(text)
	if err != nil {
		return s, fmt.Errorf("the text: %w", err)
	}
	zip, err := gzip.NewReader(bytes.NewReader(packed))
	if err != nil {
		return s, fmt.Errorf("unpack: %w", err)
	}
	defer zip.Close()
	if err := json.NewDecoder(io.LimitReader(zip, sentLimit)).Decode(&s); err != nil {
		return s, fmt.Errorf("read: %w", err)
	}
	p := stock.Problem{Stock: s.Stock, Pieces: s.Pieces, Rules: cutRules(s.Kerf, s.EndTrim)}
	for _, l := range s.Layouts {
		p.Boards = append(p.Boards, l.Board)
	}
	if err := stock.Check(p, stock.Plan{Layouts: s.Layouts}); err != nil {
		return s, fmt.Errorf("it cannot be sawn: %w", err)
	}
	return s, nil
}
