package pattern

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What a shop has of its own on the shelf can be chosen in every shipped piece,
// and is called there what the shop calls it.
func TestTheShopsOwnGlueAndFinishAreOffered(t *testing.T) {
	l := library(t)
	shop := smallShop(l)
	glue := Glue{Key: "fish-glue", Name: "Fish glue", OpenMin: 15, ClampMin: 720, CureMin: 2880, LeastTempC: 18}
	finish := Finish{Key: "hard-wax", Name: "Hard wax", DryMin: 300, RecoatLeastMin: 600, CureMin: 14400, LeastTempC: 10}
	shop.Glues, shop.Finishes = append(shop.Glues, glue), append(shop.Finishes, finish)
	shop.Glues[0].Name = "White glue, the blue bottle"
	for _, p := range l.Patterns() {
		if !p.Piece {
			continue
		}
		form, err := l.Form(Input{Pattern: p.Key}, shop)
		require.NoError(t, err, p.Key)
		in := Input{Pattern: p.Key, Choices: map[string]string{}}
		names := map[string]string{}
		for _, c := range form.Choices {
			own := map[string]string{"glues": glue.Key, "finishes": finish.Key}[c.From]
			if own == "" {
				continue
			}
			in.Choices[c.Key] = own
			for _, o := range c.Options {
				names[o.Key] = o.Name
			}
			assert.Contains(t, names, own, "%s: %s", p.Key, c.Name)
		}
		if names[shop.Glues[0].Key] != "" {
			assert.Equal(t, shop.Glues[0].Name, names[shop.Glues[0].Key], p.Key)
		}
		piece, err := l.Build(in, shop)
		require.NoError(t, err, p.Key)
		for _, c := range piece.Choices {
			if own := in.Choices[c.Key]; own != "" {
				assert.Equal(t, []string{own, names[own]}, []string{c.Option, c.OptionName}, p.Key)
			}
		}
		used := map[string]bool{}
		for _, st := range piece.Steps {
			used[st.Glue], used[st.Finish] = true, true
		}
		for _, own := range in.Choices {
			assert.True(t, used[own], "%s is made with %s", p.Key, own)
		}
	}
}
