package document

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestNearest(t *testing.T) {
	words := []string{"steps", "start", "until"}
	assert.Equal(t, "steps", Nearest("stpes", words))
	assert.Equal(t, "steps", Nearest("step", words))
	assert.Equal(t, "until", Nearest("untill", words))
	assert.Equal(t, "", Nearest("given", words))
	assert.Equal(t, "", Nearest("st", words))
	assert.Equal(t, "", Nearest("", words))
}
