// Package seed owns the data the program ships with: the step catalogue, the
// species, glues and finishes, the patterns, what a new shop starts with, and the
// demo shop. It writes only into an empty shop, and never changes one in use.
package seed

import (
	"embed"
	"fmt"
	"sync"

	"faceside/models/pattern"
)

//go:embed catalogue.yaml species.yaml materials.yaml patterns/*.yaml
var files embed.FS

// Library is the checked set of shipped patterns. It is read once and shared;
// a Library never changes.
var Library = sync.OnceValues(func() (*pattern.Library, error) {
	l, err := pattern.Load(files)
	if err != nil {
		return nil, fmt.Errorf("shipped patterns: %w", err)
	}
	return l, nil
})

// Glues are the generic classes of glue a new shop starts with. They come from
// the Library; where that cannot be read there are none, and Library says why.
func Glues() []pattern.Glue {
	l, err := Library()
	if err != nil {
		return nil
	}
	return l.Glues()
}

// Finishes are the generic classes of finish a new shop starts with; as Glues.
func Finishes() []pattern.Finish {
	l, err := Library()
	if err != nil {
		return nil
	}
	return l.Finishes()
}
