package models

import "flag"

// PowerCuts is how often the power is cut in the tests of it.
var PowerCuts = flag.Int("cuts", 300, "how often the power is cut")

// Pragma sets something of the connection that writes, past what OpenStore sees to.
func (s *Store) Pragma(setting string) error { return s.w.Exec("PRAGMA " + setting).Error }
