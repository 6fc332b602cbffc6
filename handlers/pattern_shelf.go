package handlers

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"

	"faceside/models"
	"faceside/models/pattern"
	"faceside/models/phrase"
)

// shelf is the library that is served: the shipped patterns and the shop's own.
// It may be used by many goroutines; each call sees the library of one moment.
type shelf struct {
	shipped *pattern.Library
	store   *models.Store
	now     atomic.Pointer[pattern.Library]

	changing sync.Mutex
}

// newShelf reads the shop's own patterns from the store.
func newShelf(ctx context.Context, shipped *pattern.Library, store *models.Store) (*shelf, error) {
	own, err := store.OwnPatterns(ctx)
	if err != nil {
		return nil, fmt.Errorf("read the shop's own patterns: %w", err)
	}
	h := &shelf{shipped: shipped, store: store}
	lib, _ := stacked(shipped, own, "")
	h.now.Store(lib)
	return h, nil
}

// stacked adds patterns to a library, in their order and without one of them.
// wrong says, by key, why one cannot be used: a key that is shipped by now, or a
// sub-assembly that is gone.
func stacked(shipped *pattern.Library, own []models.OwnPattern, without string) (lib *pattern.Library, wrong map[string]error) {
	lib, wrong = shipped, map[string]error{}
	for _, o := range own {
		if o.Key == without {
			continue
		}
		more, _, err := lib.With(o.Key+".yaml", []byte(o.Source))
		if err != nil {
			wrong[o.Key] = err
			continue
		}
		lib = more
	}
	return lib, wrong
}

// own lists the shop's own patterns, and why any of them cannot be used.
func (h *shelf) own(ctx context.Context) ([]models.OwnPattern, map[string]error, error) {
	own, err := h.store.OwnPatterns(ctx)
	if err != nil {
		return nil, nil, fmt.Errorf("read the shop's own patterns: %w", err)
	}
	_, wrong := stacked(h.shipped, own, "")
	return own, wrong, nil
}

// add reads a pattern file, and keeps it where it is sound; file is its name.
// What is wrong with it is a *pattern.FileError.
func (h *shelf) add(ctx context.Context, file string, data []byte) (*pattern.Pattern, error) {
	h.changing.Lock()
	defer h.changing.Unlock()
	more, p, err := h.now.Load().With(file, data)
	if err != nil {
		return nil, err
	}
	if _, err := h.store.KeepPattern(ctx, models.OwnPattern{Key: p.Key, Title: p.Title, Source: string(data)}); err != nil {
		return nil, fmt.Errorf("keep the pattern %q: %w", p.Key, err)
	}
	h.now.Store(more)
	return p, nil
}

// remove takes one of the shop's own patterns away, unless another needs it.
func (h *shelf) remove(ctx context.Context, key string) error {
	h.changing.Lock()
	defer h.changing.Unlock()
	own, wrong, err := h.own(ctx)
	if err != nil {
		return err
	}
	lib, then := stacked(h.shipped, own, key)
	for _, o := range own {
		if o.Key != key && then[o.Key] != nil && wrong[o.Key] == nil {
			return &models.Error{Code: models.Conflict, Field: "pattern", Value: key, Sentence: phrase.Of("“%s” is made of it: remove that first.", o.Title)}
		}
	}
	if err := h.store.RemovePattern(ctx, key); err != nil {
		return fmt.Errorf("remove the pattern %q: %w", key, err)
	}
	h.now.Store(lib)
	return nil
}

// Pattern, Patterns, Form, Build, Keep, Changes, Catalogue, Species and GenerousShop are
// those of the library of the moment.

func (h *shelf) Pattern(key string) *pattern.Pattern { return h.now.Load().Pattern(key) }

func (h *shelf) Patterns() []*pattern.Pattern { return h.now.Load().Patterns() }

func (h *shelf) Form(in pattern.Input, shop pattern.Shop) (*pattern.Form, error) {
	return h.now.Load().Form(in, shop)
}

func (h *shelf) Build(in pattern.Input, shop pattern.Shop) (*pattern.Built, error) {
	return h.now.Load().Build(in, shop)
}

func (h *shelf) Keep(in pattern.Input, shop pattern.Shop, key, title string, c *pattern.Changes) ([]byte, error) {
	return h.now.Load().Keep(in, shop, key, title, c)
}

func (h *shelf) Changes(in pattern.Input, shop pattern.Shop, order *pattern.Built) (*pattern.Changes, error) {
	return h.now.Load().Changes(in, shop, order)
}

func (h *shelf) Catalogue() *pattern.Catalogue { return h.now.Load().Catalogue() }

func (h *shelf) Species() []pattern.Species { return h.now.Load().Species() }

func (h *shelf) GenerousShop() pattern.Shop { return h.now.Load().GenerousShop() }

// fileError is what is wrong with a pattern file, or nil.
func fileError(err error) *pattern.FileError {
	var at *pattern.FileError
	if errors.As(err, &at) {
		return at
	}
	return nil
}
