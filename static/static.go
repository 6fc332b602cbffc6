// Package static owns the files a browser fetches besides the pages: styles,
// scripts, icons, and the browser library that `go generate ./static` fetches
// into vendor. It only carries files; it never serves them and knows no page.
package static

import (
	"embed"
	"io/fs"
)

//go:generate go run fetch.go

//go:embed *.css *.js *.webmanifest icons vendor
var files embed.FS

// libraries are the files under vendor that make the pages live.
var libraries = []string{"vendor/htmx.min.js"}

// Files holds everything a browser may fetch, by its path below /static/.
func Files() fs.FS { return files }

// Missing lists the browser libraries that were not there when the program was
// built; without them the pages work as plain HTML. Nil when all are there.
func Missing() []string { return missing(files) }

func missing(fsys fs.FS) []string {
	var gone []string
	for _, name := range libraries {
		if _, err := fs.Stat(fsys, name); err != nil {
			gone = append(gone, name)
		}
	}
	return gone
}
