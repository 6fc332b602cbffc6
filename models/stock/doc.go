// Package stock owns the wood a commission takes: its cut list, the boards to buy, the
// runs through the planer, and the plan of cuts that gets the rough parts out of boards
// on hand. It never touches the database, HTTP, the clock or a drawing, and knows of the
// shop only what it is given.
//
// # A plan of cuts
//
// A board lies with its length from left to right and its lower edge towards the
// maker: X runs along the grain, Y across it. Every cut goes from edge to edge of the
// piece in hand and takes a kerf: a crosscut across the grain, a rip along it. The
// usual order is crosscut to rough lengths, rip to rough widths, crosscut once more
// where shorter parts share a strip (three stages, common practice, no source); Rules
// may ask for fewer, or for any number.
//
// Solve searches; Check knows nothing of the search and says whether a plan can be
// sawn; LowerBound says what area of boards no plan can do without.
package stock
