package views

import "html/template"

// Traveller goes with the pieces of a commission from station to station, on paper.
type Traveller struct {
	Href     string // of the commission
	Shop     string
	Name     string
	Client   string
	Promised string
	Printed  string
	Note     string
	OnlyHere bool // the codes lead nowhere from another device
	Code     template.HTML
	Cautions []string // which the steps name by their numbers
	Pieces   []TravellerPiece
	Steps    []SheetStep
}

// TravellerPiece is one piece with its parts.
type TravellerPiece struct {
	Name  string
	From  []Made
	Parts []PartSizes
}

// Sheets are what is set and done at stations on a day, on paper.
type Sheets struct {
	Notice   string // why the day asked for is not shown
	Shop     string
	Day      string
	Printed  string
	Earlier  string
	Today    string
	Later    string
	Back     string
	BackName string
	OnlyHere bool
	Sheets   []Sheet
}

// Sheet is one station's.
type Sheet struct {
	Name     string
	Stands   string
	Down     string
	Cautions []string // of all that is done there
	Hand     []string
	Runs     []SheetRun
}

// SheetRun is a setup with the steps under it.
type SheetRun struct {
	Mark        string
	When        string
	Instruction string
	Set         bool     // the station is set for it
	Cautions    []string // of all its steps
	Steps       []SheetStep
}

// SheetStep is a step with a box to be ticked.
type SheetStep struct {
	Number     int // in the order of work; 0 on a station's sheet
	Name       string
	Of         string // what it belongs to
	Station    string
	Setup      string
	When       string
	Time       []string // how long, and what follows
	Clamps     []string
	Parts      []PartRow
	Assemblies []string
	Cautions   []string
	Mind       []int // the same by their numbers, where they are told once for all steps
	Note       string
	Done       string // when it was done, "" while it is not
	Code       template.HTML
}
