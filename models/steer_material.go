package models

import (
	"fmt"
	"slices"

	"faceside/models/phrase"
	"faceside/models/wood"
)

// Another glue, or another finish, for what is still to be done of a commission. The
// times are those of the shop's class at the shop's temperature, as a pattern takes
// them; what a maker set otherwise by hand is left alone.

// RestWas is what a step had before its material was another.
type RestWas struct {
	StepID     ID       `json:"step"`
	MaterialID ID       `json:"material"`
	Unattended int      `json:"unattended"`
	Is         int      `json:"is"` // what it is since
	Rest       string   `json:"rest"`
	Cautions   []string `json:"cautions"`
}

// LagWas is the lags of a link before.
type LagWas struct {
	LinkID ID   `json:"link"`
	MinLag int  `json:"min"`
	MaxLag *int `json:"max,omitempty"`
	Is     int  `json:"is"` // the least lag since
}

// material is a glue or a finish at the shop's temperature and humidity.
type material struct {
	id            ID
	rest, recoat  int // rest: in clamps or drying; recoat: the least time to the next coat
	window        int // the greatest; 0 for none
	open          int
	name, caution string
	doubts        []string
}

func (s *steerer) glueOf(id ID) (material, error) {
	g, err := get[Glue](s.tx, "glue", id)
	if err != nil {
		return material{}, err
	}
	sheet := wood.Glue{Name: g.Name, OpenMin: g.OpenMin, ClampMin: g.ClampMin, CureMin: g.CureMin, LeastTempC: g.LeastTempC}
	now, err := sheet.At(s.shop.TemperatureC, s.shop.TemperatureC)
	if err != nil {
		return material{}, s.tooColdFor("glue", g.Name, g.LeastTempC)
	}
	return material{id: g.ID, rest: wood.InFives(now.ClampMin, g.ClampMin), open: now.OpenMin, name: g.Name, caution: g.Caution}, nil
}

func (s *steerer) finishOf(id ID) (material, error) {
	f, err := get[Finish](s.tx, "finish", id)
	if err != nil {
		return material{}, err
	}
	sheet := wood.Finish{Name: f.Name, Hardening: wood.HardeningOf(f.Key), DryMin: f.DryMin, RecoatLeastMin: f.RecoatLeastMin,
		RecoatGreatestMin: f.RecoatGreatestMin, CureMin: f.CureMin, LeastTempC: f.LeastTempC}
	now, err := sheet.At(s.shop.TemperatureC, s.shop.HumidityPct)
	if err != nil {
		return material{}, s.tooColdFor("finish", f.Name, f.LeastTempC)
	}
	return material{id: f.ID, rest: now.DryMin, recoat: now.RecoatLeastMin, window: now.RecoatGreatestMin, name: f.Name, caution: f.Caution,
		doubts: sheet.Doubts(s.shop.TemperatureC, s.shop.HumidityPct, s.shop.Units)}, nil
}

func (s *steerer) tooColdFor(field, name string, least float64) error {
	return invalid(field, name, "%[1]s cannot be used here: it needs from %[2]s to %[3]s, and the shop is at %[4]s.", name,
		wood.FormatTemperature(least, s.shop.Units), wood.FormatTemperature(wood.HottestC, s.shop.Units), wood.FormatTemperature(s.shop.TemperatureC, s.shop.Units))
}

func (s *steerer) glue(c *Steer) (SteerWas, phrase.Phrase, error) {
	m := materialChange{steerer: s, field: "glue", of: s.glueOf,
		has: func(st *Step) *ID { return st.GlueID }, put: func(st *Step, id *ID) { st.GlueID = id }, lag: swelling}
	com, err := m.change(c)
	if err != nil {
		return SteerWas{}, phrase.Phrase{}, err
	}
	return m.was, phrase.Of("What is still to be glued of “%[1]s” is glued with %[2]s", com.Name, m.to.name), nil
}

func (s *steerer) finish(c *Steer) (SteerWas, phrase.Phrase, error) {
	m := materialChange{steerer: s, field: "finish", of: s.finishOf, whole: true,
		has: func(st *Step) *ID { return st.FinishID }, put: func(st *Step, id *ID) { st.FinishID = id }, lag: recoating}
	com, err := m.change(c)
	if err != nil {
		return SteerWas{}, phrase.Phrase{}, err
	}
	return m.was, phrase.Of("“%[1]s” is coated with %[2]s", com.Name, m.to.name), nil
}

// materialChange gives the steps of a commission another material.
type materialChange struct {
	*steerer
	field string
	of    func(ID) (material, error)
	has   func(*Step) *ID
	put   func(*Step, *ID)
	lag   func(l *Link, from, to material) // sets the lags of a link after such a step
	whole bool                             // all or none: coats of two finishes do not go together

	to  material
	was SteerWas
}

func (m *materialChange) change(c *Steer) (*Commission, error) {
	com, err := get[Commission](m.tx, "commission", c.CommissionID)
	if err != nil {
		return nil, err
	}
	if m.to, err = m.of(c.MaterialID); err != nil {
		return nil, err
	}
	e := &editor{store: m.Store, tx: m.tx}
	if err := e.open(com.ID, com.Edition); err != nil {
		return nil, err
	}
	for i := range e.steps {
		if err := m.step(e, &e.steps[i]); err != nil {
			return nil, err
		}
	}
	if len(m.was.Rests) == 0 {
		return nil, conflict(m.field, m.to.name, "Nothing that is still to be done of “%[1]s” could be done with %[2]s instead.", com.Name, m.to.name)
	}
	return com, e.countOn()
}

