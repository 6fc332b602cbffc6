package handlers

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"mime"
	"net/http"
	"path"
	"strings"

	"github.com/gin-gonic/gin"
)

// assets is the static files with a mark of their content each, so that a
// browser may keep a file for good and still gets a new one after an upgrade.
type assets struct {
	files fs.FS
	marks map[string]string
}

func newAssets(files fs.FS) (*assets, error) {
	a := &assets{files: files, marks: map[string]string{}}
	err := fs.WalkDir(files, ".", func(name string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		data, err := fs.ReadFile(files, name)
		if err != nil {
			return err
		}
		sum := sha256.Sum256(data)
		a.marks[name] = hex.EncodeToString(sum[:6])
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("read the static files: %w", err)
	}
	return a, nil
}

// url is where a page finds a file.
func (a *assets) url(name string) string {
	if mark, ok := a.marks[name]; ok {
		return "/static/" + name + "?v=" + mark
	}
	return "/static/" + name
}

func (s *server) static(c *gin.Context) {
	s.file(c, strings.TrimPrefix(c.Param("name"), "/"))
}

// serviceWorker answers at the root, as a worker rules only over the paths below
// its own.
func (s *server) serviceWorker(c *gin.Context) { s.file(c, "sw.js") }

func (s *server) file(c *gin.Context, name string) {
	mark, ok := s.assets.marks[name]
	if !ok {
		s.notFound(c)
		return
	}
	data, err := fs.ReadFile(s.assets.files, name)
	if err != nil {
		if errors.Is(err, fs.ErrNotExist) {
			s.notFound(c)
			return
		}
		s.fail(c, fmt.Errorf("read static file %s: %w", name, err))
		return
	}
	etag := `"` + mark + `"`
	c.Header("ETag", etag)
	c.Header("Cache-Control", "no-cache")
	if c.Query("v") == mark {
		c.Header("Cache-Control", "public, max-age=31536000, immutable")
	}
	if c.GetHeader("If-None-Match") == etag {
		c.Status(http.StatusNotModified)
		return
	}
	kind := mime.TypeByExtension(path.Ext(name))
	if kind == "" {
		kind = "application/octet-stream"
	}
	s.send(c, http.StatusOK, kind, data)
}
