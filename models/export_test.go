package models

// Pragma sets something of the connection that writes, past what OpenStore sees to.
func (s *Store) Pragma(setting string) error { return s.w.Exec("PRAGMA " + setting).Error }
