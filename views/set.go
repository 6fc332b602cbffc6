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
	Say     *tongues.Speaker
	screens map[string]*template.Template
}

// Load parses the templates, once in a process: one screen a file, each with the
// layout and the partials (file names that begin with an underscore) at hand. In
// them {{t "%d steps" .Count}} says a message of the catalogue.
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

func load(say *tongues.Speaker) (*Screens, error) {
	shared, err := template.New("").Funcs(template.FuncMap{"t": say.Say, "lang": say.Code}).ParseFS(files, "templates/_*.html")
	if err != nil {
		return nil, fmt.Errorf("parse the shared templates: %w", err)
	}
	names, err := fs.Glob(files, "templates/*.html")
	if err != nil {
		return nil, fmt.Errorf("list the templates: %w", err)
	}
	set := &Screens{Say: say, screens: map[string]*template.Template{}}
	for _, name := range names {
		screen := strings.TrimSuffix(path.Base(name), ".html")
		if strings.HasPrefix(screen, "_") {
			continue
		}
		own, err := shared.Clone()
		if err != nil {
			return nil, fmt.Errorf("clone the shared templates for %s: %w", screen, err)
		}
		if _, err := own.ParseFS(files, name); err != nil {
			return nil, fmt.Errorf("parse %s: %w", name, err)
		}
		set.screens[screen] = own
	}
	return set, nil
}

// Page draws a whole page: the layout around the screen's "content".
func (s *Screens) Page(screen string, page Page) ([]byte, error) {
	return s.draw(screen, "_layout.html", page)
}

// Fragment draws one named template of a screen, for a swap.
func (s *Screens) Fragment(screen, name string, data any) ([]byte, error) {
	return s.draw(screen, name, data)
}

// draw goes to a buffer, so that an error never leaves half a page behind.
func (s *Screens) draw(screen, name string, data any) ([]byte, error) {
	t, ok := s.screens[screen]
	if !ok {
		return nil, fmt.Errorf("no screen is called %q", screen)
	}
	var out bytes.Buffer
	if err := t.ExecuteTemplate(&out, name, data); err != nil {
		return nil, fmt.Errorf("draw %s of %s: %w", name, screen, err)
	}
	return out.Bytes(), nil
}
