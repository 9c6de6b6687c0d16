package iut

import (
	"errors"
	"fmt"
	"strings"
)

// splitCommand splits a command into a program and its arguments without a shell. Words are separated by spaces and tabs.
// Everything between single quotes is meant literally; so it is between double quotes, but for \" and \\. What a shell would
// do more than that is an error rather than a surprise.
func splitCommand(command string) ([]string, error) {
	var (
		words  []string
		word   strings.Builder
		inWord bool
	)
	for i := 0; i < len(command); i++ {
		switch b := command[i]; {
		case b == ' ' || b == '\t':
			if inWord {
				words = append(words, word.String())
				word.Reset()
				inWord = false
			}
		case b == '\'' || b == '"':
			begin := i
			inWord = true
			for i++; i < len(command) && command[i] != b; i++ {
				if b == '"' && command[i] == '\\' && i+1 < len(command) && (command[i+1] == '"' || command[i+1] == '\\') {
					i++
				}
				word.WriteByte(command[i])
			}
			if i == len(command) {
				return nil, fmt.Errorf("command %s: the %c at byte %d has no partner", command, b, begin+1)
			}
		case strings.IndexByte("|&;<>()`$*?\n", b) >= 0:
			return nil, fmt.Errorf("command %s: no shell is used, so %q at byte %d needs quotes to be meant literally; "+
				"for a shell's meaning write sh -c '…'", command, b, i+1)
		case b == '\\' && i+1 < len(command) && strings.IndexByte(" \t'\"", command[i+1]) >= 0:
			return nil, fmt.Errorf("command %s: no shell is used, so the \\ at byte %d escapes nothing; put the word into quotes",
				command, i+1)
		case b == 0:
			return nil, fmt.Errorf("command %q: byte %d is NUL, which no argument can have", command, i+1)
		default:
			inWord = true
			word.WriteByte(b)
		}
	}
	if inWord {
		words = append(words, word.String())
	}
	if len(words) == 0 || words[0] == "" {
		return nil, errors.New("the command is empty: it should be a program and its arguments")
	}
	return words, nil
}
