// Package testrig builds small shops for the tests of other packages: a store
// in a temporary folder, a clock that stands still, and a commission. It is
// used by tests only and never by the program.
package testrig
