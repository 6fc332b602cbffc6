package pattern

import (
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"path"
	"slices"
	"strings"
)

// Library is a checked set of patterns with the step catalogue and materials
// they use. It never changes after Load and may be used by many goroutines.
type Library struct {
	catalogue *Catalogue
	species   []Species
	glues     []Glue
	finishes  []Finish
	patterns  map[string]*Pattern
}

// Load reads catalogue.yaml, species.yaml, materials.yaml and patterns/*.yaml
// and checks them together: every reference, every expression, and the whole
// order of work of every piece at its defaults in a generous shop. What is wrong
// with a file is a *FileError.
func Load(fsys fs.FS) (*Library, error) {
	l := &Library{patterns: map[string]*Pattern{}}
	if err := l.readLists(fsys); err != nil {
		return nil, err
	}
	files, err := fs.Glob(fsys, "patterns/*.yaml")
	if err != nil {
		return nil, fmt.Errorf("list patterns: %w", err)
	}
	for _, name := range files {
		data, err := fs.ReadFile(fsys, name)
		if err != nil {
			return nil, fmt.Errorf("read pattern: %w", err)
		}
		p, err := ReadPattern(path.Base(name), data)
		if err != nil {
			return nil, err
		}
		if l.patterns[p.Key] != nil {
			return nil, &FileError{File: p.file, Line: 1, Column: 1, Field: "pattern", Reason: fmt.Sprintf("the key %q is taken by %s", p.Key, l.patterns[p.Key].file)}
		}
		l.patterns[p.Key] = p
	}
	for _, key := range l.keys() {
		if err := l.check(l.patterns[key]); err != nil {
			return nil, err
		}
	}
	for _, key := range l.keys() {
		if err := l.tryDefaults(l.patterns[key]); err != nil {
			return nil, err
		}
	}
	return l, nil
}

// With is the library with one more pattern, a maker's own, read and checked as
// Load does; the library itself stays as it is. A key that is taken is refused.
// What is wrong is a *FileError.
func (l *Library) With(name string, data []byte) (*Library, *Pattern, error) {
	p, err := ReadPattern(name, data)
	if err != nil {
		return nil, nil, err
	}
	if taken := l.patterns[p.Key]; taken != nil {
		at := p.header[0]
		return nil, nil, &FileError{File: name, Line: at.line, Column: at.column, Field: "pattern", Reason: fmt.Sprintf("the key %q is taken by %q", p.Key, taken.Title)}
	}
	more := *l
	more.patterns = maps.Clone(l.patterns)
	more.patterns[p.Key] = p
	if err := more.check(p); err != nil {
		return nil, nil, err
	}
	if err := more.tryDefaults(p); err != nil {
		return nil, nil, err
	}
	return &more, p, nil
}

func (l *Library) readLists(fsys fs.FS) error {
	read := func(name string, take func(data []byte) error) error {
		data, err := fs.ReadFile(fsys, name)
		if err != nil {
			return fmt.Errorf("read library: %w", err)
		}
		return take(data)
	}
	return errors.Join(
		read("catalogue.yaml", func(data []byte) (err error) {
			l.catalogue, err = ReadCatalogue("catalogue.yaml", data)
			return err
		}),
		read("species.yaml", func(data []byte) (err error) {
			l.species, err = ReadSpecies("species.yaml", data)
			return err
		}),
		read("materials.yaml", func(data []byte) (err error) {
			l.glues, l.finishes, err = ReadMaterials("materials.yaml", data)
			return err
		}),
	)
}

func (l *Library) keys() []string {
	keys := make([]string, 0, len(l.patterns))
	for k := range l.patterns {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// Patterns lists the pieces, not the sub-assemblies, by title.
func (l *Library) Patterns() []*Pattern {
	var out []*Pattern
	for _, p := range l.patterns {
		if p.Piece {
			out = append(out, p)
		}
	}
	slices.SortFunc(out, func(a, b *Pattern) int { return strings.Compare(a.Title+a.Key, b.Title+b.Key) })
	return out
}

// Pattern is the pattern with this key, or nil.
func (l *Library) Pattern(key string) *Pattern { return l.patterns[key] }

// Catalogue is the step catalogue.
func (l *Library) Catalogue() *Catalogue { return l.catalogue }

// Species, Glues and Finishes list the materials patterns may ask for.
func (l *Library) Species() []Species { return slices.Clone(l.species) }

// Glues lists the generic classes of glue.
func (l *Library) Glues() []Glue { return slices.Clone(l.glues) }

// Finishes lists the generic classes of finish.
func (l *Library) Finishes() []Finish { return slices.Clone(l.finishes) }

// tryDefaults builds a piece at its defaults and keeps what its form shows.
func (l *Library) tryDefaults(p *Pattern) error {
	if !p.Piece {
		return nil
	}
	shop := l.shopFor(p)
	form, err := l.Form(Input{Pattern: p.Key}, shop)
	if err != nil {
		return &FileError{File: p.file, Field: p.Key, Reason: "at its defaults: " + err.Error()}
	}
	p.Measures = form.Measures
	b, err := l.builder(shop)
	if err != nil {
		return err
	}
	_, err = b.build(Input{Pattern: p.Key}, true)
	switch {
	case b.misplaced != nil:
		at := b.misplaced.at
		return &FileError{File: p.file, Line: at.line, Column: at.column, Field: b.misplaced.field, Reason: "at its defaults: " + b.misplaced.reason}
	case err != nil:
		return &FileError{File: p.file, Field: p.Key, Reason: "at its defaults: " + err.Error()}
	case len(b.out.LeftOut) > 0:
		first := b.out.LeftOut[0]
		return &FileError{File: p.file, Line: first.at.line, Column: first.at.column, Field: first.Field, Reason: "at its defaults: " + first.Reason.String()}
	}
	if p.changes == nil {
		return nil
	}
	plain, err := l.builder(shop)
	if err == nil {
		_, err = plain.build(Input{Pattern: p.Key}, false)
	}
	if err != nil {
		return err
	}
	p.called = stepNames(plain.out.Steps, b.out.Steps)
	return nil
}

// Changed says whether the pattern holds changes that were made by hand.
func (p *Pattern) Changed() bool { return p.changes != nil }

// shopFor is the generous shop, with a station of every kind that the changes of a
// pattern ask for: a maker's own step may be done at one that no step kind knows.
func (l *Library) shopFor(p *Pattern) Shop {
	shop := l.GenerousShop()
	if p.changes == nil {
		return shop
	}
	shop.Hands = 100
	for _, s := range slices.Concat(p.changes.steps, p.changes.newSteps) {
		if k := s.station; k.text != "" && !slices.ContainsFunc(shop.Stations, func(have Station) bool { return have.Kind == k.text }) {
			shop.Stations = append(shop.Stations, Station{Key: k.text, Name: capital(k.text), Kind: k.text})
		}
	}
	return shop
}
