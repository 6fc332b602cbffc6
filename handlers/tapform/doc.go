// Package tapform reads the form of a tap, and the spans of time that people type. It
// knows no record and no server, so that what nobody would write is tried on it quickly.
package tapform
