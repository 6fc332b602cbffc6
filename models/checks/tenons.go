package checks

import (
	"slices"
	"strings"

	"faceside/models/pattern"
	"faceside/models/phrase"
	"faceside/models/wood"
)

// corner is a post that rails come into from two neighbouring sides.
type corner struct {
	cut   int         // the step that cuts its mortises, slots or holes
	post  string      // the part
	thick wood.Length // of the post
	room  wood.Length // how far a tenon goes in before it comes to where the other side's is
}

// rail is what comes into a corner, with the step that cuts its end.
type rail struct {
	key   string // part or assembly
	cut   int
	reach wood.Length // how far its tenon or dowel goes into the post
	into  string      // the assembly in which it comes to the post
	stage int         // how many glue-ups the post has behind it then
}

// tenonsMeet finds posts in which the tenons of two rails would want the same wood. By
// the geometry of a square post: a tenon from one side is in the way of the other's as
// soon as it goes further in than the near face of that one lies. Long enough to meet,
// two tenons still pass with their ends mitred, and dowels at other heights.
func tenonsMeet(o *order) []Finding {
	var out []Finding
	for _, c := range o.corners() {
		long := o.meeting(c)
		switch {
		case len(long) == 0:
		case o.steps[c.cut].Kind == "dowel-holes":
			out = append(out, o.dowelsMeet(c, long))
		default:
			if f, found := o.squareEnds(c, long); found {
				out = append(out, f)
			}
		}
	}
	return out
}

// corners are the posts that are cut from two sides at the same heights.
func (o *order) corners() []corner {
	var out []corner
	for i := range o.steps {
		s := &o.steps[i]
		wide := value(s, "width", value(s, "diameter", 0))
		if !does(s, jointing) || wide == 0 || number(s, "sides") < 2 || number(s, "apart") > 0 {
			continue
		}
		for _, p := range s.Parts {
			thick := min(o.part[p.Part].Finished.Width, o.part[p.Part].Finished.Thickness)
			middle := value(s, "middle", 0)
			if middle <= 0 {
				middle = thick / 2
			}
			out = append(out, corner{cut: i, post: p.Part, thick: thick, room: thick - middle - wide/2})
		}
	}
	return out
}

// meeting are the rails of a corner that reach too far, where they do from both sides:
// the rails of one stage of the glue-up come from one side, those of the next from the
// other. Where all come in one stage, the shortest tells.
func (o *order) meeting(c corner) []rail {
	var long []rail
	all, reaching := map[int]bool{}, map[int]bool{}
	short := false
	for _, r := range o.rails(c) {
		all[r.stage] = true
		if r.reach > c.room {
			long, reaching[r.stage] = append(long, r), true
		} else {
			short = true
		}
	}
	if len(reaching) > 1 || len(all) == 1 && !short {
		return long
	}
	return nil
}

// rails are what is built in beside a post, or with what holds the post, and has
// tenons, slots or dowels cut on it.
func (o *order) rails(c corner) []rail {
	var out []rail
	stage := map[string]int{c.post: 0}
	for around := []string{c.post}; len(around) > 0; around = around[1:] {
		for _, into := range o.inside[around[0]] {
			if _, seen := stage[into]; seen {
				continue
			}
			stage[into] = stage[around[0]] + 1
			around = append(around, into)
			for _, key := range holds(o.assembly[into]) {
				for _, i := range o.doing(key, jointing) {
					s := &o.steps[i]
					if i == c.cut || !slices.Contains([]string{"tenon", "slot-mortise", "dowel-holes"}, s.Kind) {
						continue
					}
					out = append(out, rail{key: key, cut: i, reach: value(s, "length", value(s, "depth", 0)), into: into, stage: stage[into]})
				}
			}
		}
	}
	return out
}

// dowelsMeet says that the dowels of two rails meet; the remedy sets them out at other
// heights.
func (o *order) dowelsMeet(c corner, long []rail) Finding {
	says := "Set its dowels out at a height where those of the neighbouring rails pass."
	f := Finding{
		Steps: o.keysOf(c.cut), Parts: append([]string{c.post}, keysOfRails(long)...),
		Reason: phrase.Of("%s They pass each other when they lie at other heights.", o.inTheWay(c, long, phrase.Key("dowels"))),
		Remedy: &Remedy{Say: phrase.Of("Set the dowels of the two sides out at other heights.")},
	}
	for _, i := range cutsOf(c, long) {
		s := o.steps[i]
		s.With = append(slices.DeleteFunc(slices.Clone(s.With), func(v pattern.MeasureValue) bool { return v.Key == "apart" }),
			pattern.MeasureValue{Key: "apart", Number: 1})
		s.Note = strings.TrimSpace(s.Note + " " + says)
		f.Remedy.Edits = append(f.Remedy.Edits, SetStep{s})
	}
	return f
}

