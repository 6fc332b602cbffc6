// Package handlers owns the conversation with the tablets: a request in, a view
// out, one action a file. It never sequences, builds patterns or touches the
// database except through models.Store.
package handlers
