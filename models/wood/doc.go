// Package wood owns what is true of wood whoever works it: lengths and
// fractions, board measure, moisture and movement, the times of glue and
// finish. It knows no shop, no commission and no database, and imports nothing
// of ours.
//
// Every table and formula names its source beside it. A figure that was not seen in
// print is marked as from memory, and a rule of the trade without a source as common
// practice. Times and pressures are ranges of a class: the maker's own sheet comes
// first. What cannot be is refused with an *Error that names field, value and limit.
package wood
