package views

import "html/template"

// Page is what the layout needs around a screen's own data.
type Page struct {
	Title   string // of the tab
	Screen  string // the nav entry that is lit: bench, week, commissions or shop
	Shop    string // the shop's name
	Person  string // who is at this tablet, "" if nobody said
	Version string // of the state drawn; the live stream tells when it has moved on
	Scripts bool   // htmx is there to be loaded
	Asset   func(name string) string
	Tablet  PageTablet
	Signed  Signed
	Data    any           // the screen's own
	Content template.HTML // which is drawn from it
}

// TabletScripts are the files of the tablet's scripts, in the order they build on
// each other.
func (Page) TabletScripts() []string {
	return []string{"app.js", "live.js", "queue.js", "ahead.js", "worker.js", "tablet.js", "bench.js", "calendar.js", "buttons.js"}
}

// NavItem is one entry of the layout's nav.
type NavItem struct {
	Screen, Name, Href string
}

// Nav lists the screens of a working day in the order people use them; their
// names are keys of the catalogue.
func (p Page) Nav() []NavItem {
	if p.Signed.On && !p.Signed.In {
		return nil
	}
	return []NavItem{
		{"bench", "Bench", "/"},
		{"stations", "Stations", "/stations"},
		{"gates", "Gates", "/gates"},
		{"week", "Week", "/week"},
	}
}

// NavMore lists the others, which a phone has no room for in one row: the planner's.
func (p Page) NavMore() []NavItem {
	if p.Signed.On && !p.Signed.Planner {
		return nil
	}
	return []NavItem{
		{"commissions", "Commissions", "/commissions"},
		{"shop", "Shop", "/shop"},
	}
}
