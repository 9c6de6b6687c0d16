package diagram

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// Clean puts U+FFFD in the place of what neither XML nor HTML can hold, for the page round a drawing: whoever is reported on may write anything.
func Clean(text string) string { return strings.Map(held, text) }

func held(c rune) rune {
	if unicode.IsControl(c) && c != '\n' && c != '\t' || c == 0xFFFE || c == 0xFFFF {
		return utf8.RuneError
	}
	return c
}
