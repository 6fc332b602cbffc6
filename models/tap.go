package models

import (
	"context"
	"fmt"
	"slices"
	"time"

	"gorm.io/gorm"
)

// TapRequest is a tap as a page sends it. Which numbers are needed hangs on
// the kind: Undoes for an undo, StationID (and SetupID; 0: unknown) for set,
// StationID for down and up, Steps for start-run, Run for put-down-run, StepID
// for all others, with Run for join-run (or "" for what the person has in hand) and
// HelperID for help and manage.
type TapRequest struct {
	ID        string // made on the page, at most 64 characters
	Kind      TapKind
	StepID    ID
	Steps     []ID // in the order in which they are to be done
	Run       string
	StationID ID
	SetupID   ID
	HelperID  ID
	PersonID  ID
	Undoes    int64
	UndoesID  string // in place of Undoes: the id of the tap, where its number is not known yet
	Tablet    string
	Note      string
	SaidAt    *time.Time
	ClockOff  *time.Duration // by how much the tablet's clock is ahead of the server's; nil: it does not say
	Trouble   *Trouble       // for trouble: what is wrong; nil: as the note says
	Queued    *Queued        // where it comes from the tablet's queue; nil: sent by a plain form
	Doubted   bool           `json:"-"` // the person is not signed in on the tablet now: session_tap.go says whether it counts
}

// TapResult is the row the journal has for a tap.
type TapResult struct {
	Tap      Tap          // the first, where it wrote several
	Repeated bool         // the journal had it already; nothing was changed
	Step     *Step        // that row's step as it stands now; nil where the tap was of a station
	SendFrom int64        // with a refusal: the tablet's taps from this number on have not come yet
	Returned *ReturnedTap // with a refusal: the tap as it is kept; alone: what an undo withdrew
}

// Limits of what a page may send, in characters.
const (
	tapIDLimit  = 64
	tabletLimit = 100
	noteLimit   = 1000
)

// Tap records one tap and moves the work on, in one short transaction. The
// same ID again changes nothing and returns the row that is there. A refused
// tap moves nothing: Invalid for a tap that cannot be, NotFound for a number
// nobody has, Conflict when somebody else has the step or things moved on. One
// from a tablet's queue is kept then (Returned), and Stale says that an earlier
// one has not come (SendFrom).
func (s *Store) Tap(ctx context.Context, r TapRequest) (TapResult, error) {
	var result TapResult
	var refusal *Error
	err := s.write(ctx, "record the tap", func(tx *gorm.DB) (change *Change, err error) {
		t := tapper{store: s, tx: tx, now: s.Now(), request: r}
		if r.Queued == nil {
			return t.record(&result)
		}
		change, refusal, err = t.fromQueue(&result)
		return change, err
	})
	if err != nil {
		return TapResult{SendFrom: result.SendFrom}, err
	}
	if refusal != nil {
		return result, refusal
	}
	return result, nil
}

// record writes the row of one tap, unless it is there already.
func (t *tapper) record(result *TapResult) (*Change, error) {
	if done, err := t.undoByID(result); err != nil {
		return nil, err
	} else if done {
		return &Change{Kind: ChangedTablet}, nil
	}
	if err := t.request.check(); err != nil {
		return nil, err
	}
	if !t.isNew {
		if repeated, err := repeatedTap(t.tx, t.request, result); err != nil || repeated {
			return nil, err
		}
	}
	var err error
	if *result, err = t.tap(); err != nil {
		return nil, err
	}
	row := result.Tap
	return &Change{Kind: ChangedTap, Tap: &row, Progress: !t.reorders}, noteTablet(t.tx, t.request, t.now)
}

// check refuses what no state of the records could make right.
func (r *TapRequest) check() error {
	_, onStep := possible[r.Kind]
	onStep = onStep && r.Kind != TapGather // that is written beside another
	switch {
	case r.ID == "" || len(r.ID) > tapIDLimit:
		return invalid("tap id", r.ID, "A tap needs an id of 1 to %d characters, not %q.", tapIDLimit, r.ID)
	case !onStep && !slices.Contains(notOnStep, r.Kind):
		return invalid("kind", r.Kind, "There is no tap of the kind %q.", r.Kind)
	case r.PersonID == 0:
		return invalid("person", r.PersonID, "Say who you are first: the tap names no person.")
	case onStep && r.StepID == 0:
		return invalid("step", r.StepID, "The tap (%s) names no step.", r.Kind)
	case onStation(r.Kind) && r.StationID == 0:
		return invalid("station", r.StationID, "The tap (%s) names no station.", r.Kind)
	case r.Kind == TapStartRun && (len(r.Steps) == 0 || len(r.Steps) > runLimit):
		return invalid("steps", len(r.Steps), "A run is of 1 to %d steps, not %d.", runLimit, len(r.Steps))
	case r.Kind == TapJoinRun && r.StepID == 0:
		return invalid("step", r.StepID, "The tap (%s) names no step.", r.Kind)
	case (r.Kind == TapHelp || r.Kind == TapManage) && r.HelperID == 0:
		return invalid("helper", r.HelperID, "The tap (%s) does not say whose hands.", r.Kind)
	case r.Kind == TapPutDownRun && r.Run == "", len(r.Run) > tapIDLimit:
		return invalid("run", r.Run, "The tap (%s) names no run.", r.Kind)
	case r.Kind == TapUndo && r.Undoes == 0:
		return invalid("undoes", r.Undoes, "The undo names no tap to take back.")
	}
	for i, id := range r.Steps {
		if slices.Contains(r.Steps[:i], id) {
			return invalid("steps", id, "The run has step %d twice.", id)
		}
	}
	return first(textAtMost("tablet", r.Tablet, tabletLimit), textAtMost("note", r.Note, noteLimit), r.Trouble.check(r.Kind))
}

