package models

import (
	"fmt"

	"gorm.io/gorm"
)

// MoveStep puts a step that is not begun right before or right after another.
// What that one waited for it waits for too, or what waited for that one waits
// for it; of its own links, those stay that do not go against its new place, and
// the others are bridged.
type MoveStep struct {
	StepID  ID
	OtherID ID
	After   bool // right after the other, else right before it
}

func (m MoveStep) apply(e *editor) error {
	s, err := e.unbegun(m.StepID)
	if err != nil {
		return err
	}
	other, err := e.known("other", m.OtherID)
	if err != nil {
		return err
	}
	if s.ID == other.ID {
		return invalid("other", other.Name, "“%s” cannot be put next to itself.", s.Name)
	}
	if !m.After {
		if err := other.mayChange(); err != nil {
			return err
		}
	}
	if err := m.letGo(e, s, other); err != nil {
		return err
	}
	if err := e.read(); err != nil {
		return err
	}
	splice := m.before
	if m.After {
		splice = m.after
	}
	if err := splice(e, s, other); err != nil {
		return err
	}
	return m.reposition(e, s, other)
}

// letGo drops the links that go against the new place, and bridges them.
func (m MoveStep) letGo(e *editor, s, other *Step) error {
	behind := e.reach(other.ID)
	leads := func(id ID) bool { return id == other.ID || e.reach(id)[other.ID] }
	ins, outs := e.before(s.ID), e.after(s.ID)
	for _, in := range ins {
		if behind[in.BeforeID] || in.BeforeID == other.ID {
			if err := m.bridged(e, in, []Link{in}, outs, s); err != nil {
				return err
			}
		}
	}
	for _, out := range outs {
		if leads(out.AfterID) {
			if err := m.bridged(e, out, ins, []Link{out}, s); err != nil {
				return err
			}
		}
	}
	return nil
}

// bridged puts links past the step in the place of one of it.
func (m MoveStep) bridged(e *editor, dropped Link, ins, outs []Link, s *Step) error {
	for _, in := range ins {
		for _, out := range outs {
			if err := e.addLink(bridge(in, out, s.Name)); err != nil {
				return err
			}
		}
	}
	return e.dropLink(dropped)
}

func (m MoveStep) before(e *editor, s, other *Step) error {
	for _, l := range e.before(other.ID) {
		copied := l
		copied.AfterID, copied.MaxLag = s.ID, nil
		if err := e.addLink(copied); err != nil {
			return err
		}
		if l.onlyOrder() {
			if err := e.dropLink(l); err != nil {
				return err
			}
		}
	}
	return e.addLink(plainLink(s.ID, other.ID, "put before it by hand"))
}

func (m MoveStep) after(e *editor, s, other *Step) error {
	for _, l := range e.after(other.ID) {
		if err := e.addLink(plainLink(s.ID, l.AfterID, l.Why)); err != nil {
			return err
		}
		if l.onlyOrder() {
			if err := e.dropLink(l); err != nil {
				return err
			}
		}
	}
	return e.addLink(plainLink(other.ID, s.ID, "put after it by hand"))
}

// reposition lists the step beside the other, where they are of one piece.
func (m MoveStep) reposition(e *editor, s, other *Step) error {
	if s.PieceID != other.PieceID {
		return nil
	}
	behind := other.Position
	if !m.After {
		behind--
	}
	err := e.tx.Model(&Step{}).Where("piece_id = ? AND position > ?", s.PieceID, behind).UpdateColumn("position", gorm.Expr("position + 1")).Error
	if err == nil {
		err = e.tx.Model(&Step{}).Where("id = ?", s.ID).UpdateColumn("position", behind+1).Error
	}
	if err != nil {
		return fmt.Errorf("list the step in its new place: %w", err)
	}
	return nil
}
