package checks

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"faceside/models/pattern"
	"faceside/models/phrase"
	"faceside/models/wood"
)

// work is an order of work that a test spoils.
type work struct {
	t testing.TB
	b *pattern.Built
}

func workOn(t testing.TB, in pattern.Input) *work { return &work{t, build(t, in)} }

func (w *work) step(key string) *pattern.Step {
	w.t.Helper()
	i, err := stepAt(w.b, key)
	require.NoError(w.t, err)
	return &w.b.Steps[i]
}

func (w *work) part(key string) *pattern.Part {
	w.t.Helper()
	i := slices.IndexFunc(w.b.Parts, func(p pattern.Part) bool { return p.Key == key })
	require.GreaterOrEqual(w.t, i, 0, key)
	return &w.b.Parts[i]
}

func (w *work) assembly(key string) *pattern.Assembly {
	w.t.Helper()
	i := slices.IndexFunc(w.b.Assemblies, func(a pattern.Assembly) bool { return a.Key == key })
	require.GreaterOrEqual(w.t, i, 0, key)
	return &w.b.Assemblies[i]
}

// move puts a step in another place.
func (w *work) move(e Move) {
	w.t.Helper()
	e.Why = "spoiled"
	w.edit(e)
}

// add copies a step under another key and puts it after one step and before another.
func (w *work) add(like, key, after, before string, change func(*pattern.Step)) {
	w.t.Helper()
	s := *w.step(like)
	s.Key = key
	change(&s)
	e := AddStep{Step: s, Why: "spoiled"}
	if after != "" {
		e.After = []string{after}
	}
	if before != "" {
		e.Before = []string{before}
	}
	w.edit(e)
}

func (w *work) edit(e Edit) {
	w.t.Helper()
	out, err := Apply(w.b, &Remedy{Say: phrase.Of("spoil"), Edits: []Edit{e}})
	require.NoError(w.t, err)
	w.b = out
}

// drop takes a step out; what stood around it keeps its order.
func (w *work) drop(key string) {
	w.t.Helper()
	w.step(key)
	loosen(w.b, key, leading(w.b, key, true), false)
	w.b.Links = slices.DeleteFunc(w.b.Links, func(l pattern.Link) bool { return l.Before == key || l.After == key })
	w.b.Steps = slices.DeleteFunc(w.b.Steps, func(s pattern.Step) bool { return s.Key == key })
}

// links changes every link between two steps; an empty key means any step.
func (w *work) links(before, after string, change func(*pattern.Link)) {
	w.t.Helper()
	n := 0
	for i := range w.b.Links {
		if l := &w.b.Links[i]; (before == "" || l.Before == before) && (after == "" || l.After == after) {
			change(l)
			n++
		}
	}
	require.Positive(w.t, n, "no link from %q to %q", before, after)
}

// with gives a step another value of its kind.
func (w *work) with(key, name string, to wood.Length) {
	w.t.Helper()
	s := w.step(key)
	s.With = withLength(s.With, name, to)
}

// atOnce lets a step follow another as soon as its attended part is done.
func atOnce(l *pattern.Link) { l.From, l.Min, l.Max = pattern.FromAttended, 0, nil }
