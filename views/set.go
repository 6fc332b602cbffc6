package views

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"io/fs"
	"path"
	"strings"
	"sync"

	"faceside/views/tongues"
)

//go:embed all:templates
var files embed.FS

// Set is every screen's templates in every language, parsed once.
type Set struct {
	languages map[string]*Screens
}

// Screens are every screen's templates in one language.
type Screens struct {
	Say *tongues.Speaker
	all *template.Template
}

// Load parses the templates, once in a process: one screen a file, its own part of
// the page defined as "content", and the layout and the partials (file names that begin
// with an underscore) for all of them. In them {{t "%d steps" .Count}} says a message of
// the catalogue.
func Load() (*Set, error) { return loaded() }

var loaded = sync.OnceValues(func() (*Set, error) {
	catalogue, err := tongues.Load()
	if err != nil {
		return nil, err
	}
	set := &Set{languages: map[string]*Screens{}}
	for _, l := range tongues.Languages() {
		if set.languages[l.Code], err = load(catalogue.In(l.Code)); err != nil {
			return nil, fmt.Errorf("%s: %w", l.Name, err)
		}
	}
	return set, nil
})

// In returns the screens in a language; in English for one that is not known.
func (s *Set) In(code string) *Screens {
	if screens, ok := s.languages[code]; ok {
		return screens
	}
	return s.languages[tongues.English]
}

// load parses each file by itself and puts what it defines among the others: a copy of
// the partials for every screen would take twenty times the memory.
func load(say *tongues.Speaker) (*Screens, error) {
	names, err := fs.Glob(files, "templates/*.html")
	if err != nil {
		return nil, fmt.Errorf("list the templates: %w", err)
	}
	calendar := calendarIn(say)
	words := template.FuncMap{"t": say.Say, "lang": say.Code, "calendar": func() Calendar { return calendar }}
	all := template.New("").Funcs(words)
	for _, name := range names {
		own, err := template.New("").Funcs(words).ParseFS(files, name)
		if err != nil {
			return nil, fmt.Errorf("parse %s: %w", name, err)
		}
		for _, t := range own.Templates() {
			if err := add(all, t, strings.TrimSuffix(path.Base(name), ".html")); err != nil {
				return nil, fmt.Errorf("%s: %w", name, err)
			}
		}
	}
	return &Screens{Say: say, all: all}, nil
}

// add puts a template of a screen's file among all; each name stands once.
func add(all, t *template.Template, screen string) error {
	name := t.Name()
	if name == "content" {
		name = contentOf(screen)
	}
	if t.Tree == nil || name == "" {
		return nil
	}
	if all.Lookup(name) != nil {
		return fmt.Errorf("the template %q is defined twice", name)
	}
	_, err := all.AddParseTree(name, t.Tree)
	return err
}

// contentOf names the content of a screen among all templates.
func contentOf(screen string) string { return "content of " + screen }

// Page draws a whole page: the layout around the screen's "content".
func (s *Screens) Page(screen string, page Page) ([]byte, error) {
	content, err := s.part(screen, "content", page.Data)
	if err != nil {
		return nil, err
	}
	page.Content = template.HTML(content) // it was escaped when it was drawn
	out, err := s.draw(screen, "_layout.html", page)
	return unbroken(out), err
}

// Fragment draws one named template of a screen, for a swap.
func (s *Screens) Fragment(screen, name string, data any) ([]byte, error) {
	out, err := s.part(screen, name, data)
	return unbroken(out), err
}

func (s *Screens) part(screen, name string, data any) ([]byte, error) {
	if s.all.Lookup(contentOf(screen)) == nil {
		return nil, fmt.Errorf("no screen is called %q", screen)
	}
	if name == "content" {
		name = contentOf(screen)
	}
	return s.draw(screen, name, data)
}

// draw goes to a buffer, so that an error never leaves half a page behind.
func (s *Screens) draw(screen, name string, data any) ([]byte, error) {
	var out bytes.Buffer
	if err := s.all.ExecuteTemplate(&out, name, data); err != nil {
		return nil, fmt.Errorf("draw %s of %s: %w", name, screen, err)
	}
	return out.Bytes(), nil
}
