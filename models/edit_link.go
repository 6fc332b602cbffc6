package models

// AddLink has one step wait for another. Where both are linked from the same
// point already it is refused.
type AddLink struct {
	Link
}

// ChangeLink changes the point, the lags and the reason of a link.
type ChangeLink struct {
	LinkID ID
	From   string
	MinLag int  // minutes, may be negative
	MaxLag *int // nil: no greatest
	Why    string
}

// RemoveLink removes a link. Its later step must not be begun.
type RemoveLink struct {
	LinkID ID
}

// check refuses lags that cannot be.
func (l *Link) check() error {
	err := first(
		oneOf("from", l.From, FromEnd, FromStart, FromAttended),
		between("least lag", l.MinLag, -1_000_000, 1_000_000, "minutes"), textAtMost("why", l.Why, noteLimit))
	if err != nil || l.MaxLag == nil {
		return err
	}
	if *l.MaxLag < l.MinLag || *l.MaxLag > 1_000_000 {
		return invalid("greatest lag", *l.MaxLag, "The greatest lag, %d minutes, is less than the least, %d, or above 1000000.", *l.MaxLag, l.MinLag)
	}
	return nil
}

// unlinked refuses a second link between the same points.
func (e *editor) unlinked(l *Link, before, after *Step) error {
	for _, o := range e.links {
		if o.ID != l.ID && o.BeforeID == l.BeforeID && o.AfterID == l.AfterID && o.From == l.From {
			return invalid("from", l.From, "“%s” waits for the %s of “%s” already: change that link.", after.Name, pointWords[l.From].Of(), before.Name)
		}
	}
	return nil
}

func (a AddLink) apply(e *editor) error {
	l := a.Link
	l.ID = 0
	before, err := e.known("before", l.BeforeID)
	if err != nil {
		return err
	}
	after, err := e.known("after", l.AfterID)
	if err != nil {
		return err
	}
	if before.ID == after.ID {
		return invalid("before", before.Name, "“%s” cannot wait for itself.", before.Name)
	}
	if err := first(after.mayChange(), l.check(), e.unlinked(&l, before, after)); err != nil {
		return err
	}
	return e.addLink(l)
}

// link finds a link whose later step is not begun.
func (e *editor) link(id ID) (*Link, error) {
	for i := range e.links {
		if e.links[i].ID == id {
			return &e.links[i], e.step(e.links[i].AfterID).mayChange()
		}
	}
	return nil, notFound("link", id)
}

func (c ChangeLink) apply(e *editor) error {
	l, err := e.link(c.LinkID)
	if err != nil {
		return err
	}
	l.From, l.MinLag, l.MaxLag, l.Why = c.From, c.MinLag, c.MaxLag, c.Why
	if err := first(l.check(), e.unlinked(l, e.step(l.BeforeID), e.step(l.AfterID))); err != nil {
		return err
	}
	return e.saveLink(l)
}

func (r RemoveLink) apply(e *editor) error {
	l, err := e.link(r.LinkID)
	if err != nil {
		return err
	}
	return e.dropLink(*l)
}
