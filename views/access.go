package views

import "html/template"

// Signed is who is signed in, as the layout shows it.
type Signed struct {
	On      bool // somebody has to sign in at all
	In      bool // somebody is signed in
	Planner bool
}

// SignIn is the screen before all others.
type SignIn struct {
	Notice   string // why it did not work, or why one is asked
	Back     string // where it goes on
	Enrolled bool
	People   []PersonChoice // Current: without the PIN
	CodeNote string         // what was wrong with the code of a tablet
}

// PINPad asks one person for the PIN. Every key is a button of a plain form: without
// script each sends what was typed so far.
type PINPad struct {
	Person int64
	Name   string
	Back   string
	Typed  string // the digits so far
	Notice string
	Barred bool // nothing is tried: Notice says why
	Digits int
}

// Keys are the digits in the order of a telephone's.
func (PINPad) Keys() []string { return []string{"1", "2", "3", "4", "5", "6", "7", "8", "9"} }

// PlannerSignIn asks for the passphrase.
type PlannerSignIn struct {
	Notice string
	Back   string
}

// Enrol asks whether this is the tablet that a code is meant for.
type Enrol struct {
	Name string
	Code string
}

// OwnPIN is where a person sets a PIN of their own.
type OwnPIN struct {
	Name  string
	Given bool // the present one was drawn
	Form  Form
	Back  string
}

// Access is the planner's screen of people and tablets.
type Access struct {
	On         bool
	Notice     string
	Told       *Told
	People     []AccessPerson
	Tablets    []AccessKey
	Programs   []AccessKey
	Tablet     Form // a new one
	Program    Form // a new one
	Sessions   []AccessSession
	Idle       Form
	Passphrase *Form // nil: the machine's command sets it
	Events     []AccessEvent
}

// Told is a secret that is told this once.
type Told struct {
	Title  string
	Says   string
	Secret string
	Code   template.HTML // the same for a camera; "" for none
	Href   string
	Notes  []string
}

// AccessPerson is one person and how they sign in.
type AccessPerson struct {
	ID     int64
	Name   string
	Says   string
	Bad    bool
	HasPIN bool
	Stuck  bool // waits or is locked: can be freed
}

// AccessKey is one tablet that is enrolled, or a program.
type AccessKey struct {
	ID   int64
	Name string
	Says string
	This bool
}

// AccessSession is somebody who is signed in.
type AccessSession struct {
	ID    int64
	Who   string
	Where string
	Says  string
	This  bool
}

// AccessEvent is one line of the journal.
type AccessEvent struct {
	When, What string
}
