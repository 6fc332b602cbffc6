package views

import "html/template"

// Feeds are the calendars that other programs read by a secret address.
type Feeds struct {
	OnlyHere bool // the addresses below lead nowhere from another device
	Rows     []FeedRow
}

// FeedRow is the calendar of a person or of the shop.
type FeedRow struct {
	Name    string
	Person  int64  // 0: the whole shop
	Address string // "" while there is none
	Since   string
	Code    template.HTML // the address, for a camera
}
