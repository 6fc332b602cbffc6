// Package views owns what people see: plain view models, the HTML templates
// that draw them, and the drawings. It never reads records, plans work or
// speaks HTTP.
package views
