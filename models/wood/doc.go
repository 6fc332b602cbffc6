// Package wood owns what is true of wood whoever works it: lengths and
// fractions, board measure, moisture and movement, the times of glue and
// finish. It knows no shop, no commission and no database, and imports nothing
// of ours.
package wood
