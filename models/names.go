package models

import "faceside/models/phrase"

// Named is a field or a kind of record as sentences speak of it: "promised date".
func Named(field string) phrase.Phrase { return phrase.Of(field) }

// fields are what sentences of the store call fields and records.
var _ = []phrase.Key{
	"name", "client", "note", "weight", "state", "promised date", "commission", "piece", "part", "assembly", "step", "link",
	"station", "setup", "setup state", "clamps", "zone", "glue", "finish", "person", "tablet", "tap", "plan", "board", "defect",
	"key", "kind", "phase", "rest", "attended", "unattended", "hands", "open time", "reach", "count", "quantity", "places",
	"length", "width", "thickness", "species", "quarter", "log", "place in the log", "greatest width", "greatest thickness",
	"least length", "setup time", "reset time", "clamp time", "cure time", "drying time", "least recoat time",
	"greatest recoat time", "least temperature", "caution", "temperature", "humidity", "units", "fraction", "language",
	"time zone", "date", "reason", "hours", "least lag", "greatest lag", "why", "from", "verb", "pattern", "title", "source",
	"instruction", "family", "minutes", "tap id", "rough length", "rough width", "rough thickness", "grain", "cutting", "day off",
	"trouble", "expected day", "change", "idle time",
}

// stateNames are the states of a commission.
var stateNames = map[CommissionState]phrase.Key{
	Open: "open ## a commission", Held: "held", Delivered: "delivered", Dropped: "dropped",
}

// Words says the state: "held".
func (s CommissionState) Words() phrase.Phrase { return stateNames[s].Of() }

// restWords are what a step's unattended time can be.
var restWords = map[string]phrase.Key{"in clamps": "in clamps", "drying": "drying", "resting": "resting"}

// pointWords are the points of a step that a link measures from.
var pointWords = map[string]phrase.Key{FromEnd: "end ## of a step", FromAttended: "work ## of a step", FromStart: "start ## of a step"}
