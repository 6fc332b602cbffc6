// Package planner owns the way between the shop's records and the sequencing
// engine: it writes one problem over all open commissions, re-plans in the
// background after every change, stores the plan, and says what to take next,
// why, and which promises hold. It never touches the journal, builds patterns,
// searches for sequences itself or speaks HTTP.
package planner
