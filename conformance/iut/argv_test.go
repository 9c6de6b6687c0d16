package iut

import (
	"slices"
	"strings"
	"testing"
)

func TestSplitCommand(t *testing.T) {
	for _, test := range []struct {
		command string
		want    []string
	}{
		{"./unit", []string{"./unit"}},
		{"  ./unit \t -v  x ", []string{"./unit", "-v", "x"}},
		{"'my unit' 'a\"b\\c$'", []string{"my unit", `a"b\c$`}},
		{`"my unit" "a\"b\\c\d'$e"`, []string{"my unit", `a"b\c\d'$e`}},
		{`unit --name="two words"' and more'`, []string{"unit", "--name=two words and more"}},
		{`unit '' ""`, []string{"unit", "", ""}},
		{`C:\units\unit.exe \\server\x`, []string{`C:\units\unit.exe`, `\\server\x`}},
		{"sh -c 'exec ./unit 2>/dev/null | cat'", []string{"sh", "-c", "exec ./unit 2>/dev/null | cat"}},
		{"./ünit caf\xe9", []string{"./ünit", "caf\xe9"}},
	} {
		got, err := splitCommand(test.command)
		if err != nil || !slices.Equal(got, test.want) {
			t.Errorf("%s gives %q, %v, want %q", test.command, got, err, test.want)
		}
	}
	for _, test := range []struct{ command, want string }{
		{"", "the command is empty"},
		{" \t", "the command is empty"},
		{"'' x", "the command is empty"},
		{"unit 'x", "the ' at byte 6 has no partner"},
		{`unit "x\"`, `the " at byte 6 has no partner`},
		{"unit | tee log", "no shell is used, so '|' at byte 6 needs quotes"},
		{"unit > log", "no shell is used, so '>' at byte 6 needs quotes"},
		{"unit; unit", "no shell is used, so ';' at byte 5 needs quotes"},
		{"unit $HOME", "no shell is used, so '$' at byte 6 needs quotes"},
		{"unit *.c", "no shell is used, so '*' at byte 6 needs quotes"},
		{"unit\nunit", `no shell is used, so '\n' at byte 5 needs quotes`},
		{`my\ unit`, `no shell is used, so the \ at byte 3 escapes nothing; put the word into quotes`},
		{"unit \x00", "byte 6 is NUL"},
	} {
		got, err := splitCommand(test.command)
		if err == nil {
			t.Errorf("%s gives %q, want the error %q", test.command, got, test.want)
		} else if !strings.Contains(err.Error(), test.want) {
			t.Errorf("%s\n got %q\nwant %q", test.command, err, test.want)
		}
	}
	if _, err := Exec("unit |", nil); err == nil {
		t.Error("Exec takes a command that cannot be split")
	}
}

// FuzzSplitCommand: words put into single quotes come back as they were.
func FuzzSplitCommand(f *testing.F) {
	f.Add("unit -v", "two words")
	f.Add(`"a\"b" c`, `\ $x`)
	f.Fuzz(func(t *testing.T, command, word string) {
		if argv, err := splitCommand(command); err == nil && (len(argv) == 0 || argv[0] == "") {
			t.Errorf("%q gives no program: %q", command, argv)
		}
		if strings.Contains(word, "'") {
			return
		}
		if argv, err := splitCommand("unit '" + word + "'"); err != nil || !slices.Equal(argv, []string{"unit", word}) {
			t.Errorf("%q in quotes gives %q, %v", word, argv, err)
		}
	})
}