// step changes one step, where it is to be changed.
func (m *materialChange) step(e *editor, st *Step) error {
	id := m.has(st)
	if id == nil || *id == m.to.id {
		return nil
	}
	if st.begun() {
		if m.whole {
			return conflict(m.field, m.to.name, "“%[1]s” was begun with another finish: coats of two do not go together.", st.Name)
		}
		return nil
	}
	from, err := m.of(*id)
	if err != nil || st.Unattended != from.rest {
		return nil // a maker set it otherwise
	}
	if m.to.open > 0 && st.OpenTime > m.to.open {
		return conflict(m.field, m.to.name, "%[1]s stays open %[2]d min, and “%[3]s” takes %[4]d from the first glue to the last clamp.",
			m.to.name, m.to.open, st.Name, st.OpenTime)
	}
	was := RestWas{StepID: st.ID, MaterialID: *id, Unattended: st.Unattended, Is: m.to.rest, Rest: st.Rest, Cautions: st.Cautions}
	m.was.Rests = append(m.was.Rests, was)
	to := m.to.id
	m.put(st, &to)
	st.Unattended, st.Cautions = m.to.rest, m.cautions(st.Cautions, from.caution)
	if st.Unattended == 0 {
		st.Rest = ""
	}
	if err := saveRest(e, st); err != nil {
		return err
	}
	for _, l := range e.after(st.ID) {
		lag := LagWas{LinkID: l.ID, MinLag: l.MinLag, MaxLag: l.MaxLag}
		if m.lag(&l, from, m.to); l.MinLag == lag.MinLag && l.MaxLag == lag.MaxLag {
			continue
		}
		lag.Is = l.MinLag
		m.was.Lags = append(m.was.Lags, lag)
		if err := e.saveLink(&l); err != nil {
			return err
		}
	}
	return nil
}

// cautions are a step's with the material's own in place of the other's.
func (m *materialChange) cautions(all []string, old string) []string {
	out := slices.DeleteFunc(slices.Clone(all), func(c string) bool { return c == old })
	for _, c := range append([]string{m.to.caution}, m.to.doubts...) {
		if c != "" && !slices.Contains(out, c) {
			out = append(out, c)
		}
	}
	return append([]string{}, out...)
}

func saveRest(e *editor, st *Step) error {
	if err := e.tx.Model(st).Select("GlueID", "FinishID", "Unattended", "Rest", "Cautions").Updates(st).Error; err != nil {
		return fmt.Errorf("change the rest of step %d: %w", st.ID, err)
	}
	return nil
}

// swelling keeps what a link asks for beyond the clamps: the time until the joint has
// evened out runs from the gluing, however long it is clamped.
func swelling(l *Link, from, to material) {
	if l.From == FromEnd && l.MinLag > 0 {
		l.MinLag = max(0, l.MinLag+from.rest-to.rest)
	}
}

// recoating takes the recoat window of the other finish, where the link has that of
// the one before, or several times its least.
func recoating(l *Link, from, to material) {
	if l.From != FromAttended || from.recoat == 0 || l.MinLag <= 0 || l.MinLag%from.recoat != 0 {
		return
	}
	l.MinLag = l.MinLag / from.recoat * to.recoat
	if l.MaxLag == nil || *l.MaxLag != from.window {
		return
	}
	if l.MaxLag = nil; to.window > 0 {
		window := max(to.window, l.MinLag)
		l.MaxLag = &window
	}
}

// restsBack gives the steps that are not begun their material back.
func (s *steerer) restsBack(row *Steered) error {
	com, err := get[Commission](s.tx, "commission", row.Change.CommissionID)
	if err != nil {
		return err
	}
	if com.State != Open && com.State != Held {
		return nil
	}
	e := &editor{store: s.Store, tx: s.tx}
	if err := e.open(com.ID, com.Edition); err != nil {
		return err
	}
	for i := range row.Was.Rests {
		if err := restBack(e, row, &row.Was.Rests[i]); err != nil {
			return err
		}
	}
	for _, was := range row.Was.Lags {
		for _, l := range e.links {
			if l.ID != was.LinkID || e.step(l.BeforeID).begun() || l.MinLag != was.Is {
				continue
			}
			l.MinLag, l.MaxLag = was.MinLag, was.MaxLag
			if err := e.saveLink(&l); err != nil {
				return err
			}
		}
	}
	return e.countOn()
}

func restBack(e *editor, row *Steered, was *RestWas) error {
	st := e.step(was.StepID)
	if st == nil {
		return nil
	}
	material := &st.GlueID
	if row.Change.Kind == SteerFinish {
		material = &st.FinishID
	}
	switch {
	case st.begun() && row.Change.Kind == SteerFinish:
		return conflict("step", st.Name, "“%s” is begun: its finish cannot be another any more.", st.Name)
	case st.begun():
		return nil
	case idOf(*material) != row.Change.MaterialID || st.Unattended != was.Is:
		return conflict("step", st.Name, "“%s” was changed by hand since: change it back there.", st.Name)
	}
	*material, st.Unattended, st.Rest, st.Cautions = &was.MaterialID, was.Unattended, was.Rest, append([]string{}, was.Cautions...)
	return saveRest(e, st)
}