// notOnStep are the kinds of tap that are not on one step.
var notOnStep = []TapKind{TapSet, TapDown, TapUp, TapUndo, TapStartRun, TapJoinRun, TapPutDownRun}

// onStation says whether a tap is on a station alone.
func onStation(kind TapKind) bool { return kind == TapSet || kind == TapDown || kind == TapUp }

// written is the kind of the first of the rows that a tap wrote.
func written(kind TapKind, rows []Tap) TapKind {
	switch kind {
	case TapStartRun:
		return TapStart
	case TapJoinRun:
		if len(rows) > 1 {
			return TapGather
		}
		return TapStart
	case TapPutDownRun:
		return TapPutDown
	}
	return kind
}

// repeatedTap finds the row that is there already for the tap's id.
func repeatedTap(tx *gorm.DB, r TapRequest, result *TapResult) (bool, error) {
	found, err := one[Tap](tx.Where("id = ?", r.ID))
	if err != nil {
		return false, fmt.Errorf("look for the tap's id: %w", err)
	}
	if found == nil {
		return false, nil
	}
	row := *found
	together, err := rowsOf(tx, row)
	if err != nil {
		return false, err
	}
	if row.Kind != written(r.Kind, together) || row.PersonID != r.PersonID || !r.sameTarget(together) {
		return false, conflict("tap id", r.ID, "The tap id %q already stands for another tap.", r.ID)
	}
	*result = TapResult{Tap: row, Repeated: true}
	if row.StepID != nil {
		step, err := get[Step](tx, "step", *row.StepID)
		if err != nil {
			return false, err
		}
		result.Step = step
	}
	return true, nil
}

// sameTarget says whether the rows of a tap are of what the request is of.
func (r *TapRequest) sameTarget(rows []Tap) bool {
	row := rows[0]
	switch r.Kind {
	case TapUndo:
		return slices.ContainsFunc(rows, func(t Tap) bool { return t.Undoes != nil && (*t.Undoes == r.Undoes || r.UndoesID != "") })
	case TapSet, TapDown, TapUp:
		return idOf(row.StationID) == r.StationID && idOf(row.SetupID) == r.SetupID
	case TapStartRun:
		return slices.EqualFunc(rows, r.Steps, func(t Tap, step ID) bool { return idOf(t.StepID) == step })
	case TapPutDownRun:
		return true // the tap's id says which
	case TapJoinRun:
		last := rows[len(rows)-1] // the first of two is of the step in hand
		return (last.Joined || len(rows) > 1) && (r.Run == "" || last.Act == r.Run) && idOf(last.StepID) == r.StepID
	case TapHelp, TapManage:
		return idOf(row.StepID) == r.StepID && idOf(row.HelperID) == r.HelperID
	}
	return len(rows) == 1 && idOf(row.StepID) == r.StepID && row.Trouble == r.Trouble.kind()
}

// tapper carries one tap through its transaction.
type tapper struct {
	store   *Store
	tx      *gorm.DB
	now     time.Time
	at      time.Time // when it was tapped
	request TapRequest
	person  *Person
	zone    *time.Location
	isNew   bool // the journal was asked for the tap's id already, and has it not
	// reorders: the tap, or the one it takes back, is of a kind after which
	// something else is to be done, or with other stations.
	reorders bool
}

// reordering are the kinds of tap that change more than how far the work is.
var reordering = []TapKind{TapTrouble, TapDown, TapUp}

// tap sees who taps, then does what the kind says.
func (t *tapper) tap() (TapResult, error) {
	var err error
	if t.person, err = get[Person](t.tx, "person", t.request.PersonID); err != nil {
		return TapResult{}, err
	}
	if !t.person.Active {
		return TapResult{}, invalid("person", t.person.Name, "%s is not among those who work here now.", t.person.Name)
	}
	shop, err := get[Shop](t.tx, "shop", 1)
	if err != nil {
		return TapResult{}, err
	}
	if t.zone, err = shop.Location(); err != nil {
		return TapResult{}, err
	}
	if t.at, err = t.happened(); err != nil {
		return TapResult{}, err
	}
	t.reorders = slices.Contains(reordering, t.request.Kind)
	switch t.request.Kind {
	case TapSet:
		return t.set()
	case TapDown, TapUp:
		return t.stationOrder()
	case TapUndo:
		return t.undo()
	case TapStartRun:
		return t.startRun()
	case TapJoinRun:
		return t.joinRun()
	case TapPutDownRun:
		return t.putDownRun()
	case TapHelp, TapManage:
		return t.hands()
	case TapTrouble:
		if t.request.Trouble != nil {
			return t.trouble()
		}
	}
	return t.step()
}

