package models

import "faceside/models/phrase"

// named are the fields and records that sentences speak of, as they are said.
var named = []phrase.Key{}

// Named is a field or a record in a sentence: "promised date".
func Named(field string) phrase.Phrase { return phrase.Of(field) }
