package pattern

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// joinery is one way of joining, chosen at one piece, beside the other option that
// it is compared with.
type joinery struct {
	name, piece, choice, option, other string
	kinds                              []string // step kinds that cut it
	parts                              string   // end of the keys of the parts it brings; "": the same parts in other sizes
	setup                              string   // begins a state that a station must be set to for it
}

var joineries = []joinery{
	{"dowels", "table", "joint", "dowel", "mortise", []string{"dowel-holes"}, ".dowel", "bit "},
	{"loose tenons", "table", "joint", "loose-tenon", "dowel", []string{"slot-mortise"}, ".tongue", "bit "},
	{"mortise and tenon", "table", "joint", "mortise", "dowel", []string{"mortise", "tenon"}, "", "bit "},
	{"bridle joints", "mirror-frame", "joint", "bridle", "dowel", []string{"bridle"}, "", ""},
	{"bridle joints of doors", "cupboard", "corners", "bridle", "mortise", []string{"bridle"}, "", ""},
	{"coped rails of doors", "cupboard", "corners", "cope", "mortise", []string{"cope-ends", "profile-edges"}, "", "bit counter-profile "},
	{"dovetails of a drawer", "desk", "corners", "dovetail", "lock", []string{"dovetails"}, "", ""},
	{"box joints of a drawer", "desk", "corners", "box-joint", "lock", []string{"box-joints"}, "", ""},
	{"tongue and dado of a drawer", "desk", "corners", "lock", "dovetail", []string{"drawer-lock"}, "", ""},
	{"dovetails of a chest", "chest", "corners", "dovetail", "box-joint", []string{"dovetails"}, "", ""},
	{"dados", "bookcase", "joint", "dado", "dowel", []string{"dado"}, "", "grooving head "},
	{"pocket screws", "bookcase", "front", "pocket", "mortise", []string{"pocket-holes"}, "", "bit stepped pocket bit"},
	{"pocket screws of a frame", "mirror-frame", "joint", "pocket", "dowel", []string{"pocket-holes"}, "", "bit stepped pocket bit"},
}

// Every way of joining has kinds of steps of its own, changes parts or their sizes,
// and asks stations for other states. Other choices stay at their defaults.
func TestEveryJoineryChangesPartsStepsAndSetups(t *testing.T) {
	for _, j := range joineries {
		t.Run(j.name, func(t *testing.T) {
			take := func(option string) *Built {
				return built(t, Input{Pattern: j.piece, Choices: map[string]string{j.choice: option}})
			}
			one, other := take(j.option), take(j.other)
			kinds, otherKinds := kindCounts(one), kindCounts(other)
			for _, kind := range j.kinds {
				assert.Greater(t, kinds[kind], otherKinds[kind], "steps of the kind %s", kind)
			}
			if j.parts != "" {
				assert.Greater(t, partsEnding(one, j.parts), partsEnding(other, j.parts), "parts %s", j.parts)
			}
			// Dovetails and box joints leave the same four boards; what differs is the work.
			if !(j.piece == "chest") {
				assert.NotEqual(t, partList(one), partList(other), "other parts, or other sizes")
			}
			states := setupStates(one)
			assert.NotEqual(t, states, setupStates(other), "other setups")
			if j.setup != "" {
				assert.True(t, slices.ContainsFunc(states, func(s string) bool { return strings.HasPrefix(s, j.setup) }), states)
			}
		})
	}
}

func kindCounts(b *Built) map[string]int {
	out := map[string]int{}
	for _, s := range b.Steps {
		out[s.Kind]++
	}
	return out
}

func partsEnding(b *Built, end string) (n int) {
	for _, p := range b.Parts {
		if strings.HasSuffix(p.Key, end) {
			n += p.Quantity
		}
	}
	return n
}

type partLine struct {
	key      string
	quantity int
	size     Size
}

func partList(b *Built) (out []partLine) {
	for _, p := range b.Parts {
		out = append(out, partLine{p.Key, p.Quantity, p.Finished})
	}
	return out
}

// setupStates are the states stations must be in, each once, sorted.
func setupStates(b *Built) (out []string) {
	for _, s := range b.Steps {
		if s.Setup != nil {
			out = append(out, s.Setup.State)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// A face frame is a part of the piece, glued to a flush carcase before its finish.
func TestAFaceFrameGoesOnBeforeTheFinish(t *testing.T) {
	for _, piece := range []string{"bookcase", "wall-shelf-unit"} {
		plain := built(t, Input{Pattern: piece})
		framed := built(t, Input{Pattern: piece, Choices: map[string]string{"front": "pocket"}})
		o := orderOf(t, framed)
		o.before("carcase.glue", "carcase.flush", "face.fit", "face.trim", "coats.sand-coarse")
		o.before("face.pockets", "face.glue", "face.fit")
		assert.Positive(t, partsEnding(framed, "face.stile"))
		assert.Zero(t, partsEnding(plain, "face.stile"))
		assert.Equal(t, plain.Views[1].Width, framed.Views[1].Width, "the frame is part of the depth")
	}
}

// An edge is a choice of the work, not of the label.
func TestEdgesAreShapedByMachineOrEasedByHand(t *testing.T) {
	for piece, finish := range map[string]string{"table": "top-finish", "hall-bench": "seat-finish", "end-grain-board": "coats"} {
		steps := func(edge string) (map[string]int, *order) {
			b := built(t, Input{Pattern: piece, Choices: map[string]string{"edge": edge}})
			return kindCounts(b), orderOf(t, b)
		}
		chamfer, o := steps("chamfer")
		o.before("edges.chamfer", finish+".sand-coarse")
		round, o := steps("round")
		o.before("edges.round", finish+".sand-coarse")
		eased, o := steps("eased")
		o.before(finish+".sand-fine", finish+".ease", finish+".dust-off")
		assert.Equal(t, []int{1, 0, 0}, []int{chamfer["chamfer"], round["chamfer"], eased["chamfer"]}, piece)
		assert.Equal(t, []int{0, 1, 0}, []int{chamfer["round-over"], round["round-over"], eased["round-over"]}, piece)
		assert.Equal(t, chamfer["ease-edges"]+1, eased["ease-edges"], piece)
	}
}

// The list of sub-assemblies: each is a pattern of its own, used by at least
// two patterns or, through one, by two pieces.
func TestSubAssembliesAreShared(t *testing.T) {
	l := library(t)
	users := map[string]map[string]bool{}
	var walk func(p *Pattern, piece string)
	walk = func(p *Pattern, piece string) {
		for _, u := range p.uses {
			if users[u.pattern] == nil {
				users[u.pattern] = map[string]bool{}
			}
			users[u.pattern][piece] = true
			walk(l.patterns[u.pattern], piece)
		}
	}
	for _, p := range l.Patterns() {
		walk(p, p.Key)
	}
	for _, sub := range []string{"glued-panel", "leg-set", "rail-set", "built-up-rail", "frame", "door", "carcase", "drawer", "face-frame",
		"plinth", "top-fastening", "edge-treatment", "finish-schedule", "back-panel", "table-base"} {
		require.NotNil(t, l.Pattern(sub), sub)
		assert.GreaterOrEqual(t, len(users[sub]), 2, sub)
	}
	assert.GreaterOrEqual(t, len(l.Catalogue().Kinds()), 40)
	assert.GreaterOrEqual(t, len(l.Patterns()), 12)
}
