// Package models owns the records of the shop: the shop itself, its people,
// stations and materials, the commissions with their parts, steps and links,
// the journal of taps and the plans. It reads and writes them in SQLite and
// says which taps are possible. It never sequences, builds patterns or speaks
// HTTP.
package models