// cutsOf are the steps that cut a post and its rails, each once.
func cutsOf(c corner, rails []rail) []int {
	out := []int{c.cut}
	for _, r := range rails {
		if !slices.Contains(out, r.cut) {
			out = append(out, r.cut)
		}
	}
	return out
}

func keysOfRails(rails []rail) []string {
	var out []string
	for _, r := range rails {
		if !slices.Contains(out, r.key) {
			out = append(out, r.key)
		}
	}
	return out
}

// inTheWay says which tenons or dowels meet, and from what length on.
func (o *order) inTheWay(c corner, long []rail, what phrase.Key) phrase.Phrase {
	reach := long[0].reach
	for _, r := range long {
		reach = min(reach, r.reach)
	}
	return phrase.Of("The %s of the %s go %s into the %s, %s thick, from two sides; past %s they meet.",
		what.Of(), o.names(keysOfRails(long)), o.say(reach), o.name(c.post), o.say(c.thick), o.say(c.room))
}

// squareEnds says that tenons meet whose ends are not mitred in time; the remedy mitres
// them.
func (o *order) squareEnds(c corner, long []rail) (Finding, bool) {
	var lacking []rail
	m := &Remedy{Say: phrase.Of("Mitre the ends of the tenons."), Edits: nil}
	taken := map[string]bool{}
	for _, r := range long {
		ends := o.ends(r)
		if slices.ContainsFunc(ends, func(key string) bool { return o.mitred(key, r) }) {
			continue
		}
		lacking = append(lacking, r)
		if len(ends) > 0 && !taken[ends[0]] {
			taken[ends[0]] = true
			m.Edits = append(m.Edits, o.mitre(ends, r)...)
		}
	}
	if len(lacking) == 0 {
		return Finding{}, false
	}
	f := Finding{
		Steps: append(o.keysOf(lacking[0].cut), o.keysOf(c.cut)...), Parts: append([]string{c.post}, keysOfRails(lacking)...),
		Reason: phrase.Of("%s With their ends mitred they pass.", o.inTheWay(c, lacking, phrase.Key("tenons"))),
	}
	if len(m.Edits) > 0 {
		f.Remedy = m
	}
	return f, true
}

// ends are what is mitred so that a rail's tenons pass: the rail itself, or its loose
// tenons.
func (o *order) ends(r rail) []string {
	if o.steps[r.cut].Kind == "tenon" {
		return []string{r.key}
	}
	thick := value(&o.steps[r.cut], "width", 0)
	var out []string
	for _, p := range o.assembly[r.into].Parts {
		if part := o.part[p.Part]; p.Part != r.key && part.Finished.Thickness == thick && len(o.doing(p.Part, planing)) == 0 {
			out = append(out, p.Part)
		}
	}
	return out
}

// mitred says whether the end of a tenon is mitred when it goes into its post.
func (o *order) mitred(key string, r rail) bool {
	m, made := o.maker[r.into]
	return slices.ContainsFunc(o.doing(key, mitring), func(i int) bool {
		return (key != r.key || o.before(r.cut, i)) && (!made || o.before(i, m))
	})
}

var addMitre = &made{kind: "mitre-tenons", verb: "Mitre", says: "Saw the ends of the tenons to 45°, so that two fit beside each other in one post: ", phase: pattern.Joinery, station: "bench", minutes: 8,
	caution: "Sharp edge tools: cut away from yourself, work clamped."}

// mitre are the edits that mitre the ends of a rail's tenons after they are cut and
// before whatever comes next.
func (o *order) mitre(ends []string, r rail) []Edit {
	why := "a mitred tenon leaves room for the one beside it"
	var after []string
	before := []string{}
	if ends[0] == r.key {
		after = o.keysOf(r.cut)
	}
	for _, l := range o.b.Links {
		if l.Before == o.steps[r.cut].Key && !slices.Contains(before, l.After) && !does(&o.steps[o.place[l.After]], mitring) {
			before = append(before, l.After)
		}
	}
	if m, made := o.maker[r.into]; made && !slices.Contains(before, o.steps[m].Key) && !o.before(m, r.cut) {
		before = append(before, o.steps[m].Key)
	}
	for _, key := range ends {
		if there := o.doing(key, mitring); len(there) > 0 { // in the wrong place
			e := Move{Step: o.steps[there[0]].Key, Why: why}
			if len(after) > 0 {
				e.After = after[0]
			}
			if len(before) > 0 {
				e.Before = before[len(before)-1]
			}
			return []Edit{e}
		}
	}
	s, ok := rule{add: addMitre}.step(o, r.cut, ends)
	if !ok {
		return nil
	}
	return []Edit{AddStep{Step: s, After: after, Before: before, Why: why}}
}
