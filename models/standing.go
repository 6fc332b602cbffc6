package models

import "time"

// Standing is where a step stands at a time, by the journal, the links and the clock.
type Standing string

// Where a step can stand.
const (
	StandsWaiting   Standing = "waiting" // something before it is not done
	StandsReady     Standing = "ready"
	StandsInHand    Standing = "in hand"
	StandsPutDown   Standing = "put down"
	StandsInClamps  Standing = "in clamps"
	StandsDrying    Standing = "drying"
	StandsResting   Standing = "resting"
	StandsDone      Standing = "done"
	StandsInTrouble Standing = "in trouble"
)

// Waiting is one reason why a step cannot start yet.
type Waiting struct {
	Link     Link
	Step     *Step      // the step it waits for
	Until    *time.Time // when the wait is over, if the clock alone ends it
	Sentence string
}

// Standing says where a step stands.
func (s *Snapshot) Standing(step ID, at time.Time) Standing { return "" }

// WaitsFor says what a step waits for; empty: nothing.
func (s *Snapshot) WaitsFor(step ID, at time.Time) []Waiting { return nil }
