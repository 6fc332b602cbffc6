package pattern

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
)

// allWithin checks every measure against its limits.
func (b *builder) allWithin(p *Pattern, v values, who blame) bool {
	faults, _ := b.faults(p, v)
	for _, m := range p.measures {
		if err := faults[m.key]; err != nil {
			b.errs.add(who.field(m.key), b.shown.value(v[m.key]), "%s%s", who.prefix(), err)
		}
	}
	return len(faults) == 0
}

// faults says what is wrong with which measures. Where the limits of one hang on another
// that is itself at fault, it is judged by the values that one may have: only what would
// be wrong with all of them is its own fault. The values with every measure at fault put
// to its default come back too.
func (b *builder) faults(p *Pattern, v values) (map[string]error, values) {
	// What is at fault is taken to be its default, its least and its greatest value.
	supposed := []values{maps.Clone(v), maps.Clone(v), maps.Clone(v)}
	found := map[string]error{}
	for {
		m, fault := b.nextFault(p, supposed, found)
		if m == nil {
			return found, supposed[0]
		}
		found[m.key] = fault
		for i, f := range []*formula{m.fallback, m.least, m.greatest} {
			if x, err := f.eval(supposed[i]); err == nil {
				supposed[i][m.key] = x
			}
		}
	}
}

// nextFault is a measure at fault that is not among those known, and what is wrong with
// it: one whose limits hang on no other of them, if there is one.
func (b *builder) nextFault(p *Pattern, supposed []values, known map[string]error) (*measure, error) {
	var left []*measure
	wrong := map[string]error{}
	for i := range p.measures {
		m := &p.measures[i]
		if known[m.key] != nil {
			continue
		}
		if err := b.faultOf(m, supposed); err != nil {
			left, wrong[m.key] = append(left, m), err
		}
	}
	if len(left) == 0 {
		return nil, nil
	}
	first := slices.IndexFunc(left, func(m *measure) bool {
		return !slices.ContainsFunc(left, func(other *measure) bool { return other != m && m.hangsOn(other.key) })
	})
	m := left[max(first, 0)] // where they all hang on each other, the one that is asked for first
	return m, wrong[m.key]
}

// hangsOn says whether the limits of a measure ask for another.
func (m *measure) hangsOn(key string) bool {
	return slices.Contains(m.least.named, key) || slices.Contains(m.greatest.named, key)
}

// faultOf is what is wrong with a measure whatever is supposed of the others, or nil.
func (b *builder) faultOf(m *measure, supposed []values) error {
	var first error
	for _, v := range supposed {
		err := b.within(m, v)
		if err == nil {
			return nil
		}
		if first == nil {
			first = err
		}
	}
	return first
}

// within checks one measure against its limits.
func (b *builder) within(m *measure, v values) error {
	least, errLeast := m.least.eval(v)
	greatest, errGreatest := m.greatest.eval(v)
	if err := errors.Join(errLeast, errGreatest); err != nil {
		return fmt.Errorf("%s: its limits cannot be worked out at these measures: %w", m.name, err)
	}
	value := b.shown.value(v[m.key])
	low, high := magnitude(least), magnitude(greatest)
	at := magnitude(v[m.key])
	switch {
	case low > high:
		return fmt.Errorf("%s is %s, but at these measures no value is left for it: least %s, greatest %s",
			m.name, value, b.shown.value(least), b.shown.value(greatest))
	case at < low || at > high:
		from, to := b.shown.limits(least, greatest)
		return fmt.Errorf("%s is %s; it must lie between %s and %s", m.name, value, from, to)
	case m.whole && at != math.Trunc(at):
		return fmt.Errorf("%s is %s; a whole number is wanted", m.name, value)
	}
	return nil
}
