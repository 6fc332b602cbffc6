package models

// ChangeStep changes what is said of a step that is not begun. What it works on
// and makes, and its links, stay.
type ChangeStep struct {
	StepID ID
	StepWork
}

func (c ChangeStep) apply(e *editor) error {
	row, err := e.unbegun(c.StepID)
	if err != nil {
		return err
	}
	if err := first(c.check(), c.shopHasFor(e.tx)); err != nil {
		return err
	}
	if err := c.put(e.tx, row); err != nil {
		return err
	}
	return e.saveStep(row, c.Clamps)
}
