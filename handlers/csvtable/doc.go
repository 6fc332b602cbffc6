// Package csvtable writes tables as CSV, for programs and for spreadsheets, so that no cell
// is a formula and whatever was typed is read back. It knows no record and no server.
package csvtable
