package pattern

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models/wood"
)

// What practice knows of a hall bench on two end frames. Common practice, no
// source.
func TestHallBenchAsPracticeKnowsIt(t *testing.T) {
	b := built(t, Input{Pattern: "hall-bench"})
	o := orderOf(t, b)

	t.Run("glue-ups and their stages", func(t *testing.T) {
		var glueUps []string
		for _, s := range b.Steps {
			if s.OpenTime > 0 {
				glueUps = append(glueUps, s.Key)
				assert.Equal(t, InClamps, s.Rest, s.Key)
				assert.NotEmpty(t, s.Clamps, s.Key)
				assert.False(t, s.Interruptible, s.Key)
			}
		}
		assert.ElementsMatch(t, []string{
			"left-end.arch.glue", "right-end.arch.glue", // first the arched rails
			"left-end.glue-end", "right-end.glue-end", // then each end
			"glue-base", // then the ends with the long rails
			"seat.glue", // the seat beside it
		}, glueUps)
		o.before("left-end.arch.glue", "left-end.glue-end", "glue-base")
		o.before("right-end.arch.glue", "right-end.glue-end", "glue-base")
		o.free("left-end.glue-end", "right-end.glue-end")
		o.free("seat.glue", "glue-base")
	})

	t.Run("two faces are jointed before the planer", func(t *testing.T) {
		o.before("posts.face", "posts.edge", "posts.plane")
		o.before("rails.face", "rails.edge", "rails.plane")
		o.before("seat.face", "seat.edge", "seat.plane")
		for _, s := range b.Steps {
			if s.Kind == "plane-square" {
				assert.Equal(t, "posts.plane", s.Key)
			}
		}
	})

	t.Run("one planer setting for all four posts on both faces", func(t *testing.T) {
		plane := o.step("posts.plane")
		require.Len(t, plane.Parts, 1)
		assert.Equal(t, PartUse{"posts.leg", 4}, plane.Parts[0])
		assert.Equal(t, "thickness 45 mm", plane.Setup.State)
		for _, s := range b.Steps {
			if s.Station == "planer" && s.works("posts.leg") {
				assert.Equal(t, "posts.plane", s.Key, "no second planer step touches the posts")
			}
		}
	})

	t.Run("joinery while the reference faces are square", func(t *testing.T) {
		o.before("posts.plane", "posts.mark", "posts.mortise", "left-end.glue-end", "shape-posts")
		o.before("left-end.arch.trim", "left-end.arch.tenon", "left-end.saw-arch")
	})

	t.Run("the drum sander and never the planer once the rail is built up", func(t *testing.T) {
		for _, end := range []string{"left-end", "right-end"} {
			o.before(end+".arch.glue", end+".arch.flush", end+".arch.trim")
			assert.Equal(t, "drum", o.step(end+".arch.flush").Station)
			for _, s := range b.Steps {
				if s.works(end + ".arch.rail") {
					assert.NotEqual(t, "planer", s.Station, s.Key)
					assert.NotEqual(t, "jointer", s.Station, s.Key)
				}
			}
		}
		grains := map[string]bool{}
		for _, p := range b.Parts {
			if strings.HasPrefix(p.Key, "left-end.arch.") {
				grains[p.Grain] = true
			}
		}
		assert.Equal(t, map[string]bool{"length": true, "width": true}, grains, "its grain runs two ways")
	})

	t.Run("the arch is cut out of the clamps of its end and before the base closes it in", func(t *testing.T) {
		o.before("left-end.glue-end", "left-end.clean", "left-end.saw-arch", "left-end.rout-arch", "glue-base")
		o.before("template", "left-end.rout-arch")
		assert.Equal(t, "band-saw", o.step("left-end.saw-arch").Station)
		assert.Equal(t, "router", o.step("left-end.rout-arch").Station)
	})

	t.Run("the tenons of two rails that would meet in a post are mitred", func(t *testing.T) {
		o.before("rails.tenon", "rails.mitre", "dry-fit", "glue-base")
		o.before("left-end.arch.tenon", "left-end.arch.mitre", "left-end.dry-fit", "left-end.glue-end")
		o.before("right-end.arch.tenon", "right-end.arch.mitre", "right-end.dry-fit", "right-end.glue-end")
		at := func(step, key string) wood.Length {
			for _, v := range o.step(step).With {
				if v.Key == key {
					return v.Length
				}
			}
			t.Fatalf("%s has no %s", step, key)
			return 0
		}
		post, thick := 45*wood.Millimetre, at("posts.mortise", "width")
		for _, tenon := range []string{"rails.tenon", "left-end.arch.tenon", "right-end.arch.tenon"} {
			length := at(tenon, "length")
			assert.Greater(t, length, post/2-thick/2, "square, it would stand where the other one is")
			assert.LessOrEqual(t, length, post/2+thick/2, "its long point still ends at the mitre of the other")
			assert.Less(t, length, at("posts.mortise", "depth"), "it does not touch the bottom")
		}
	})

	t.Run("in a post thick enough for both, the ends stay square", func(t *testing.T) {
		thick := orderOf(t, built(t, Input{Pattern: "hall-bench", Measures: map[string]string{"post": "65"}}))
		for _, s := range thick.b.Steps {
			assert.NotEqual(t, "mitre-tenons", s.Kind, s.Key)
		}
	})

	t.Run("dowels pass at other heights, and stop short in a low rail", func(t *testing.T) {
		dowels := func(rail string) *Step {
			return orderOf(t, built(t, Input{Pattern: "hall-bench", Measures: map[string]string{"rail": rail}, Choices: map[string]string{"joint": "dowel"}})).step("posts.drill")
		}
		assert.Contains(t, dowels("80").With, MeasureValue{Key: "apart", Number: 1})
		assert.Contains(t, dowels("80").Note, "heights")
		assert.Contains(t, dowels("55").With, MeasureValue{Key: "depth", IsLength: true, Length: 17500 * wood.Millimetre / 1000})
		assert.Empty(t, dowels("55").Note)
	})

	t.Run("the last shaping waits for the second glue-up's clamps", func(t *testing.T) {
		o.before("glue-base", "clean", "shape-posts", "base-finish.sand-coarse")
	})

	t.Run("the seat is trimmed after its glue-up, then chamfered", func(t *testing.T) {
		o.before("seat.drill", "seat.glue", "seat.flatten-drum", "seat.trim", "edges.chamfer", "seat-finish.sand-coarse")
		seat := o.b.Parts[7]
		for _, p := range b.Parts {
			if p.Key == "seat.board" {
				seat = p
			}
		}
		assert.Greater(t, seat.Finished.Length, 1200*wood.Millimetre, "the boards are glued longer than the seat")
	})

	t.Run("slots that let the seat move, cut while the rails are loose", func(t *testing.T) {
		o.before("rails.tenon", "slots", "glue-base")
	})

	t.Run("coats: first thinned and wiped, then two or three more inside the recoat window", func(t *testing.T) {
		for _, on := range []string{"base-finish", "seat-finish"} {
			o.before(on+".sand-coarse", on+".sand-fine", on+".dust-off", on+".coat-1", on+".coat-2", on+".coat-3", on+".coat-4")
			assert.Equal(t, "coat-thinned", o.step(on+".coat-1").Kind)
			assert.True(t, o.step(on+".coat-1").Wet)
			windows := 0
			for _, l := range b.Links {
				if l.Before == on+".coat-1" && l.After == on+".coat-2" {
					windows++
					assert.Equal(t, FromAttended, l.From)
					assert.Equal(t, 480, l.Min)
					require.NotNil(t, l.Max)
					assert.Equal(t, 1440, *l.Max)
				}
			}
			assert.Equal(t, 1, windows)
		}
	})

	t.Run("the seat is fitted after the last coat", func(t *testing.T) {
		o.before("seat-finish.coat-4", "fastening.fit")
		o.before("base-finish.coat-4", "fastening.fit")
		assert.Equal(t, "fastening.fit", b.Steps[len(b.Steps)-1].Key)
	})

	t.Run("every link says why", func(t *testing.T) {
		for _, l := range b.Links {
			assert.NotEmpty(t, l.Why, "%s to %s", l.Before, l.After)
		}
	})
}

