package models

import (
	"fmt"
	"regexp"
	"strings"

	"gorm.io/gorm"
)

// StepWork is what a maker may say of a step: what is done, where and how long.
type StepWork struct {
	Name          string
	Kind          string // of the step catalogue, or "" for the maker's own
	Phase         string
	Verb          string
	StationID     ID
	Setup         *Setup // Family, State and Instruction; nil: none needed
	Attended      int    // minutes of someone's hands, at least 1
	Unattended    int    // minutes around the clock after that
	Rest          string // "", "in clamps", "drying" or "resting"
	Interruptible bool
	Hands         int // people needed, at least 1
	Dusty         bool
	Wet           bool
	OpenTime      int // minutes from first glue to last clamp; 0: no glue
	GlueID        *ID
	FinishID      *ID
	Clamps        map[ID]int // clamp class → count
	Cautions      []string
	Note          string
}

// Phases are the phases a step may be of, in their usual order.
func Phases() []string {
	return []string{"milling", "joinery", "glue-up", "shaping", "sanding", "finishing", "fitting"}
}

// check refuses what no shop could do. Fields are called as a form has them.
func (w *StepWork) check() error {
	err := first(
		nameGiven("name", w.Name), textAtMost("kind", w.Kind, nameLimit), oneOf("phase", w.Phase, Phases()...), textAtMost("verb", w.Verb, nameLimit),
		between("attended", w.Attended, 1, 100_000, "minutes"), between("unattended", w.Unattended, 0, 1_000_000, "minutes"),
		oneOf("rest", w.Rest, "", "in clamps", "drying", "resting"), between("hands", w.Hands, 1, 100, ""),
		between("open time", w.OpenTime, 0, mostOpen, "minutes"), textAtMost("note", w.Note, noteLimit),
	)
	if err != nil {
		return err
	}
	switch {
	case w.Rest == "" && w.Unattended > 0:
		return invalid("rest", w.Rest, "“%s” has %d unattended minutes: say whether it is in clamps, drying or resting then.", w.Name, w.Unattended)
	case w.Rest != "" && w.Unattended == 0:
		return invalid("unattended", w.Unattended, "“%s” is %s after the work: say for how many minutes.", w.Name, restWords[w.Rest].Of())
	case w.StationID == 0:
		return invalid("station", w.StationID, "Say at which station “%s” is done.", w.Name)
	}
	if w.Setup != nil {
		err = first(nameGiven("setup", w.Setup.State), textAtMost("setup kind", w.Setup.Family, nameLimit), textAtMost("what to set", w.Setup.Instruction, noteLimit))
	}
	for _, class := range sortedKeys(w.Clamps) {
		err = first(err, between("clamps", w.Clamps[class], 1, 10000, ""))
	}
	return err
}

// shopHasFor refuses what the shop has not, a hand too few among it.
func (w *StepWork) shopHasFor(tx *gorm.DB) error {
	err := shopHas(tx, &NewStep{Clamps: w.Clamps, Step: Step{Name: w.Name, StationID: w.StationID, GlueID: w.GlueID, FinishID: w.FinishID}})
	if err != nil {
		return err
	}
	var people int64
	if err := tx.Model(&Person{}).Where("active").Count(&people).Error; err != nil {
		return fmt.Errorf("count the people: %w", err)
	}
	if w.Hands > int(people) && people > 0 {
		return invalid("hands", w.Hands, "“%s” asks for %d people; %d work here.", w.Name, w.Hands, people)
	}
	return nil
}

// put writes what was said into the step's row, its setup found or made.
func (w *StepWork) put(tx *gorm.DB, row *Step) error {
	row.Name, row.Kind, row.Phase, row.Verb, row.Note = strings.TrimSpace(w.Name), w.Kind, w.Phase, w.Verb, w.Note
	row.StationID = w.StationID
	if err := setUp(tx, row, w.Setup); err != nil {
		return err
	}
	row.Attended, row.Unattended, row.Rest, row.Interruptible = w.Attended, w.Unattended, w.Rest, w.Interruptible
	row.Hands, row.Dusty, row.Wet, row.OpenTime = w.Hands, w.Dusty, w.Wet, w.OpenTime
	row.GlueID, row.FinishID = w.GlueID, w.FinishID
	row.Cautions = append([]string{}, w.Cautions...)
	return nil
}

// stepColumns are those of a step that are not its place, nor where it stands.
var stepColumns = []string{"Name", "Kind", "Phase", "Verb", "StationID", "SetupID", "SetTo", "Attended", "Unattended", "Rest", "Interruptible",
	"Hands", "Dusty", "Wet", "OpenTime", "GlueID", "FinishID", "MakesID", "Cautions", "Note"}

// saveStep writes a step's row, and the clamps it holds anew.
func (e *editor) saveStep(row *Step, clamps map[ID]int) error {
	if err := e.tx.Model(row).Select(stepColumns).Updates(row).Error; err != nil {
		return fmt.Errorf("change step %d: %w", row.ID, err)
	}
	return e.saveClamps(row.ID, clamps)
}

