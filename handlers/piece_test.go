package handlers

import (
	"encoding/xml"
	"errors"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models"
	"faceside/models/pattern"
	"faceside/models/wood"
)

// Every shipped piece is drawn in both units, well-formed, with its main sizes, and
// with something of every part that can be seen.
func TestEveryShippedPieceIsDrawn(t *testing.T) {
	lib := library(t)
	for _, p := range lib.Patterns() {
		for _, units := range []string{wood.Millimetres, wood.Inches} {
			shop := lib.GenerousShop()
			shop.Units, shop.Fraction = units, 16
			built, err := lib.Build(pattern.Input{Pattern: p.Key}, shop)
			require.NoError(t, err)
			w := words{now: time.Now(), shop: models.Shop{Units: units, Fraction: 16}}
			drawn := w.piece(built, false)
			require.Empty(t, drawn.Wrong, p.Key)
			d, texts := xml.NewDecoder(strings.NewReader(string(drawn.SVG))), ""
			for {
				token, err := d.Token()
				if errors.Is(err, io.EOF) {
					break
				}
				require.NoError(t, err, p.Key)
				if data, ok := token.(xml.CharData); ok {
					texts += string(data) + "\n"
				}
			}
			front, side := built.Views[0], built.Views[1]
			for _, size := range []wood.Length{front.Width, front.Height, side.Width} {
				assert.Contains(t, texts, w.length(size), p.Key)
			}
			for _, v := range built.Views {
				for _, s := range v.Shapes {
					assert.Contains(t, string(drawn.SVG), `data-part="`+s.Part+`"`, "%s: %s", p.Key, s.Part)
				}
			}
		}
	}
}

func TestThePieceIsShownBeforeAndAfterTheCommissionIsTaken(t *testing.T) {
	r := newRig(t)
	r.moreClamps()
	ana := r.as("Ana")
	p := ana.get("/commissions/new/wall-shelf-unit")
	drawn := p.doc.Find("#preview svg.piece-drawing")
	require.Equal(t, 1, drawn.Length())
	form := fieldsOf(p.doc.Find("form.draft"), nil)
	form.Set("measure.width", "640 mm")
	p = ana.post("/commissions/new/wall-shelf-unit", form)
	require.True(t, strings.HasPrefix(p.path, "/commissions/"), p.text("main"))
	assert.Contains(t, p.text("svg.piece-drawing"), "640 mm", "it is drawn from the measures it was taken with")

	form.Set("form_id", "another")
	form.Set("measure.width", "700")
	form.Set("choice.finish", "waterborne")
	p = ana.post("/commissions/new/wall-shelf-unit", form)
	assert.Contains(t, p.texts(".made-from div"), "Width 700 mm", "the unit is said though it was not typed")
	assert.Contains(t, p.texts(".made-from div"), "Finish Waterborne clear coat", "a choice by its name")
	shop := fieldsOf(ana.get("/shop").doc.Find("#general-form"), nil)
	shop.Set("units", wood.Inches)
	require.Equal(t, http.StatusOK, ana.post("/shop", shop).status)
	assert.Contains(t, ana.get(p.path).texts(".made-from div"), `Width 27 9/16"`, "it stays what it is when the shop changes its units")
}

func TestAPieceWhosePatternIsGoneSaysWhyThereIsNoDrawing(t *testing.T) {
	r := newRig(t)
	com := r.take("Hall shelf")
	p := r.as("Ana").get(commissionHref(com.ID))
	assert.Zero(t, p.doc.Find("svg.piece-drawing").Length())
	assert.Contains(t, p.text("main"), "There is no drawing:")
}

// What the form waits for while a measure is typed, for every piece: limits, parts,
// steps, links and the drawing. The largest is to stay below 50 ms.
func BenchmarkMeasuresToDrawing(b *testing.B) {
	lib := library(b)
	shop := lib.GenerousShop()
	w := words{now: time.Now(), shop: models.Shop{Units: wood.Millimetres, Fraction: 16}}
	for _, p := range lib.Patterns() {
		b.Run(p.Key, func(b *testing.B) {
			in := pattern.Input{Pattern: p.Key}
			for b.Loop() {
				if _, err := lib.Form(in, shop); err != nil {
					b.Fatal(err)
				}
				built, err := lib.Build(in, shop)
				if err != nil {
					b.Fatal(err)
				}
				if drawn := w.piece(built, false); drawn.Wrong != "" {
					b.Fatal(drawn.Wrong)
				}
				b.ReportMetric(float64(len(built.Steps)), "steps")
			}
		})
	}
}

// The drawing on a step's screen names the parts as the rest of the screen does.
func TestTheDrawingOfAStepNamesItsPartsInTheShopsLanguage(t *testing.T) {
	r := newRig(t)
	r.wholeShop()
	r.german()
	ana := r.as("Ana")
	com := ana.takePattern("wall-shelf-unit")
	p := ana.get(stepHref(r.snap().StepsOf(com.ID)[0].ID))
	named := p.texts("svg.piece-drawing title")
	require.NotEmpty(t, named)
	for _, part := range r.snap().Parts {
		assert.NotContains(t, named, part.Name, "it is kept in English and said in German")
	}
}