func TestBedsideCabinetAsPracticeKnowsIt(t *testing.T) {
	b := built(t, Input{Pattern: "bedside-cabinet"})
	o := orderOf(t, b)
	o.before("carcase.sides.glue", "carcase.sides.flatten-drum", "carcase.sides.trim", "carcase.drill", "carcase.glue")
	o.before("carcase.glue", "drawer.cut-front", "drawer.dovetails", "drawer.glue", "drawer.slide-bottom", "fit-opening")
	o.before("fit-opening", "drawer-finish.coat-1")
	o.before("carcase-finish.coat-3", "fastening.fit", "back.fit", "finish-up")
	o.before("top-finish.coat-3", "fastening.fit")
	o.free("top.glue", "carcase.glue")
	assert.Equal(t, 2, o.step("carcase.glue").Hands)
	assert.Equal(t, "cabinet", o.step("finish-up").Makes)
}

// What practice knows of doors that close inside a case. Common practice, no source.
func TestDoorsAsPracticeKnowsThem(t *testing.T) {
	for name, c := range map[string]struct {
		in              Input
		doors           []string
		coats, together string // the finish of the case, and the step that stands it where it stays
	}{
		"cupboard":        {Input{Pattern: "cupboard"}, []string{"left-door", "right-door"}, "coats", "stand"},
		"bedside cabinet": {Input{Pattern: "bedside-cabinet", Choices: map[string]string{"front": "door"}}, []string{"door"}, "carcase-finish", "finish-up"},
	} {
		t.Run(name, func(t *testing.T) {
			o := orderOf(t, built(t, c.in))
			for _, d := range c.doors {
				// It is cut to the opening that the glue-up left, once the case is square and hard.
				o.before("carcase.glue", d+".frame.cut-stiles", d+".frame.glue")
				o.before("carcase.glue", d+".frame.cut-rails")
				// A panel is coated before its frame closes around it, and gets no glue.
				o.before(d+".frame.panel.trim", d+".frame.coat-panel", d+".frame.glue")
				// Fitted, hinged and hung on trial in bare wood.
				o.before("carcase.flush", d+".fit")
				o.before(d+".frame.flush", d+".fit", d+".hinges", d+".trial", d+".finish.sand-coarse")
				o.before(d+".trial", c.coats+".sand-coarse")
				// For good after the last coats, in a case that stands where it stays.
				o.before(d+".finish.coat-3", d+".hang", d+".knob")
				o.before(c.coats+".coat-3", d+".hang")
				o.before(c.together, d+".hang")
				assert.Equal(t, 1, o.step(d+".hang").Hands)
				assert.NotEmpty(t, o.step(d+".hinges").Cautions)
			}
			if len(c.doors) == 2 {
				o.before("left-door.trial", "right-door.fit")
				o.before("left-door.hang", "right-door.hang")
				o.free("left-door.frame.glue", "right-door.frame.glue")
			}
		})
	}
}

