// Package checks owns what a good maker would object to in an order of work: each
// check has a reason, a severity and a source, names the steps and parts it means,
// and where one exists gives a remedy that can be applied as it stands. It reads
// what models/pattern builds and never touches the database, the clock or the plan.
//
// checks.go has the interface, index.go the questions a check may ask of an order
// of work, trades.go what each kind of step does, edits.go what a remedy may
// change. The checks stand in files by topic.
package checks
