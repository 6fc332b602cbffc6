package models

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"
	"sync"
	"time"

	"golang.org/x/crypto/argon2"

	"faceside/models/phrase"
)

// How PINs and passphrases are hashed: Argon2id with 19 MiB, two passes and one lane,
// the least that OWASP's Password Storage Cheat Sheet recommends
// (cheatsheetseries.owasp.org, "Argon2id", read in 2026). Salt and length are those
// of RFC 9106, section 4.
const (
	hashPasses = 2
	hashLanes  = 1
	hashBytes  = 32
	saltBytes  = 16
)

var hashMemory uint32 = 19 * 1024 // KiB; a test that makes thousands takes less

// How many hashes are reckoned at once, and how many more may wait for that: each
// takes hashMemory. Whoever comes then is told to try again.
const (
	hashesAtOnce  = 2
	hashesWaiting = 8
	busyFor       = 2 * time.Second
)

// hashing is the room there is for reckoning hashes.
type hashing struct {
	queue, turn chan struct{}
}

func newHashing() hashing {
	return hashing{queue: make(chan struct{}, hashesAtOnce+hashesWaiting), turn: make(chan struct{}, hashesAtOnce)}
}

// enter waits for a turn; leave must be called after it.
func (h hashing) enter(ctx context.Context) (leave func(), err error) {
	select {
	case h.queue <- struct{}{}:
	default:
		return nil, &Error{Code: Busy, Wait: busyFor, Sentence: phrase.Of("Too many sign in at once. Nothing was tried; try again in a moment.")}
	}
	select {
	case h.turn <- struct{}{}:
		return func() { <-h.turn; <-h.queue }, nil
	case <-ctx.Done():
		<-h.queue
		return nil, ctx.Err()
	}
}

// hash hashes a secret when it has a turn.
func (h hashing) hash(ctx context.Context, secret string) (string, error) {
	leave, err := h.enter(ctx)
	if err != nil {
		return "", err
	}
	defer leave()
	return hashOf(secret), nil
}

// hashOf hashes a secret, in the form that the PHC string format gives it.
func hashOf(secret string) string {
	salt := make([]byte, saltBytes)
	rand.Read(salt) // never fails: crypto/rand ends the program first
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, hashMemory, hashPasses, hashLanes,
		base64.RawStdEncoding.EncodeToString(salt), base64.RawStdEncoding.EncodeToString(argon2.IDKey([]byte(secret), salt, hashPasses, hashMemory, hashLanes, hashBytes)))
}

// noHash is what a secret is held against where there is none, so that this takes as
// long as where there is one.
var noHash = sync.OnceValue(func() string { return hashOf(rand.Text()) })

// matches holds a secret against a hash; "" never matches.
func matches(hash, secret string) (bool, error) {
	known := hash != ""
	if !known {
		hash = noHash()
	}
	var version, memory, passes int
	var lanes uint8
	parts := strings.Split(hash, "$")
	if len(parts) != 6 || parts[1] != "argon2id" {
		return false, fmt.Errorf("a hash of %d parts is none of Argon2id", len(parts))
	}
	if _, err := fmt.Sscanf(parts[2]+" "+parts[3], "v=%d m=%d,t=%d,p=%d", &version, &memory, &passes, &lanes); err != nil {
		return false, fmt.Errorf("read how a hash was made: %w", err)
	}
	if version != argon2.Version || memory < 8 || memory > 19*1024 || passes < 1 || passes > 10 || lanes < 1 {
		return false, fmt.Errorf("a hash made with version %d, %d KiB, %d passes and %d lanes cannot be reckoned here", version, memory, passes, lanes)
	}
	salt, err := base64.RawStdEncoding.DecodeString(parts[4])
	if err != nil {
		return false, fmt.Errorf("read the salt of a hash: %w", err)
	}
	want, err := base64.RawStdEncoding.DecodeString(parts[5])
	if err != nil {
		return false, fmt.Errorf("read a hash: %w", err)
	}
	if len(want) == 0 {
		return false, errors.New("a hash of no bytes matches nothing")
	}
	got := argon2.IDKey([]byte(secret), salt, uint32(passes), uint32(memory), lanes, uint32(len(want)))
	return subtle.ConstantTimeCompare(got, want) == 1 && known, nil
}

// newToken draws a secret that no person has to remember: 130 random bits, and what
// is kept of it. So much needs no slow hash.
func newToken() (token, kept string) {
	token = rand.Text()
	return token, tokenHash(token)
}

// tokenHash is what is kept of a token.
func tokenHash(token string) string {
	sum := sha256.Sum256([]byte(token))
	return hex.EncodeToString(sum[:])
}
