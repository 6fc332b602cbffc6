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
// may ask for fewer, or for any number. No piece too short for it is ripped.
//
// # How good it is
//
// The tests hold the search against published boards: of cgcut1 to 3 (Christofides and
// Whitlock 1977) it gets the best value, the best, and 1.1 % less; of gcut1 to 6 and 9
// (Beasley 1985) and cgcut1 to 3, cut from the fewest equal boards, it takes as many as
// are known to be needed (from memory), and the bound proves six of the ten; the best cutting of one
// board behind the bound gives all ten published values exactly. On invented racks of
// boards of mixed sizes, with knots, kerf and three stages, its plans lie some 14 to 29 %
// above the bound. How much of that is the bound's weakness is not known: it takes
// little account of where defects lie and none of the stages.
//
// # Colour
//
// Parts of one match come from one board where one holds them, else from boards that
// follow each other in a log, else from boards of one log, else from any; the plan says
// which, and Check holds it to that. Solve asks for the nearest first, in short searches,
// and for less only where parts would be left out otherwise: it may miss a way to lay a
// group on one board that a longer search would find.
//
// Solve searches; Check knows nothing of the search and says whether a plan can be
// sawn; LowerBound says what area of boards no plan can do without.
package stock