// A door has its gap from the swing of its stiles in models/wood, and its panel stands
// upright: the grain of both runs up the door.
func TestDoorsHaveRoomToSwell(t *testing.T) {
	l := library(t)
	for _, species := range []string{"oak", "beech", "walnut"} {
		for _, humidity := range []float64{30, 50, 70} {
			shop := smallShop(l)
			shop.HumidityPct = humidity
			b, err := l.Build(Input{Pattern: "cupboard", Measures: map[string]string{"bar": "75"}, Choices: map[string]string{"species": species}}, shop)
			require.NoError(t, err)
			part := func(key string) *Part {
				i := slices.IndexFunc(b.Parts, func(p Part) bool { return p.Key == key })
				require.GreaterOrEqual(t, i, 0, key)
				return &b.Parts[i]
			}
			stile := part("left-door.frame.stile")
			safe, err := wood.SafeSpeciesOf(species)
			require.NoError(t, err)
			pct, err := moistureOf(shop)
			require.NoError(t, err)
			swing, err := safe.Swing(2*stile.Finished.Width, wood.FlatSawn, pct, wood.HeatedHome)
			require.NoError(t, err)
			inside := 800*wood.Millimetre - 2*20*wood.Millimetre
			var door wood.Length
			for _, a := range b.Assemblies {
				if a.Key == "left-door.frame.frame" {
					door = a.Size.Width
				}
			}
			door -= 2 * wood.Millimetre // what is planed off when it is fitted
			gap := (inside - 2*door) / 3
			assert.GreaterOrEqual(t, 2*gap, swing.Swells, "%s at %g %%", species, humidity)
			assert.GreaterOrEqual(t, gap, 2*wood.Millimetre)
			assert.Equal(t, "length", part("left-door.frame.panel.board").Grain)
			assert.Greater(t, part("left-door.frame.panel.board").Finished.Length, part("left-door.frame.rail").Finished.Length, "the panel's grain runs up the door")
		}
	}
}

