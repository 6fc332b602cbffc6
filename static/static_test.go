package static

import (
	"encoding/json"
	"io/fs"
	"os"
	"path"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestMissing(t *testing.T) {
	tests := []struct {
		name string
		have fstest.MapFS
		want []string
	}{
		{"none fetched", fstest.MapFS{"vendor/README": {}}, []string{"vendor/htmx.min.js"}},
		{"fetched", fstest.MapFS{"vendor/htmx.min.js": {}}, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.Equal(t, tt.want, missing(tt.have))
		})
	}
}

func TestEmbeddedFilesAreWhole(t *testing.T) {
	for _, name := range libraries {
		if _, err := os.Stat(name); err != nil {
			continue // not fetched: Missing says so
		}
		data, err := fs.ReadFile(Files(), name)
		require.NoError(t, err)
		assert.Greater(t, len(data), 1000, name)
	}
}

// Only what a browser may fetch is embedded: no sources of this package, no npm folder.
func TestEmbeddedFilesAreForBrowsers(t *testing.T) {
	err := fs.WalkDir(Files(), ".", func(name string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		assert.Contains(t, []string{".css", ".js", ".svg", ".png", ".webmanifest", ".LICENSE", ""}, path.Ext(name), name)
		return nil
	})
	require.NoError(t, err)
}

// The lock file must name the version this program's pages are written for, with
// its checksum, and no registry host.
func TestLockFile(t *testing.T) {
	data, err := os.ReadFile("package-lock.json")
	require.NoError(t, err)
	var lock struct {
		LockfileVersion int `json:"lockfileVersion"`
		Packages        map[string]struct {
			Version, Integrity, Resolved string
		}
	}
	require.NoError(t, json.Unmarshal(data, &lock))
	assert.Equal(t, 3, lock.LockfileVersion)
	assert.Equal(t, "4.0.1", lock.Packages["node_modules/htmx.org"].Version)
	for name, p := range lock.Packages {
		assert.Empty(t, p.Resolved, name)
		assert.Equal(t, name != "", p.Integrity != "", "%q: everything fetched has its checksum", name)
	}
}
