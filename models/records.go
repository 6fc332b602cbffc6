package models

import (
	"time"

	"faceside/models/wood"
)

// ID is the number of a record; 0 is none.
type ID = int64

// Shop is the one shop of a database.
type Shop struct {
	ID           ID // always 1
	Name         string
	TimeZone     string // IANA name
	Units        string // "inch" or "mm"
	Fraction     int    // least fraction of an inch shown: 8, 16, 32 or 64
	TemperatureC float64
	HumidityPct  float64 // 0..100
	Language     string  // of the screens: "en" or "de"
	Revision     int64   // grows with every change of any record; a plan says which it was made from
	UID          string  // tells its records from another shop's once they have left it
}

// Hours is one opening of the shop on a weekday; a lunch break is the gap
// between two. Minutes from midnight, Opens < Closes <= 1440.
type Hours struct {
	ID      ID
	Weekday time.Weekday // 0 Sunday
	Opens   int
	Closes  int
}

// DayOff is a day on which the shop, or one person, does not work.
type DayOff struct {
	ID       ID
	Date     string // YYYY-MM-DD in the shop's time zone
	PersonID *ID    // nil: the whole shop
	Reason   string
	NotedOn  string // YYYY-MM-DD; "" for nobody knows
}

// Person works in the shop.
type Person struct {
	ID     ID
	Name   string
	Active bool
}

// Station is a machine or a bench. Limits of 0 mean none.
type Station struct {
	ID           ID
	Key          string // e.g. "planer-1"
	Name         string
	Kind         string // what a step asks for, e.g. "planer"
	Places       int    // steps at once, at least 1; 1 where there are setups
	MaxWidth     wood.Length
	MaxThickness wood.Length
	MinLength    wood.Length
	OpenEnded    bool   // takes up to twice MaxWidth in two passes
	SetupMinutes int    // to change to a setup of another family
	ResetMinutes int    // to change the setting within the family
	SetupID      *ID    // what it is set to now, as far as was tapped; nil: unknown
	ZoneID       *ID    // the air it shares: its dust, or its wet work, is there
	Down         bool   // out of order, as was tapped
	Caution      string // e.g. "Guard on, push block in reach; see the machine's manual."
}

// ClampClass is the clamps of one kind and reach.
type ClampClass struct {
	ID    ID
	Key   string
	Name  string
	Reach wood.Length // greatest opening
	Count int
}

// Zone is a part of the shop that shares its air.
type Zone struct {
	ID   ID
	Key  string
	Name string
}

// Glue is a generic class of glue; times in minutes near 21 °C.
type Glue struct {
	ID         ID
	Key        string
	Name       string
	OpenMin    int
	ClampMin   int
	CureMin    int
	LeastTempC float64
	Caution    string
}

// Finish is a generic class of finish; times in minutes near 21 °C and 50 % humidity.
type Finish struct {
	ID                ID
	Key               string
	Name              string
	DryMin            int
	RecoatLeastMin    int
	RecoatGreatestMin int // 0: no greatest
	CureMin           int
	LeastTempC        float64
	Caution           string
}

// Commission is one client order.
type Commission struct {
	ID         ID
	Name       string
	Client     string
	PromisedOn string // YYYY-MM-DD: to be complete by closing time of that day
	Weight     int    // 1..9: how much a late day hurts
	State      CommissionState
	TakenAt    time.Time
	Note       string
	Edition    int64 // how often its steps and links were changed since
}

// CommissionState says where a commission stands.
type CommissionState string

// The states of a commission. A held one keeps its place in the records but is not planned.
const (
	Open      CommissionState = "open"
	Held      CommissionState = "held"
	Delivered CommissionState = "delivered"
	Dropped   CommissionState = "dropped"
)

// Piece is one piece of a commission, made from a pattern.
type Piece struct {
	ID           ID
	CommissionID ID
	Name         string
	Pattern      string            // pattern key
	Measures     map[string]string `gorm:"serializer:json"` // lengths with their unit
	Choices      map[string]string `gorm:"serializer:json"`
	Facts        string            // JSON: what checks must know beyond the rows; the planner's own
}

// Part is a physical component of a piece.
type Part struct {
	ID             ID
	CommissionID   ID
	PieceID        ID
	Key            string
	Name           string
	Quantity       int
	Length         wood.Length // finished
	Width          wood.Length
	Thickness      wood.Length
	RoughLength    wood.Length
	RoughWidth     wood.Length
	RoughThickness wood.Length
	Species        string
	Grain          string // "length", "width" or "none"
	Note           string
	Together       string // parts of a commission with the same name here match in colour; "" for none
}

