package models

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// CheapHashes has a test that makes thousands of hashes make quick ones.
func CheapHashes(t *testing.T) {
	was := hashMemory
	hashMemory = 64
	t.Cleanup(func() { hashMemory = was })
}

func TestHashesTakeWhatIsRecommended(t *testing.T) {
	hash := hashOf("a secret")
	assert.True(t, strings.HasPrefix(hash, "$argon2id$v=19$m=19456,t=2,p=1$"), hash)
	assert.NotEqual(t, hash, hashOf("a secret"), "each has a salt of its own")
	for secret, want := range map[string]bool{"a secret": true, "a secre": false, "a secret ": false, "": false} {
		right, err := matches(hash, secret)
		require.NoError(t, err)
		assert.Equal(t, want, right, "%q", secret)
	}
	right, err := matches("", "")
	require.NoError(t, err)
	assert.False(t, right, "where there is no hash nothing is right")
}

func TestDamagedHashesAreNoneThatMatch(t *testing.T) {
	CheapHashes(t)
	whole := hashOf("a secret")
	for _, hash := range []string{
		"x", whole[:len(whole)-1] + "!", strings.Replace(whole, "argon2id", "argon2i", 1), strings.Replace(whole, "m=64", "m=4000000", 1),
		strings.Replace(whole, "t=2", "t=0", 1), strings.Replace(whole, "p=1", "p=0", 1), strings.Replace(whole, "v=19", "v=16", 1), whole[:strings.LastIndex(whole, "$")+1],
	} {
		right, err := matches(hash, "a secret")
		assert.False(t, right, hash)
		assert.Error(t, err, hash)
	}
}