// A door is made a little over its size: without wood to take off there is nothing to
// plane to an opening that is never quite square, and it still goes into it to be tried.
func TestDoorsAreMadeOverTheirSize(t *testing.T) {
	b := built(t, Input{Pattern: "cupboard"})
	opening := Size{Length: (850 - 70 - 2*20) * wood.Millimetre, Width: (800 - 2*20) * wood.Millimetre}
	for _, d := range []string{"left-door", "right-door"} {
		i := slices.IndexFunc(b.Assemblies, func(a Assembly) bool { return a.Key == d+".frame.frame" })
		require.GreaterOrEqual(t, i, 0)
		made := b.Assemblies[i].Size
		assert.Equal(t, opening.Length-2*2*wood.Millimetre+2*wood.Millimetre, made.Length, "two gaps less, two allowances more")
		assert.Equal(t, (opening.Width-3*2*wood.Millimetre)/2+2*wood.Millimetre, made.Width)
		assert.Less(t, made.Length, opening.Length)
		assert.Contains(t, orderOf(t, b).step(d+".fit").Note, "1 mm over on every edge")
	}
}

// Three hinges carry a tall door; cup hinges are drilled and not let in.
func TestHingesOfDoors(t *testing.T) {
	fittings := func(b *Built, key string) float64 {
		for _, v := range orderOf(t, b).step(key).With {
			if v.Key == "fittings" {
				return v.Number
			}
		}
		return 0
	}
	assert.Equal(t, 2.0, fittings(built(t, Input{Pattern: "cupboard"}), "left-door.hinges"))
	assert.Equal(t, 3.0, fittings(built(t, Input{Pattern: "cupboard", Measures: map[string]string{"height": "1200"}}), "left-door.hinges"))
	cup := built(t, Input{Pattern: "cupboard", Choices: map[string]string{"hinges": "cup"}})
	o := orderOf(t, cup)
	assert.Equal(t, "drill", o.step("left-door.cups").Station)
	assert.NotNil(t, o.step("left-door.cups").Setup)
	o.before("left-door.fit", "left-door.cups", "left-door.plates", "left-door.trial", "coats.sand-coarse")
	for _, s := range cup.Steps {
		assert.False(t, strings.HasSuffix(s.Key, ".hinges"), s.Key)
	}
}

