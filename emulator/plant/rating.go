package plant

import (
	"fmt"
	"strings"
)

// Rating is what a contact may carry, or what loads draw: resistive and inductive current in mA.
type Rating struct{ Resistive, Inductive uint32 }

// maxAmperes is the highest current a mark can name; a board's relay carries far less.
const maxAmperes = 100

// ParseRating reads a mark such as "3(1) A": resistive amperes, and in brackets inductive ones (as in EN 60730-1, from memory), each up
// to 100 with up to three decimals. Without brackets there is no inductive rating. The error says where and what to do.
func ParseRating(mark string) (Rating, error) {
	rest := strings.TrimSpace(mark)
	fail := func(why string) (Rating, error) {
		return Rating{}, fmt.Errorf("rating %q, column %d: %s: write it as on the unit, as in \"3(1) A\"", mark, len(mark)-len(rest)+1, why)
	}
	var r Rating
	var why string
	if r.Resistive, rest, why = milliamperes(rest); why != "" {
		return fail(why)
	}
	if after, ok := strings.CutPrefix(strings.TrimLeft(rest, " "), "("); ok {
		rest = after
		if r.Inductive, rest, why = milliamperes(rest); why != "" {
			return fail(why)
		}
		if after, ok = strings.CutPrefix(rest, ")"); !ok {
			return fail("the bracket is not closed")
		}
		rest = after
	}
	if rest = strings.TrimLeft(rest, " "); rest != "A" {
		return fail("the mark must end with A for amperes")
	}
	if r.Inductive > r.Resistive {
		return fail("the inductive current is higher than the resistive one")
	}
	return r, nil
}

// milliamperes reads amperes from the front of a text; why says what is wrong with them.
func milliamperes(s string) (mA uint32, rest, why string) {
	n := 0
	for n < len(s) && (s[n] == '.' || '0' <= s[n] && s[n] <= '9') {
		n++
	}
	whole, decimals, dotted := strings.Cut(s[:n], ".")
	switch {
	case whole == "" || dotted && decimals == "":
		return 0, s, "a number of amperes is missing"
	case len(decimals) > 3 || strings.Contains(decimals, "."):
		return 0, s, "a number has one point and up to three decimals"
	}
	for _, digit := range whole + (decimals + "000")[:3] {
		if mA = mA*10 + uint32(digit-'0'); mA > maxAmperes*Ampere {
			return 0, s, "more than 100 A"
		}
	}
	return mA, s[n:], ""
}

// String returns the mark.
func (r Rating) String() string {
	if r.Inductive == 0 {
		return amperes(r.Resistive) + " A"
	}
	return amperes(r.Resistive) + "(" + amperes(r.Inductive) + ") A"
}

// amperes writes mA as amperes, without trailing zeros.
func amperes(mA uint32) string {
	s := fmt.Sprintf("%d.%03d", mA/Ampere, mA%Ampere)
	return strings.TrimRight(strings.TrimRight(s, "0"), ".")
}
