package pattern

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"faceside/models/wood"
)

// addSteps makes the steps of the sub-assemblies first, then an instance's own.
func (b *builder) addSteps(top *instance) {
	b.eachInstance(top, func(in *instance) {
		for i := range in.pattern.steps {
			s := &in.pattern.steps[i]
			made, err := b.step(in, s)
			if err != nil {
				b.wrong(in, s.key, err)
				continue
			}
			if made == nil {
				continue
			}
			b.index[made.Key] = len(b.out.Steps)
			b.out.Steps = append(b.out.Steps, *made)
		}
	})
}

// step makes one step; nil where it is not there at these choices.
func (b *builder) step(in *instance, s *step) (*Step, error) {
	there, err := s.when.holds(in.values)
	if err != nil || !there {
		return nil, err
	}
	k := b.lib.catalogue.kinds[s.kind]
	made, err := b.begin(in, s, k)
	if err != nil || made == nil {
		return nil, err
	}
	other := b.instead(k, made)
	if other != nil {
		k = other
		if made, err = b.begin(in, s, k); err != nil {
			return nil, err
		}
	}
	v, err := b.kindValues(in, s, k, made)
	if err != nil {
		return nil, err
	}
	w := words{here: in.here, what: b.what(made)}
	if made.Makes != "" {
		w.makes = small(b.assemblies[made.Makes].Name)
	}
	if s.name != nil && other == nil {
		made.Name, err = s.name.fill(in.values, w, b.shown)
	} else {
		made.Name, err = k.says.fill(v, w, b.shown)
	}
	if err != nil {
		return nil, err
	}
	if made.Note, err = s.note.fill(in.values, w, b.shown); err != nil {
		return nil, err
	}
	passes := b.place(k, made)
	if err := b.effort(k, made, v, passes); err != nil {
		return nil, err
	}
	if err := b.setUp(k, made, v); err != nil {
		return nil, err
	}
	return made, b.hold(k, made, v)
}

// begin is a step of a kind with what it works on; nil where none of that is there.
func (b *builder) begin(in *instance, s *step, k *kind) (*Step, error) {
	made := &Step{
		Key: in.prefix + s.key, Kind: k.key, Phase: k.phase, Verb: k.verb, Interruptible: k.interruptible,
		Dusty: k.dusty, Wet: k.wet, Cautions: slices.Clone(k.cautions), KeepsFaces: s.keepsFaces,
	}
	if there, err := b.worksOn(in, s, made); err != nil || !there && !k.jig {
		return nil, err
	}
	return made, nil
}

// worksOn notes the parts and assemblies of a step; false where none is there.
func (b *builder) worksOn(in *instance, s *step, made *Step) (bool, error) {
	var err error
	if made.Parts, err = b.partUses(in, s.parts); err != nil {
		return false, err
	}
	for _, ref := range s.assemblies {
		if key, there := in.resolve(ref.text); there {
			made.Assemblies = append(made.Assemblies, key)
		}
	}
	if s.makes.set {
		key, there := in.resolve(s.makes.text)
		if !there {
			return false, nil
		}
		made.Makes = key
		if len(made.Parts)+len(made.Assemblies) == 0 {
			made.Parts = slices.Clone(b.assemblies[key].Parts)
			made.Assemblies = slices.Clone(b.assemblies[key].Assemblies)
		}
	}
	for _, p := range made.Parts {
		for _, sp := range b.lib.species {
			if sp.Key == b.parts[p.Part].Species && sp.Caution != "" && made.Dusty && !slices.Contains(made.Cautions, sp.Caution) {
				made.Cautions = append(made.Cautions, sp.Caution)
			}
		}
	}
	return len(made.Parts)+len(made.Assemblies) > 0, nil
}

// what names what a step works on: "post × 4 and long rail × 2".
func (b *builder) what(s *Step) string {
	var names []string
	for _, p := range s.Parts {
		name := small(b.parts[p.Part].Name)
		if p.Quantity > 1 {
			name = fmt.Sprintf("%s × %d", name, p.Quantity)
		}
		names = append(names, name)
	}
	for _, a := range s.Assemblies {
		names = append(names, small(b.assemblies[a].Name))
	}
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	return strings.Join(names[:len(names)-1], ", ") + " and " + names[len(names)-1]
}

