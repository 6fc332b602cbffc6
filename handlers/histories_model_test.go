package handlers

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/anishathalye/porcupine"

	"faceside/models"
)

// said is what a tablet asks of one step: a tap, or how it stands.
type said struct {
	step   models.ID
	name   string // of the step
	tap    string // its id; "" reads
	kind   models.TapKind
	person models.ID
	undoes int64
}

// heardOf is what a tablet is told: of a tap its row or why it was refused, else how the
// step stands and who has it or had it last.
type heardOf struct {
	seq    int64
	why    string
	state  string
	person models.ID
}

// stands is where a step stands, as far as taps that follow hang on it.
type stands struct {
	state  models.StepState
	person models.ID // who has it or had it last, 0 before the first start
}

// stepRules says of one step what each tap is answered, given those before it. It is
// written from the rules as they are told, and knows nothing of the program's own.
type stepRules struct {
	stands
	counted []standing         // the taps that count
	undone  []int64            // rows that were taken back
	last    int64              // the newest row
	told    map[string]heardOf // what each tap was answered, by its id
}

// standing is a tap that counts, and where the step stood before it.
type standing struct {
	seq int64
	was stands
}

const (
	makerName = "Maker %02d"
	knot      = "knot"
	theTime   = "8:30" // the clock stands
)

// linear is what a history of taps and readings must be like: as if each had happened
// at one moment between its sending and its answer. Steps are looked at one by one: no
// rule that is met here goes from one to another, as each maker stays at one.
func linear(makers map[models.ID]string) porcupine.Model {
	return porcupine.Model{
		Partition: func(history []porcupine.Operation) [][]porcupine.Operation {
			by := map[models.ID][]porcupine.Operation{}
			for _, op := range history {
				step := op.Input.(said).step
				by[step] = append(by[step], op)
			}
			return slices.Collect(maps.Values(by))
		},
		Init: func() any { return stepRules{stands: stands{state: models.Todo}} },
		Step: func(state, input, output any) (bool, any) {
			return state.(stepRules).after(input.(said), output.(heardOf), makers)
		},
		// What was told is the same after the same taps.
		Equal: func(a, b any) bool {
			x, y := a.(stepRules), b.(stepRules)
			return x.stands == y.stands && x.last == y.last && slices.Equal(x.counted, y.counted) && len(x.undone) == len(y.undone)
		},
		DescribeOperation: func(input, output any) string { return fmt.Sprintf("%+v -> %+v", input, output) },
	}
}

// after says whether what was said can have been answered so, and where the step stands
// then. It changes nothing.
func (r stepRules) after(in said, out heardOf, makers map[models.ID]string) (bool, stepRules) {
	if in.tap == "" {
		return out == heardOf{state: r.shown(), person: r.person}, r
	}
	if first, again := r.told[in.tap]; again {
		return out == first, r
	}
	why, next := r.refusal(in, makers), r
	if next.told = maps.Clone(r.told); next.told == nil {
		next.told = map[string]heardOf{}
	}
	next.told[in.tap] = out
	if why != "" {
		return out == heardOf{why: why}, next
	}
	next.last = out.seq
	if in.kind == models.TapUndo {
		top := len(r.counted) - 1
		next.stands, next.counted = r.counted[top].was, slices.Clone(r.counted[:top])
		next.undone = append(slices.Clone(r.undone), in.undoes)
	} else {
		next.counted = append(slices.Clone(r.counted), standing{out.seq, r.stands})
		next.stands = r.moved(in)
	}
	return out.why == "" && out.seq > r.last, next
}

// shown is how the step is called on a screen: nothing comes before it.
func (r stepRules) shown() string {
	if r.state == models.Todo {
		return string(models.StandsReady)
	}
	return string(r.state)
}

// fits lists for each kind of tap the states in which it can come.
var fits = map[models.TapKind][]models.StepState{
	models.TapStart:   {models.Todo, models.PutDown},
	models.TapPutDown: {models.InHand},
	models.TapFinish:  {models.InHand},
	models.TapTrouble: {models.Todo, models.InHand, models.PutDown},
	models.TapSettled: {models.InTrouble},
}

// moved is where a tap that is taken leads.
func (r stepRules) moved(in said) stands {
	to := r.stands
	switch in.kind {
	case models.TapStart:
		to = stands{models.InHand, in.person}
	case models.TapPutDown:
		to.state = models.PutDown
	case models.TapFinish:
		to.state = models.Done
	case models.TapTrouble:
		to.state = models.InTrouble
	case models.TapSettled:
		if to.state = models.PutDown; to.person == 0 {
			to.state = models.Todo
		}
	}
	return to
}

// refusal is what is said of a tap that cannot be, "" where it can.
func (r stepRules) refusal(in said, makers map[models.ID]string) string {
	name := "“" + in.name + "”"
	if in.kind == models.TapUndo {
		at := slices.IndexFunc(r.counted, func(c standing) bool { return c.seq == in.undoes })
		switch {
		case at >= 0 && at == len(r.counted)-1:
			return ""
		case at >= 0:
			return "Something else was tapped for " + name + " since: take that back first."
		case slices.Contains(r.undone, in.undoes):
			return "That tap for " + name + " was taken back already."
		}
		return "There is no such tap."
	}
	switch {
	case slices.Contains(fits[in.kind], r.state):
		return ""
	case r.state == models.InHand:
		return makers[r.person] + " has " + name + " in hand since " + theTime + "."
	case in.kind == models.TapStart && r.state == models.InTrouble:
		return name + " is in trouble (" + knot + "): settle that first."
	case in.kind == models.TapStart:
		return name + " is finished already."
	}
	states := map[models.StepState]string{models.Todo: "not started"}
	kinds := map[models.TapKind]string{models.TapFinish: "finished", models.TapPutDown: "put down", models.TapTrouble: "reported", models.TapSettled: "settled"}
	state, other := states[r.state]
	if !other {
		state = string(r.state)
	}
	return name + " is " + state + ": it cannot be " + kinds[in.kind] + "."
}

// asText lists a history for whoever looks why it cannot have been.
func asText(history []porcupine.Operation) string {
	var b strings.Builder
	for _, op := range history {
		fmt.Fprintf(&b, "%9d to %9d  %+v -> %+v\n", op.Call/1000, op.Return/1000, op.Input, op.Output)
	}
	return b.String()
}