func TestWallShelfUnitAsPracticeKnowsIt(t *testing.T) {
	b := built(t, Input{Pattern: "wall-shelf-unit", Measures: map[string]string{"shelves": "3"}})
	o := orderOf(t, b)
	o.before("carcase.plane", "carcase.cut-sides", "carcase.dados", "carcase.rabbet", "carcase.glue", "coats.coat-1", "back.fit", "hang")
	assert.Equal(t, "grooving head 19 mm depth 6.5 mm", o.step("carcase.dados").Setup.State)
	assert.Equal(t, []ClampUse{{"bar-1200", 10}}, o.step("carcase.glue").Clamps, "two clamps at each of five levels")
}

// Equal settings of different pieces must be one state, or no run forms.
func TestEqualSettingsAreOneStateAcrossPieces(t *testing.T) {
	states := func(in Input, station string) map[string]bool {
		out := map[string]bool{}
		for _, s := range built(t, in).Steps {
			if s.Station == station && s.Setup != nil {
				out[s.Setup.State] = true
			}
		}
		return out
	}
	bench := states(Input{Pattern: "hall-bench", Measures: map[string]string{"post": `1 3/4"`, "seat": "28"}}, "planer")
	other := states(Input{Pattern: "hall-bench", Measures: map[string]string{"post": "44.45", "length": "1000"}}, "planer")
	assert.Contains(t, bench, "thickness 44.5 mm")
	assert.Contains(t, other, "thickness 44.5 mm")
	shelf := states(Input{Pattern: "wall-shelf-unit", Measures: map[string]string{"thickness": "22"}}, "planer")
	assert.Contains(t, bench, "thickness 22 mm")
	assert.Contains(t, shelf, "thickness 22 mm")
}

// A choice must change parts, steps and setups, not only a label.
func TestChoicesChangeTheWork(t *testing.T) {
	kinds := func(b *Built) map[string]int {
		out := map[string]int{}
		for _, s := range b.Steps {
			out[s.Kind]++
		}
		return out
	}
	part := func(b *Built, key string) *Part {
		for i := range b.Parts {
			if b.Parts[i].Key == key {
				return &b.Parts[i]
			}
		}
		return nil
	}
	tenons := built(t, Input{Pattern: "hall-bench", Choices: map[string]string{"joint": "mortise"}})
	dowels := built(t, Input{Pattern: "hall-bench", Choices: map[string]string{"joint": "dowel", "align": "plain", "fastener": "clip", "edge": "round"}})
	loose := built(t, Input{Pattern: "hall-bench", Choices: map[string]string{"joint": "loose-tenon", "align": "loose-tenon"}})

	assert.Equal(t, 1, kinds(tenons)["mortise"])
	assert.Equal(t, 3, kinds(tenons)["tenon"])
	assert.Zero(t, kinds(dowels)["mortise"]+kinds(dowels)["tenon"])
	assert.Equal(t, 4, kinds(dowels)["dowel-holes"])
	assert.Equal(t, 5, kinds(loose)["slot-mortise"])
	shoulder := part(dowels, "rails.rail").Finished.Length
	assert.Equal(t, shoulder+49*wood.Millimetre, part(tenons, "rails.rail").Finished.Length, "two tenons of 24.5 mm")
	assert.NotNil(t, part(dowels, "rails.dowel"))
	assert.Nil(t, part(tenons, "rails.dowel"))
	assert.NotNil(t, part(loose, "rails.tongue"))
	assert.NotNil(t, part(tenons, "fastening.button"))
	assert.Nil(t, part(dowels, "fastening.button"))
	assert.Equal(t, 1, kinds(dowels)["round-over"])
	assert.Equal(t, 1, kinds(tenons)["chamfer"])
	three := built(t, Input{Pattern: "hall-bench", Measures: map[string]string{"coats": "3"}})
	assert.Equal(t, kinds(tenons)["coat"]-2, kinds(three)["coat"])

	oil := built(t, Input{Pattern: "hall-bench", Choices: map[string]string{"finish": "penetrating-oil", "glue": "polyurethane"}})
	o := orderOf(t, oil)
	assert.Equal(t, 1440, o.step("seat-finish.coat-1").Unattended)
	assert.Equal(t, 240, o.step("seat.glue").Unattended)
	assert.Contains(t, strings.Join(o.step("seat-finish.coat-1").Cautions, " "), "Oily rags")
}