// kindValues works out everything a step kind's formulas may use.
func (b *builder) kindValues(in *instance, s *step, k *kind, made *Step) (values, error) {
	var err error
	if s.glue != nil {
		if made.Glue, err = s.glue.text(in.values); err != nil {
			return nil, err
		}
	}
	if s.finish != nil {
		if made.Finish, err = s.finish.text(in.values); err != nil {
			return nil, err
		}
	}
	v := b.materialTimes(made)
	if err := b.amounts(in, s, k, made, v); err != nil {
		return nil, err
	}
	for _, q := range k.parameters {
		if f := s.with[q.key]; f != nil {
			v[q.key], err = f.eval(in.values)
		} else {
			v[q.key], err = q.fallback.eval(v)
		}
		if err != nil {
			return nil, err
		}
		if q.sort != isText {
			made.With = append(made.With, valueOf(q, v[q.key]))
		}
	}
	return v, nil
}

// valueOf notes the value of a parameter.
func valueOf(q parameter, value any) MeasureValue {
	if q.sort == isLength {
		return MeasureValue{Key: q.key, IsLength: true, Length: wood.Length(size(value))}
	}
	return MeasureValue{Key: q.key, Number: num(value)}
}

// amounts adds to v how much a step works: from its parts and assemblies, or as
// the pattern says instead.
func (b *builder) amounts(in *instance, s *step, k *kind, made *Step, v values) error {
	rough := k.handles != nil && k.handles.rough
	pieces, run, surface, most := 0.0, 0.0, 0.0, Size{}
	b.eachItem(made, rough, func(_ string, n int, z Size) {
		pieces += float64(n)
		run += float64(n) * z.Length.Metres()
		surface += float64(n) * z.Length.Metres() * z.Width.Metres()
		most = Size{max(most.Length, z.Length), max(most.Width, z.Width), max(most.Thickness, z.Thickness)}
	})
	var err error
	if s.pieces != nil {
		if pieces, err = s.pieces.number(in.values); err != nil {
			return err
		}
	}
	if s.run != nil {
		l, err := s.run.length(in.values)
		if err != nil {
			return err
		}
		run = l.Metres()
	}
	if s.surface != nil {
		if surface, err = s.surface.number(in.values); err != nil {
			return err
		}
	}
	v["pieces"], v["run"], v["surface"] = pieces, run, surface
	v["long"], v["wide"], v["thick"] = fromWood(most.Length), fromWood(most.Width), fromWood(most.Thickness)
	return nil
}

// eachItem visits what a step works on, by name, number and size of one.
func (b *builder) eachItem(s *Step, rough bool, visit func(name string, n int, z Size)) {
	for _, p := range s.Parts {
		part := b.parts[p.Part]
		z := part.Finished
		if rough {
			z = part.Rough
		}
		visit(part.Name, p.Quantity, z)
	}
	for _, key := range s.Assemblies {
		visit(b.assemblies[key].Name, 1, b.assemblies[key].Size)
	}
}

func appendNew(list []string, text string) []string {
	if text == "" || slices.Contains(list, text) {
		return list
	}
	return append(list, text)
}

// greatestMinutes bounds one step's times to a year.
const greatestMinutes = 525_600

// effort works out attended time and hands. passes multiplies what grows with
// the amount of work.
func (b *builder) effort(k *kind, made *Step, v values, passes int) error {
	total, err := k.time.minutes(v, passes)
	if err != nil {
		return err
	}
	if total > greatestMinutes {
		return fmt.Errorf("its time would be %g minutes", total)
	}
	made.Attended = max(1, int(math.Ceil(total-1e-9)))
	made.Hands = 1
	if k.hands != nil {
		if made.Hands, err = k.hands.count(v, 1, 20); err != nil {
			return err
		}
	}
	if made.Hands > b.shop.Hands {
		b.errs.add("", fmt.Sprint(made.Hands), "%s needs %d people; the shop has %d", made.Name, made.Hands, b.shop.Hands)
	}
	return nil
}

