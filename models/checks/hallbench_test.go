package checks

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"faceside/models/pattern"
)

// What practice knows of a hall bench on two end frames. Common practice, no source.
func TestHallBenchAsPracticeKnowsIt(t *testing.T) {
	b, s := build(t, bench), shop(t)
	o, broken := index(b, s)
	require.False(t, broken)
	at := func(key string) int {
		require.Contains(t, o.place, key)
		return o.place[key]
	}
	before := func(keys ...string) {
		t.Helper()
		for n, key := range keys[1:] {
			require.True(t, o.before(at(keys[n]), at(key)), "%s comes before %s", keys[n], key)
		}
	}
	outOfClamps := func(glue, next string) {
		t.Helper()
		require.True(t, o.ended(at(glue), at(next)), "%s must be out of its clamps before %s", glue, next)
	}

	var stages [][]string // glue-ups by how many others come before them in the same stream
	for _, i := range o.all(gluing) {
		depth := 0
		for _, j := range o.all(gluing) {
			if o.before(j, i) {
				depth = max(depth, 1)
				for _, k := range o.all(gluing) {
					if o.before(k, j) {
						depth = 2
					}
				}
			}
		}
		for len(stages) <= depth {
			stages = append(stages, nil)
		}
		stages[depth] = append(stages[depth], o.steps[i].Key)
	}
	require.Len(t, stages, 3, "rails, then ends, then the base")
	assert.ElementsMatch(t, []string{"left-end.arch.glue", "right-end.arch.glue", "seat.glue"}, stages[0])
	assert.ElementsMatch(t, []string{"left-end.glue-end", "right-end.glue-end"}, stages[1])
	assert.Equal(t, []string{"glue-base"}, stages[2])

	for _, end := range []string{"left-end", "right-end"} {
		outOfClamps(end+".arch.glue", end+".arch.flush")
		outOfClamps(end+".arch.glue", end+".glue-end")
		outOfClamps(end+".glue-end", end+".saw-arch")
		outOfClamps(end+".glue-end", "glue-base")
		assert.Equal(t, "drum-sander", o.kindOf(at(end+".arch.flush")), "the drum sander and not the planer")
		assert.True(t, o.crossed(end+".arch.rail"))
	}
	outOfClamps("glue-base", "shape-posts")
	outOfClamps("seat.glue", "seat.trim")

	before("posts.face", "posts.edge", "posts.plane")
	planed := o.doing("posts.leg", planing)
	require.Len(t, planed, 1, "one planer setting for all four posts on both faces")
	assert.Equal(t, "plane-square", o.steps[planed[0]].Kind)
	assert.Equal(t, 4, o.takes(planed[0], "posts.leg"))

	before("left-end.arch.glue", "left-end.arch.flush", "left-end.arch.trim", "left-end.arch.tenon")
	before("seat.glue", "seat.flatten-drum", "seat.trim", "edges.chamfer", "seat-finish.sand-coarse")
	before("seat-finish.coat-4", "fastening.fit")
	before("base-finish.coat-4", "fastening.fit")
	assert.Empty(t, Run(b, s), "as it is, nothing is to be said:\n%s", list(Run(b, s)))
}

// practice is a row of steps in the order that practice wants; whichever of two
// neighbours is put on the wrong side of the other, a check objects.
var practiceRows = [][]string{
	{"posts.face", "posts.edge", "posts.plane", "posts.cut"},
	{"rails.face", "rails.edge"},
	{"rails.face", "rails.plane"},
	{"rails.edge", "rails.rip"},
	{"posts.mortise", "left-end.glue-end"},
	{"rails.tenon", "glue-base"},
	{"slots", "glue-base"},
	{"left-end.arch.plane", "left-end.arch.glue", "left-end.arch.clean"},
	{"left-end.arch.glue", "left-end.arch.flush"},
	{"left-end.arch.glue", "left-end.arch.trim", "left-end.arch.tenon", "left-end.glue-end"},
	{"left-end.arch.flush", "left-end.arch.trim"},
	{"right-end.arch.glue", "right-end.arch.trim", "right-end.arch.tenon", "right-end.glue-end"},
	{"rails.tenon", "rails.mitre", "glue-base"},
	{"left-end.arch.tenon", "left-end.arch.mitre", "left-end.glue-end"},
	{"template", "left-end.rout-arch"},
	{"left-end.glue-end", "left-end.saw-arch", "left-end.rout-arch", "glue-base"},
	{"right-end.glue-end", "right-end.saw-arch", "right-end.rout-arch", "glue-base"},
	{"left-end.dry-fit", "left-end.glue-end"},
	{"left-end.sand-arch", "glue-base"},
	{"sand-rails", "glue-base"},
	{"glue-base", "clean"},
	{"glue-base", "shape-posts"},
	{"glue-base", "base-finish.sand-coarse"},
	{"seat.drill", "seat.glue", "seat.flatten-drum", "seat.trim"},
	{"seat.clean", "seat.flatten-drum"},
	{"seat-finish.sand-coarse", "seat-finish.sand-fine", "seat-finish.coat-1"},
	{"seat-finish.dust-off", "seat-finish.coat-1", "seat-finish.rub-1", "seat-finish.coat-2"},
	{"seat-finish.coat-3", "seat-finish.rub-3", "seat-finish.coat-4", "fastening.fit"},
	{"base-finish.coat-4", "fastening.fit"},
	{"base-finish.coat-1", "fastening.fit"},
}