// What every pattern must have right, whatever it makes. Common practice, no source.
func TestAllPatternsAsPracticeKnowsThem(t *testing.T) {
	l := library(t)
	shop := l.GenerousShop()
	// Strips that come from what lies in the offcuts.
	short := map[string]bool{"fastening.button": true, "wedge": true}
	for _, p := range l.Patterns() {
		for _, in := range slices.Concat([]Input{{Pattern: p.Key}}, taking(p, "back", "boards"), taking(p, "front", "door")) {
			b, err := l.Build(in, shop)
			require.NoError(t, err, p.Key)
			o := orderOf(t, b)
			for _, part := range b.Parts {
				rough, face := o.doing("rough-crosscut", part.Key), o.doing("joint-face", part.Key)
				if face != "" && !short[part.Key] && assert.NotEmpty(t, rough, "%s: a board is cut to rough length before %s is jointed", p.Key, part.Key) {
					o.before(rough, face)
				}
				if bevel := o.doing("rip-bevel", part.Key); bevel != "" {
					o.before(o.doing("joint-edge", part.Key), bevel)
				}
			}
			for _, s := range b.Steps {
				for _, key := range s.Assemblies {
					if glued := o.makes(key); s.Kind == "flush-hand" && glued != nil && glued.OpenTime > 0 {
						scraped := o.doing("clean-glue", key)
						require.NotEmpty(t, scraped, "%s: hard glue chips the plane of %s", p.Key, s.Key)
						o.before(glued.Key, scraped, s.Key)
					}
				}
			}
		}
	}
}

// taking is a piece with an option taken; none where it does not have it.
func taking(p *Pattern, choice, option string) []Input {
	for _, c := range p.Choices {
		if c.Key == choice && slices.ContainsFunc(c.Options, func(o Option) bool { return o.Key == option }) {
			return []Input{{Pattern: p.Key, Choices: map[string]string{choice: option}}}
		}
	}
	return nil
}

// doing is the first step of a kind on something, "" where there is none.
func (o *order) doing(kind, key string) string {
	for i := range o.b.Steps {
		if s := &o.b.Steps[i]; s.Kind == kind && s.works(key) {
			return s.Key
		}
	}
	return ""
}

// makes is the step that makes an assembly.
func (o *order) makes(key string) *Step {
	for i := range o.b.Steps {
		if o.b.Steps[i].Makes == key {
			return &o.b.Steps[i]
		}
	}
	return nil
}

// Only what lies in one plane is planed flush: the rails of a bed stand in the middle of
// their posts, those of a table behind the faces of its legs.
func TestNothingIsFlushedThatStandsBack(t *testing.T) {
	for _, s := range built(t, Input{Pattern: "bed-frame"}).Steps {
		assert.NotEqual(t, "flush-hand", s.Kind, s.Key)
	}
	assert.Equal(t, "Plane the upper edges of the base level, legs and rails together", orderOf(t, built(t, Input{Pattern: "table"})).step("base.flush").Name)
}

// Oil and wiping varnish are wiped dry after the first coat; waterborne and shellac would
// be spoilt by it.
func TestOnlyWhatIsWipedIsWiped(t *testing.T) {
	for finish, how := range map[string]string{"penetrating-oil": "wiped dry", "wiping-varnish": "wiped dry", "waterborne": "left to dry", "shellac": "left to dry"} {
		b := built(t, Input{Pattern: "hall-bench", Choices: map[string]string{"finish": finish}})
		assert.Contains(t, orderOf(t, b).step("seat-finish.coat-1").Name, how, finish)
	}
}
