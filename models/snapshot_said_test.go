package models_test

import (
	"reflect"
	"testing"

	"github.com/stretchr/testify/assert"
)

// A copy for showing has everything a snapshot has, and changes none of it.
func TestASnapshotThatIsSaidIsWhole(t *testing.T) {
	b := newBench(t)
	snap := b.snap()
	same, other := snap.Said(func(text string) string { return text }), b.snap().Said(func(text string) string { return "<" + text + ">" })
	was, is := reflect.ValueOf(snap).Elem(), reflect.ValueOf(same).Elem()
	for i := range was.NumField() {
		if field := was.Type().Field(i); field.IsExported() {
			assert.Equal(t, was.Field(i).Interface(), is.Field(i).Interface(), field.Name)
		}
	}
	assert.Same(t, same, snap.Said(nil), "it is made once")
	assert.Equal(t, "<"+snap.Steps[0].Name+">", other.Steps[0].Name)
	assert.Equal(t, plain(snap), plain(b.snap()))
}