func TestChecksObjectToAnyWrongPlace(t *testing.T) {
	s := shop(t)
	for _, row := range practiceRows {
		for n, second := range row[1:] {
			first := row[n]
			for name, e := range map[string]Move{
				first + " after " + second:  {Step: first, After: second},
				second + " before " + first: {Step: second, Before: first},
			} {
				t.Run(name, func(t *testing.T) {
					w := workOn(t, bench)
					w.move(e)
					found := Run(w.b, s)
					require.NotEmpty(t, found, "nothing objects")
					named := false
					for _, f := range found {
						for _, key := range f.Steps {
							named = named || key == first || key == second
						}
					}
					require.True(t, named, "none of the findings names it:\n%s", list(found))
				})
			}
		}
	}
}

// What practice forbids at the bench, whatever the order.
func TestChecksObjectToWrongWork(t *testing.T) {
	for name, c := range map[string]struct {
		check string
		spoil func(*work)
	}{
		"the planer after the rail is built up": {"planed-two-grains", func(w *work) { w.step("right-end.arch.flush").Station = "planer" }},
		"one face jointed":                      {"two-faces", func(w *work) { w.drop("posts.edge") }},
		"no face jointed":                       {"face-first", func(w *work) { w.drop("posts.face") }},
		"two tenons in one place":               {"tenons-meet", func(w *work) { w.drop("rails.mitre") }},
		"begun before it is out of its clamps":  {"in-clamps", func(w *work) { w.links("left-end.glue-end", "", atOnce) }},
		"glued on while in clamps":              {"in-clamps", func(w *work) { w.links("right-end.glue-end", "", atOnce); w.drop("right-end.clean") }},
		"trimmed before the glue-up":            {"trim-before-glue-up", func(w *work) { w.move(Move{Step: "seat.trim", Before: "seat.glue"}) }},
		"fitted before the last coat":           {"fit-before-last-coat", func(w *work) { w.move(Move{Step: "fastening.fit", Before: "seat-finish.coat-4"}) }},
		"the seat without slots":                {"top-fixed", func(w *work) { w.drop("slots") }},
		"posts shaped before their last clamps": {"shaped-before-clamps", func(w *work) {
			w.step("shape-posts").Assemblies = []string{"left-end.frame", "right-end.frame"}
			w.move(Move{Step: "shape-posts", Before: "glue-base"})
		}},
		"the arch shaped while its end needs it": {"shaped-before-clamps", func(w *work) {
			s := w.step("left-end.saw-arch")
			s.Assemblies, s.KeepsFaces = []string{"left-end.arch.rail"}, false
			w.move(Move{Step: "left-end.saw-arch", Before: "left-end.glue-end"})
		}},
		"the arch routed when the base closes it": {"closed-in", func(w *work) { w.move(Move{Step: "left-end.rout-arch", After: "glue-base"}) }},
		"posts planed at two settings": {"two-settings", func(w *work) {
			w.add("posts.plane", "again", "posts.plane", "posts.cut", func(s *pattern.Step) { s.Setup = &pattern.Setup{Family: "thickness", State: "thickness 44.5 mm"} })
		}},
		"coats all in one day":                    {"coat-too-soon", func(w *work) { w.links("base-finish.coat-2", "", atOnce) }},
		"flattened while the joints are swollen":  {"sunken-joints", func(w *work) { w.links("seat.glue", "seat.flatten-drum", func(l *pattern.Link) { l.Min = 0 }) }},
		"a dowel in the way of the trim":          {"dowel-exposed", func(w *work) { w.with("seat.drill", "inset", 12*mm) }},
		"more than the open time in one glue-up":  {"open-time", func(w *work) { s := w.step("glue-base"); s.Attended, s.OpenTime = 40, 12 }},
		"the long rails sanded after they are in": {"closed-in", func(w *work) { w.move(Move{Step: "sand-rails", After: "glue-base"}) }},
		"finish on what the second glue-up closes": {"glue-on-finish", func(w *work) {
			w.add("base-finish.coat-1", "early", "left-end.clean", "glue-base", func(s *pattern.Step) { s.Assemblies = []string{"left-end.frame"} })
		}},
	} {
		t.Run(name, func(t *testing.T) {
			w := workOn(t, bench)
			c.spoil(w)
			found := Run(w.b, shop(t))
			require.NotEmpty(t, of(found, c.check), "all there is:\n%s", list(found))
		})
	}
}