func (e *editor) saveClamps(step ID, clamps map[ID]int) error {
	if err := e.tx.Where("step_id = ?", step).Delete(&StepClamp{}).Error; err != nil {
		return fmt.Errorf("clear the clamps of step %d: %w", step, err)
	}
	var rows []*StepClamp
	for _, class := range sortedKeys(clamps) {
		rows = append(rows, &StepClamp{StepID: step, ClampClassID: class, Count: clamps[class]})
	}
	return create(e.tx, "clamps", rows)
}

// insert stores a new step right behind a place of its piece.
func (e *editor) insert(row *Step, behind int) error {
	err := e.tx.Model(&Step{}).Where("piece_id = ? AND position > ?", row.PieceID, behind).UpdateColumn("position", gorm.Expr("position + 1")).Error
	if err != nil {
		return fmt.Errorf("make room for the step: %w", err)
	}
	if row.ID, err = nextStepID(e.tx); err != nil {
		return err
	}
	row.CommissionID, row.Position = e.commission.ID, behind+1
	row.put(untouched)
	row.PinnedAt = nil
	return create(e.tx, "step", []*Step{row})
}

// removed reads the steps that were taken out of the commission.
func (e *editor) removed() ([]RemovedStep, error) {
	var rows []RemovedStep
	if err := e.tx.Where("commission_id = ?", e.commission.ID).Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("read the steps that were taken out: %w", err)
	}
	return rows, nil
}

// newKey is a key that no step of the commission has or had: base#2, base#3 ...
func (e *editor) newKey(base string) (string, error) {
	gone, err := e.removed()
	if err != nil {
		return "", err
	}
	taken := map[string]bool{}
	for i := range e.steps {
		taken[e.steps[i].Key] = true
	}
	for _, r := range gone {
		taken[r.Key] = true
	}
	for n := 2; ; n++ {
		if key := fmt.Sprintf("%s#%d", base, n); !taken[key] {
			return key, nil
		}
	}
}

// keyMark is what newKey sets behind the key of the step that one came from.
var keyMark = regexp.MustCompile(`#[0-9]+$`)

// FirstKey is the key of the step that a step was split from, or whose work it
// does again, or its own.
func (s *Step) FirstKey() string {
	key := keyMark.ReplaceAllString(s.Key, "")
	if s.AgainOf != nil {
		key = strings.TrimSuffix(key, againMark)
	}
	return key
}

// addLink stores a link, or narrows the one there is between the same points:
// then the greater least lag and the smaller greatest hold.
func (e *editor) addLink(l Link) error {
	l.ID, l.CommissionID = 0, e.commission.ID
	s, err := one[Link](e.tx.Where(map[string]any{"before_id": l.BeforeID, "after_id": l.AfterID, "from": l.From}))
	if err != nil {
		return fmt.Errorf("look for the same link: %w", err)
	}
	if s == nil {
		return create(e.tx, "link", []*Link{&l})
	}
	if l.MinLag > s.MinLag {
		s.MinLag, s.Why = l.MinLag, l.Why
	}
	if l.MaxLag != nil && (s.MaxLag == nil || *l.MaxLag < *s.MaxLag) {
		s.MaxLag = l.MaxLag
	}
	if s.MaxLag != nil && *s.MaxLag < s.MinLag {
		s.MaxLag = nil // both cannot be kept: the least is the one that must be
	}
	return e.saveLink(s)
}

func (e *editor) saveLink(l *Link) error {
	if err := e.tx.Model(l).Select("From", "MinLag", "MaxLag", "Why").Updates(l).Error; err != nil {
		return fmt.Errorf("change link %d: %w", l.ID, err)
	}
	return nil
}

func (e *editor) dropLink(l Link) error {
	if err := e.tx.Delete(&Link{}, l.ID).Error; err != nil {
		return fmt.Errorf("remove link %d: %w", l.ID, err)
	}
	return nil
}

// plainLink only keeps two steps in order.
func plainLink(before, after ID, why string) Link {
	return Link{BeforeID: before, AfterID: after, From: FromEnd, Why: why}
}

// onlyOrder says whether the link does no more than a plain one.
func (l *Link) onlyOrder() bool { return l.MaxLag == nil && l.MinLag <= 0 }

// bridge is the link that stands for two through a step between: it asks for the
// longer of both least lags, and for a greatest lag, the longer, only where both
// have one.
func bridge(in, out Link, between string) Link {
	l := Link{BeforeID: in.BeforeID, AfterID: out.AfterID, From: in.From, MinLag: in.MinLag, Why: in.Why}
	if out.MinLag > in.MinLag {
		l.From, l.MinLag, l.Why = out.From, out.MinLag, out.Why
	}
	if in.MaxLag != nil && out.MaxLag != nil {
		most := max(*in.MaxLag, *out.MaxLag, l.MinLag)
		l.MaxLag = &most
	}
	if l.Why == "" {
		l.Why = "kept in order where “" + between + "” was between them"
	}
	return l
}