// Assembly is what a glue-up or fitting makes.
type Assembly struct {
	ID           ID
	CommissionID ID
	PieceID      ID
	Key          string
	Name         string
}

// AssemblyPart is so many of a part in an assembly.
type AssemblyPart struct {
	ID         ID
	AssemblyID ID
	PartID     ID
	Quantity   int
}

// AssemblyAssembly is an assembly inside another.
type AssemblyAssembly struct {
	ID         ID
	AssemblyID ID
	InnerID    ID
}

// Step is one operation of a commission: what is to be done, and (kept in step
// with the journal) where it stands.
type Step struct {
	ID            ID
	CommissionID  ID
	PieceID       ID
	Position      int    // its place in the pattern's order
	Key           string // unique within its piece
	Name          string
	Kind          string // kind in the step catalogue
	Phase         string
	Verb          string
	StationID     ID
	SetupID       *ID
	SetTo         string // what the maker sets for it; empty: as its setup says
	Attended      int    // estimated minutes of someone's hands, at least 1
	Unattended    int    // minutes around the clock after that
	Rest          string // "", "in clamps", "drying" or "resting"
	Interruptible bool
	Hands         int
	Dusty         bool
	Wet           bool
	OpenTime      int // minutes from first glue to last clamp; 0: no glue
	GlueID        *ID
	FinishID      *ID
	MakesID       *ID      // assembly
	Cautions      []string `gorm:"serializer:json"`
	Note          string

	State      StepState
	PersonID   *ID        // who has, or last had, it in hand
	StartedAt  *time.Time // first start
	TakenAt    *time.Time // when it was last taken in hand; nil unless in hand
	Worked     int        // seconds of attended time before TakenAt, in a run before CountedAt
	Helpers    []Helping  `gorm:"serializer:json"` // who else has hands on it
	Helped     int        // seconds of further hands, without those of Helpers
	Run        string     // in hand together with others: the act that took them; else ""
	RunShare   int        // its part of the run's time; 0 outside a run
	CountedAt  *time.Time // up to when the run's time is in Worked; nil outside a run
	FinishedAt *time.Time // end of its attended part
	RestEndsAt *time.Time // when its unattended time is over
	DoneAt     *time.Time // done; for a resting step when a person said so, else nil
	Trouble    string     // what was reported, while in trouble

	TroubleKind TroubleKind // TroubleMissing while it waits for something that is not there, else ""
	ExpectedOn  string      // YYYY-MM-DD by when that is expected, "" where nobody knows

	AgainOf       *ID // the step whose work it does again for parts that were spoiled
	FirstAttended int // what was estimated before somebody said otherwise; 0: nobody did

	PinnedAt *time.Time // the whole minute a maker pinned its start to; it counts only while nothing was begun
}

// StepState is what the journal says of a step. Waiting and ready are not kept:
// they follow from the links.
type StepState string

// The states a step can be in.
const (
	Todo      StepState = "todo"
	InHand    StepState = "in hand"
	PutDown   StepState = "put down"
	AtRest    StepState = "resting" // in clamps or drying: its attended part is done
	Done      StepState = "done"
	InTrouble StepState = "in trouble"
)

// StepPart is so many of a part worked on in a step.
type StepPart struct {
	ID       ID
	StepID   ID
	PartID   ID
	Quantity int
}

// StepAssembly is an assembly worked on in a step.
type StepAssembly struct {
	ID         ID
	StepID     ID
	AssemblyID ID
}

// StepClamp is so many clamps of a class held through a step and its rest.
type StepClamp struct {
	ID           ID
	StepID       ID
	ClampClassID ID
	Count        int
}

// Link keeps one step's start a least, and maybe a greatest, lag after another.
type Link struct {
	ID           ID
	CommissionID ID
	BeforeID     ID
	AfterID      ID
	From         string // "end", "start" or "attended"
	MinLag       int    // minutes, may be negative
	MaxLag       *int
	Why          string
}

// Setup is a state a station can be in.
type Setup struct {
	ID          ID
	StationID   ID
	Family      string // e.g. "thickness"
	State       string // e.g. "thickness 45 mm"; unique per station
	Instruction string // e.g. "Planer: set 45 mm"
}

