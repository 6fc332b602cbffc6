package behind

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestDoReturnsWhenTheWorkIsDone(t *testing.T) {
	done := false
	Do(func() { done = true })
	assert.True(t, done)
}

func TestAPanicIsTheCallers(t *testing.T) {
	defer func() {
		p, ok := recover().(*Panicked)
		assert.True(t, ok)
		assert.Equal(t, "too thin", p.Value)
		assert.Contains(t, p.String(), "planeTooThin", "the stack says where")
	}()
	Do(planeTooThin)
}

func planeTooThin() { panic("too thin") }
