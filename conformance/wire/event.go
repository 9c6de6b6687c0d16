package wire

import (
	"strconv"

	"example.org/hearthbench/emulator/spec"
)

// AppendChange appends the event line of a change, without LF: "@1800 hw 1". Reason and cause do not travel.
func AppendChange(dst []byte, c spec.Change) []byte {
	dst = append(dst, '@')
	dst = strconv.AppendUint(dst, c.At, 10)
	dst = appendWord(dst, signals.word(c.Signal))
	return appendWord(dst, LevelWord(c.Signal, c.Level))
}

// IsEvent reports whether a line must be an event line, because nothing else begins as it does.
func IsEvent(line []byte) bool { return len(line) > 0 && line[0] == '@' }

// ParseChange parses an event line, without LF. An error is a [*ParseError]. The change has no reason and no cause.
func ParseChange(line []byte) (spec.Change, error) {
	c, word := parseChange(line)
	if word != 0 {
		return spec.Change{}, changeError(line, word)
	}
	return c, nil
}

// parseChange returns the number of the word that is wrong, or 0.
func parseChange(line []byte) (spec.Change, int) {
	if !IsEvent(line) {
		return spec.Change{}, 1
	}
	gap1 := 1
	for gap1 < len(line) && line[gap1] != ' ' {
		gap1++
	}
	at, ok := number(line[1:gap1], 1<<64-1)
	if !ok {
		return spec.Change{}, 1
	}
	gap2 := gap1 + 1
	for gap2 < len(line) && line[gap2] != ' ' {
		gap2++
	}
	if gap2 >= len(line) {
		if gap1 < len(line) {
			if _, ok := find(signals.words, line[gap1+1:]); ok {
				return spec.Change{}, 3
			}
		}
		return spec.Change{}, 2
	}
	signal, ok := find(signals.words, line[gap1+1:gap2])
	if !ok {
		return spec.Change{}, 2
	}
	levels := switched.words
	if spec.Signal(signal) == spec.SigAlert {
		levels = stages.words
	}
	level, ok := find(levels, line[gap2+1:])
	if !ok {
		return spec.Change{}, 3
	}
	return spec.Change{At: at, Signal: spec.Signal(signal), Level: spec.Level(level)}, 0
}

func find(words []string, word []byte) (uint8, bool) {
	for i, w := range words {
		if w == string(word) {
			return uint8(i), true
		}
	}
	return 0, false
}

func changeError(line []byte, word int) error {
	err := &ParseError{Line: string(line), Word: word}
	switch word {
	case 1:
		err.Want = "an event is @SECOND SIGNAL LEVEL, SECOND a number without sign or leading zeros"
	case 2:
		err.Want = signals.want()
	default:
		err.Want = switched.want() + ", for the alert " + orList(stages.words)
	}
	return err
}

// Closing is a line that closes the answer to a request.
type Closing struct {
	Outcome spec.Outcome
	Error   bool // the line was "error": the request was none of the protocol's, and Outcome says nothing
	// Words are those after "refused" or "error", for the reader only. From [ParseClosing] they are part of the line parsed.
	Words []byte
}

// AppendClosing appends a closing line, without LF. Words that do not belong into a line are put right: what is not
// printable ASCII, and spaces beyond one, are left out, and what would make the line too long is cut off. Outcomes
// accepted and unsupported have no words.
func AppendClosing(dst []byte, c Closing) []byte {
	switch {
	case c.Error:
		dst = append(dst, closingError...)
	case c.Outcome == spec.Accepted:
		return append(dst, closingOK...)
	case c.Outcome == spec.Unsupported:
		return append(dst, closingUnsupported...)
	default:
		dst = append(dst, closingRefused...)
	}
	room := MaxLine - len(closingRefused)
	space := true
	for _, b := range c.Words {
		if b == ' ' {
			space = true
			continue
		}
		if b < ' ' || b > '~' {
			continue
		}
		if space {
			if room < 2 {
				break
			}
			dst = append(dst, ' ')
			space = false
			room--
		}
		if room < 1 {
			break
		}
		dst = append(dst, b)
		room--
	}
	return dst
}

// AppendReply appends the closing line of a unit's answer to an input, without LF.
func AppendReply(dst []byte, r spec.Reply) []byte {
	switch r.Outcome {
	case spec.Accepted:
		return append(dst, closingOK...)
	case spec.Unsupported:
		return append(dst, closingUnsupported...)
	}
	dst = append(dst, closingRefused...)
	if r.Refusal != spec.NoRefusal {
		dst = appendWord(dst, refusals.word(r.Refusal))
	}
	return dst
}

const (
	closingOK          = "ok"
	closingRefused     = "refused"
	closingUnsupported = "unsupported"
	closingError       = "error"
)

// ParseClosing parses a closing line, without LF.
func ParseClosing(line []byte) (Closing, error) {
	if len(line) > MaxLine {
		return Closing{}, &ParseError{Line: string(line), Want: tooLong}
	}
	switch string(line) {
	case closingOK:
		return Closing{Outcome: spec.Accepted}, nil
	case closingUnsupported:
		return Closing{Outcome: spec.Unsupported}, nil
	}
	var c Closing
	var rest []byte
	switch {
	case hasWord(line, closingRefused):
		c.Outcome, rest = spec.Refused, line[len(closingRefused):]
	case hasWord(line, closingError):
		c.Error, rest = true, line[len(closingError):]
	default:
		return Closing{}, &ParseError{Line: string(line), Want: closingWant}
	}
	if len(rest) == 0 {
		return c, nil
	}
	if !wellSpaced(rest[1:]) {
		return Closing{}, &ParseError{Line: string(line), Want: "words are printable ASCII and separated by exactly one space"}
	}
	c.Words = rest[1:]
	return c, nil
}

const closingWant = "an answer ends with ok, refused, refused WORDS, unsupported or error WORDS"

// hasWord reports whether a line is the word, or begins with it and a space.
func hasWord(line []byte, word string) bool {
	return len(line) >= len(word) && string(line[:len(word)]) == word && (len(line) == len(word) || line[len(word)] == ' ')
}

// wellSpaced reports whether text is words of printable ASCII, one space between two.
func wellSpaced(text []byte) bool {
	space := true
	for _, b := range text {
		if b < ' ' || b > '~' || b == ' ' && space {
			return false
		}
		space = b == ' '
	}
	return !space
}

// AppendGo appends the request that lets seconds of elapsed time pass, 0 to [MaxGo], without LF.
func AppendGo(dst []byte, seconds uint64) []byte {
	return appendNumber(append(dst, requestGo...), seconds)
}

// The bench's own requests, without LF; the request "go" is [AppendGo].
const (
	Hello = requestHello + " 1" // with [Version]
	New   = "new"
	Bye   = "bye"

	requestGo    = "go"
	requestHello = "hello"
)
