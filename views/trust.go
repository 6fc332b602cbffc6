package views

import "strings"

// Bare is a page without the screens' frame: who sees it may not be let further yet.
type Bare struct {
	Title string
	Asset func(name string) string
}

// Trust walks a tablet through trusting the server.
type Trust struct {
	Bare
	File        string   // where the certificate is
	Secure      string   // where the shop is, once it is trusted
	Name        string   // of the authority, as devices list it
	Fingerprint []string // in lines
	Names       []string // addresses and networks that it may vouch for
	Ends        string
}

// NamesSaid lists the names.
func (t Trust) NamesSaid() string { return strings.Join(t.Names, ", ") }

// Arrive leads on who came from another site.
type Arrive struct {
	Bare
	To string
}