// Tap is one row of the journal. Rows are only ever added. What one tap does to
// several steps at once is one row for each; they share an act.
type Tap struct {
	Seq       int64  `gorm:"primaryKey"` // the server's order
	ID        string // made on the page, a UUID; the same id twice is one tap
	Kind      TapKind
	StepID    *ID
	StationID *ID // for Set, Down and Up, and for the Start of a step with a setup: the station it sets
	SetupID   *ID // what it is set to; nil: unknown
	PersonID  ID
	Tablet    string     // the tablet's own id, "" if unknown
	Undoes    *int64     // Seq of the tap taken back, for Undo
	Note      string     // what was said, for Trouble and Down
	At        time.Time  // when it was tapped, by the server's clock; tap_when.go says how that is known
	SaidAt    *time.Time // the tablet's clock, as it said
	Queue     *string    // the tablet's queue it came from; nil: a plain form
	TabletSeq *int64     // its number in that queue
	CameAt    *time.Time // when it reached the server, where it had waited on the tablet
	Act       string     // the id of the tap that wrote this row together with others; "" alone
	Share     int        // for what brings a step into a run: its estimate then, in minutes
	Joined    bool       // for a Start: it joined the run in hand that its act took
	HelperID  *ID        // for Help and Manage: whose hands
	PlanID    *ID        // for Down, Up and Trouble: the plan that was followed then
	Was       *Progress  `gorm:"serializer:json"` // for a tap on a step alone: where that stood before; nil: not kept

	Trouble    TroubleKind // for Trouble: its kind, "" where only the note says
	ExpectedOn string      // for TroubleMissing: the day on which it is expected, or ""
	Details    string      // for a Trouble with a kind: its TroubleDetails as JSON
}

// TapKind is what a tap says.
type TapKind string

// The kinds of tap.
const (
	TapStart   TapKind = "start"    // takes a step in hand, first or again
	TapPutDown TapKind = "put-down" // lays it aside unfinished
	TapFinish  TapKind = "finish"   // its attended part is done
	TapOut     TapKind = "out"      // out of clamps, or dry: its rest is over
	TapTrouble TapKind = "trouble"  // something is wrong with it
	TapSettled TapKind = "settled"  // the trouble is over
	TapHelp    TapKind = "help"     // one more person has hands on it
	TapManage  TapKind = "manage"   // those hands are free again; the work goes on
	TapGather  TapKind = "gather"   // a single step in hand becomes the first of a run: written beside the Start of the one that is taken along
	TapSet     TapKind = "set"      // a station was set
	TapDown    TapKind = "down"     // a station is out of order
	TapUp      TapKind = "up"       // and in order again
	TapUndo    TapKind = "undo"     // takes an earlier tap back
)

// The kinds of tap on runs. They write a Start, or a PutDown, for each step.
const (
	TapStartRun   TapKind = "start-run"    // takes ready steps of one setup in hand together
	TapJoinRun    TapKind = "join-run"     // takes one more along with what is in hand: a run, or a single step
	TapPutDownRun TapKind = "put-down-run" // lays aside what of a run is still in hand
)

// Plan is one order of work for the whole shop.
type Plan struct {
	ID        ID
	MadeAt    time.Time
	Origin    time.Time // minute 0 of the problem it answers
	Revision  int64     // Shop.Revision it was made from
	Status    string    // "optimal" or "feasible"
	Objective int64
	Bound     int64
	Seed      int64
	Schedules int64
	Seconds   float64
	Moved     int   // steps whose start moved against the plan before
	Note      Notes // what had to be relaxed to make it, one sentence each line
	Current   bool
	Steps     []PlanStep  `gorm:"foreignKey:PlanID"`
	Setups    []PlanSetup `gorm:"foreignKey:PlanID"`
}

// PlanStep is a step placed in time.
type PlanStep struct {
	ID          ID
	PlanID      ID
	StepID      ID
	SetupStart  time.Time // equals Start where no setup is needed
	Start       time.Time
	AttendedEnd time.Time
	End         time.Time
	PersonIDs   []ID `gorm:"serializer:json"` // whose hands
}

// PlanSetup is a change of a station's setup.
type PlanSetup struct {
	ID        ID
	PlanID    ID
	StationID ID
	SetupID   ID
	StepID    ID // the step that needs it
	Start     time.Time
	Minutes   int // of working time
}
