package pattern

import "faceside/models/wood"

// Built is what a pattern makes of measures and choices: the parts, the
// assemblies, and an acyclic order of work. Keys are unique within it.
type Built struct {
	Pattern    string // the pattern's key
	Title      string // what the piece is called, e.g. "Hall bench"
	Measures   []MeasureValue
	Choices    []ChoiceValue
	Parts      []Part
	Assemblies []Assembly
	Steps      []Step // in an order that respects the links
	Links      []Link
	LeftOut    []LeftOut // changes made by hand that cannot be made at these measures and choices
	Views      []View    // front and side, or none where the pattern has no drawing
}

// MeasureValue is one measure as it was used. Exactly one of Length and Number
// carries the value, as IsLength says.
type MeasureValue struct {
	Key      string
	Name     string
	IsLength bool
	Length   wood.Length
	Number   float64 // counts and ratios
}

// ChoiceValue is one choice as it was taken.
type ChoiceValue struct {
	Key, Name          string
	Option, OptionName string
}

// Part is a physical component. Sizes are of one piece, all positive.
type Part struct {
	Key      string // e.g. "end.post"
	Name     string
	Quantity int
	Finished Size
	Rough    Size
	Species  string // species key
	Grain    string // "length", "width" or "none"
	Note     string
}

// Size is length along the grain, width and thickness.
type Size struct {
	Length, Width, Thickness wood.Length
}

// PartUse is so many of one part.
type PartUse struct {
	Part     string // part key
	Quantity int
}

// Assembly is what a glue-up or fitting makes of parts and other assemblies.
type Assembly struct {
	Key        string
	Name       string
	Parts      []PartUse
	Assemblies []string // assembly keys
	Size       Size     // outer size
	Loose      []string // parts and assemblies that it holds without glue or screws, so that they can move
}

// Phase is the part of the work a step belongs to.
type Phase string

// The phases, in their usual order.
const (
	Milling   Phase = "milling"
	Joinery   Phase = "joinery"
	GlueUp    Phase = "glue-up"
	Shaping   Phase = "shaping"
	Sanding   Phase = "sanding"
	Finishing Phase = "finishing"
	Fitting   Phase = "fitting"
)

// Rest says what a step's unattended time is.
type Rest string

// What unattended time may be.
const (
	NoRest   Rest = ""
	InClamps Rest = "in clamps"
	Drying   Rest = "drying"
	Resting  Rest = "resting" // acclimatising, or moisture evening out
)

// Setup is the state a station must be in for a step.
type Setup struct {
	Family      string // e.g. "thickness", "fence", "bit", "grit"
	State       string // e.g. "thickness 45 mm"; equal states are one setup
	Instruction string // what the maker does, e.g. "Planer: set 45 mm"
}

// ClampUse is so many clamps of one class.
type ClampUse struct {
	Class string // clamp class key
	Count int
}

// Step is one operation, in minutes.
type Step struct {
	Key           string
	Name          string // e.g. "Glue up the left end"
	Kind          string // its kind in the step catalogue
	Phase         Phase
	Verb          string
	Station       string // station key of the shop it was built for
	Setup         *Setup // nil: none needed
	Attended      int    // minutes of someone's hands, at least 1
	Unattended    int    // minutes around the clock after that
	Rest          Rest   // NoRest exactly where Unattended is 0
	Interruptible bool
	Hands         int  // people needed, at least 1
	Dusty         bool // raises dust
	Wet           bool // wet finish: no dust near it until it has dried
	Clamps        []ClampUse
	OpenTime      int    // minutes from first glue to last clamp; 0: no glue
	Glue          string // glue key or ""
	Finish        string // finish key or ""
	Parts         []PartUse
	Assemblies    []string       // assembly keys worked on
	Makes         string         // assembly key it makes, or ""
	With          []MeasureValue // the values its kind was given, e.g. "thickness" or "grit"; no names
	KeepsFaces    bool           // it shapes, but leaves flat the faces that later clamps bear on
	Cautions      []string
	Note          string
}

// LinkFrom names the point of the earlier step that a link measures from.
type LinkFrom string

// A link measures from the end of the step, its unattended time included; from
// its start; or from the end of its attended part.
const (
	FromEnd      LinkFrom = "end"
	FromStart    LinkFrom = "start"
	FromAttended LinkFrom = "attended"
)

// Link keeps the start of After at least Min, and where Max is given at most
// Max, minutes from a point of Before.
type Link struct {
	Before, After string // step keys
	From          LinkFrom
	Min           int
	Max           *int
	Why           string // one sentence, e.g. "a dowel would show if the seat were trimmed after it"
}

// Shop is what a pattern must know of the shop it is built for.
type Shop struct {
	Stations     []Station
	Clamps       []ClampClass
	Glues        []Glue
	Finishes     []Finish
	Units        string // "inch" or "mm"
	Fraction     int    // least fraction of an inch shown: 8, 16, 32 or 64
	TemperatureC float64
	HumidityPct  float64 // 0..100
	Hands        int     // people in the shop
}

// Station is a machine or bench with its working limits; 0 means no limit.
type Station struct {
	Key, Name    string
	Kind         string // e.g. "planer"; step kinds ask for a kind, not a station
	MaxWidth     wood.Length
	MaxThickness wood.Length
	MinLength    wood.Length
	OpenEnded    bool   // takes up to twice MaxWidth in two passes
	Zone         string // the air it shares with others of the same zone; "" where nobody said
}

// ClampClass is clamps of one kind and reach.
type ClampClass struct {
	Key, Name string
	Reach     wood.Length // greatest opening
	Count     int
}

// Glue is a generic class of glue; times in minutes near 21 °C.
type Glue struct {
	Key, Name                  string
	OpenMin, ClampMin, CureMin int
	LeastTempC                 float64
	Caution                    string
}

// Finish is a generic class of finish; times in minutes near 21 °C and 50 % humidity.
type Finish struct {
	Key, Name                                 string
	DryMin, RecoatLeastMin, RecoatGreatestMin int // RecoatGreatestMin 0: no greatest
	CureMin                                   int
	LeastTempC                                float64
	Caution                                   string
}