// minutes is fixed + pieces, metres and square metres at their rates; never negative.
func (t timing) minutes(v values, passes int) (float64, error) {
	sum := 0.0
	for _, term := range []struct {
		rate   *formula
		amount float64
	}{
		{t.fixed, 1}, {t.perPiece, num(v["pieces"]) * float64(passes)},
		{t.perMetre, num(v["run"]) * float64(passes)}, {t.perSquareMetre, num(v["surface"]) * float64(passes)},
	} {
		if term.rate == nil {
			continue
		}
		rate, err := term.rate.number(v)
		if err != nil {
			return 0, err
		}
		sum += max(0, rate) * max(0, term.amount)
	}
	return sum, nil
}

// setUp works out the state the station must be in. It is written as finely as
// the shop reads lengths, so that what looks the same to the maker who sets it,
// in any two commissions, is one state.
func (b *builder) setUp(k *kind, made *Step, v values) error {
	if k.setup == nil {
		return nil
	}
	what := b.what(made)
	state, err := k.setup.state.fill(v, words{what: what}, b.shown)
	if err != nil {
		return err
	}
	say, err := k.setup.say.fill(v, words{what: what}, b.shown)
	if err != nil {
		return err
	}
	made.Setup = &Setup{Family: k.setup.family, State: k.setup.family + " " + state, Instruction: say}
	return nil
}

// hold works out clamps, open time and rest.
func (b *builder) hold(k *kind, made *Step, v values) error {
	if k.clamps != nil {
		n, err := k.clamps.count.number(v)
		if err != nil {
			return err
		}
		reach, err := k.clamps.reach.length(v)
		if err != nil {
			return err
		}
		if n > greatestCount {
			return fmt.Errorf("it would need %g clamps", n)
		}
		made.Clamps = b.clamps(made.Name, int(math.Ceil(n-1e-9)), reach)
	}
	if k.open != nil {
		open, err := k.open.minutes(v, 1)
		if err != nil {
			return err
		}
		made.OpenTime = min(max(1, int(math.Ceil(open-1e-9))), made.Attended)
	}
	if k.restMinutes == nil {
		return nil
	}
	rest, err := k.restMinutes.number(v)
	if err != nil {
		return err
	}
	if rest < 0 || rest > greatestMinutes {
		return fmt.Errorf("it would rest for %g minutes", rest)
	}
	if made.Unattended = int(math.Ceil(rest - 1e-9)); made.Unattended > 0 {
		made.Rest = k.rest
	}
	return nil
}

// clamps chooses the class of the least reach that spans the work and has enough;
// where no class alone has, longer ones help out. Too few in all is an error.
func (b *builder) clamps(name string, need int, reach wood.Length) []ClampUse {
	if need < 1 {
		return nil
	}
	var fit []ClampClass
	for _, c := range b.shop.Clamps {
		if c.Reach >= reach {
			fit = append(fit, c)
		}
	}
	slices.SortStableFunc(fit, func(x, y ClampClass) int { return int(min(1, max(-1, x.Reach-y.Reach))) })
	var classes []string
	var mixed []ClampUse
	there := 0
	for _, c := range fit {
		if c.Count >= need {
			return []ClampUse{{Class: c.Key, Count: need}}
		}
		if n := min(c.Count, need-there); n > 0 {
			mixed = append(mixed, ClampUse{Class: c.Key, Count: n})
			there += n
		}
		classes = append(classes, fmt.Sprintf("%s: %d", c.Name, c.Count))
	}
	if there == need {
		return mixed
	}
	if len(fit) == 0 {
		b.errs.add("", b.shown.length(reach), "%s needs %d clamps that open %s; no class of clamp in the shop does", name, need, b.shown.length(reach))
		return nil
	}
	b.errs.add("", fmt.Sprint(need), "%s needs %d clamps that open %s; the rack has %d (%s)",
		name, need, b.shown.length(reach), there, strings.Join(classes, ", "))
	return nil
}
