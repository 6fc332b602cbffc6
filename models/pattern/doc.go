// Package pattern owns what a kind of piece is: it reads patterns, the step
// catalogue and the lists of species, glues and finishes from data files, and
// builds from measures and choices the parts, assemblies, steps and links of
// one piece for a given shop, and its front and side view. It never touches the
// database, the clock or the plan, and it keeps no state between builds.
//
// The files are YAML; expression.go says what may stand in an expression,
// document.go what a pattern file may hold, catalogue.go what a step kind knows.
package pattern
