package models

import "testing"

// CheapHashes has a test that makes thousands of hashes make quick ones.
func CheapHashes(t *testing.T) {
	was := hashMemory
	hashMemory = 64
	t.Cleanup(func() { hashMemory = was })
}