// step is a tap on a step.
func (t *tapper) step() (TapResult, error) {
	step, err := get[Step](t.tx, "step", t.request.StepID)
	if err != nil {
		return TapResult{}, err
	}
	if err := t.mayTap(step, t.request.Kind); err != nil {
		return TapResult{}, err
	}
	row := t.row()
	row.StepID = &step.ID
	row.keepWas(step)
	if row.Kind == TapStart && step.SetupID != nil {
		// The row says what the station was set to, so that the journal alone
		// tells the state of every station.
		row.StationID, row.SetupID = &step.StationID, step.SetupID
	}
	if row.Kind == TapTrouble {
		if row.PlanID, err = currentPlanID(t.tx); err != nil {
			return TapResult{}, err
		}
	}
	if err := t.add(&row); err != nil {
		return TapResult{}, err
	}
	if err := t.move(step, row); err != nil {
		return TapResult{}, err
	}
	if row.StationID != nil {
		if err := saveSetup(t.tx, *row.StationID, row.SetupID); err != nil {
			return TapResult{}, err
		}
	}
	return TapResult{Tap: row, Step: step}, nil
}

// keepWas notes in the row where its step stands before it, for an undo. In a run
// that hangs on other steps too, and how long a rest takes can be edited during it.
func (t *Tap) keepWas(step *Step) {
	if step.Run == "" && step.RestEndsAt == nil {
		was := step.Progress()
		t.Was = &was
	}
}

// set is a tap that says what a station was set to.
func (t *tapper) set() (TapResult, error) {
	station, err := get[Station](t.tx, "station", t.request.StationID)
	if err != nil {
		return TapResult{}, err
	}
	row := t.row()
	row.StationID = &station.ID
	if t.request.SetupID != 0 {
		setup, err := get[Setup](t.tx, "setup", t.request.SetupID)
		if err != nil {
			return TapResult{}, err
		}
		if setup.StationID != station.ID {
			return TapResult{}, invalid("setup", setup.State, "“%s” is no setup of %s.", setup.State, station.Name)
		}
		row.SetupID = &setup.ID
	}
	if err := t.add(&row); err != nil {
		return TapResult{}, err
	}
	return TapResult{Tap: row}, saveSetup(t.tx, station.ID, row.SetupID)
}

// row is the journal's row for the request, without what it is of.
func (t *tapper) row() Tap {
	r := t.request
	row := Tap{ID: r.ID, Kind: r.Kind, PersonID: r.PersonID, Tablet: r.Tablet, Note: r.Note, At: t.at}
	if q := r.Queued; q != nil {
		row.Queue, row.TabletSeq = &q.Queue, &q.Number
	}
	if t.at.Before(t.now) {
		row.CameAt = &t.now
	}
	if r.SaidAt != nil {
		said := r.SaidAt.UTC().Truncate(time.Millisecond)
		row.SaidAt = &said
	}
	return row
}

// add appends a row to the journal.
func (t *tapper) add(row *Tap) error {
	if err := t.tx.Create(row).Error; err != nil {
		return fmt.Errorf("add to the journal: %w", err)
	}
	t.store.time.came(t.now)
	return nil
}

// saveProgress writes where a step stands, zero values too.
func saveProgress(tx *gorm.DB, step *Step, p Progress) error {
	step.put(p)
	err := tx.Model(step).Select("State", "PersonID", "StartedAt", "TakenAt", "Worked", "Helpers", "Helped", "Run", "RunShare", "CountedAt", "FinishedAt", "RestEndsAt", "DoneAt", "Trouble", "TroubleKind", "ExpectedOn").
		Updates(step).Error
	if err != nil {
		return fmt.Errorf("move step %d on: %w", step.ID, err)
	}
	return nil
}

// saveSetup writes what a station is set to; nil: unknown.
func saveSetup(tx *gorm.DB, station ID, setup *ID) error {
	if err := tx.Model(&Station{}).Where("id = ?", station).UpdateColumn("setup_id", setup).Error; err != nil {
		return fmt.Errorf("set station %d: %w", station, err)
	}
	return nil
}

// get reads one record by its number; what names it in the refusal.
func get[T any](tx *gorm.DB, what string, id ID) (*T, error) {
	row, err := one[T](tx.Where("id = ?", id))
	if err != nil {
		return nil, fmt.Errorf("read %s %d: %w", what, id, err)
	}
	if row == nil {
		return nil, notFound(what, id)
	}
	return row, nil
}

// one reads the first of the records that are asked for, nil where there is none.
func one[T any](asked *gorm.DB) (*T, error) {
	rows := make([]T, 0, 1) // GORM would make room for twenty
	if err := asked.Limit(1).Find(&rows).Error; err != nil || len(rows) == 0 {
		return nil, err
	}
	return &rows[0], nil
}

// idOf is the number behind a pointer, 0 for nil.
func idOf(id *ID) ID {
	if id == nil {
		return 0
	}
	return *id
}
