package wasm

import (
	"testing"

	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/sample"
)

// assemble makes a module of sections, which come in pairs: the kind, and its bytes.
func assemble(sections ...any) []byte {
	out := []byte("\x00asm\x01\x00\x00\x00")
	for i := 0; i < len(sections); i += 2 {
		out = appendSection(out, byte(sections[i].(int)), []byte(sections[i+1].(string)))
	}
	return out
}

const (
	noArguments = "\x01\x60\x00\x00" // one type, () -> ()
	oneOfIt     = "\x01\x00"         // one function of that type
)

func body(instructions string) string {
	b := "\x00" + instructions + "\x0b"
	return "\x01" + string(appendU32(nil, uint32(len(b)))) + b
}

func TestMeterRefuses(t *testing.T) {
	for _, c := range []struct {
		name   string
		module []byte
		want   string
	}{
		{"nothing", nil, "it does not begin with the bytes 00 61 73 6d"},
		{"text", []byte("(module)"), "it is no WebAssembly module"},
		{"a component", []byte("\x00asm\x0d\x00\x01\x00"), "components and other versions"},
		{"a long one", append(assemble(), make([]byte, maxModule)...), "a module may have 4194304"},
		{"cut", assemble(secType, noArguments)[:12], "the module ends in the middle"},
		{"an unknown section", assemble(13, ""), "a section of kind 13"},
		{"a section twice", assemble(secType, noArguments, secType, noArguments), "two sections of kind 1"},
		{"imports", assemble(secImport, "\x06\x01a\x01b\x00\x00\x01a\x01c\x03\x7f\x00\x01a\x01d\x02\x00\x01\x01a\x01e\x01\x70\x00\x01\x01a\x01f\x00\x00\x01a\x01g\x00\x00"),
			`it imports "a"."b", "a"."c", "a"."d", "a"."e", "a"."f" and 1 more`},
		{"a large table", assemble(secTable, "\x01\x70\x00\x81\x80\x04"), "a table of 65537 entries"},
		{"large memory", assemble(secMemory, "\x01\x00\x11"), "it begins with 17 pages of memory, and the limit is 16 pages"},
		{"a vector", assemble(secType, noArguments, secFunction, oneOfIt, secCode, body("\xfd\x0c"+string(make([]byte, 16))+"\x1a")),
			"code section: function 0: instruction 0xfd is none that can be run here"},
		{"a table that grows", assemble(secType, noArguments, secFunction, oneOfIt, secCode, body("\xfc\x0f\x00")), "table.grow"},
		{"the counter", assemble(secType, noArguments, secFunction, oneOfIt, secCode, body("\x41\x00\x24\x00")), "it uses global 0, and there are 0"},
		{"a number without end", assemble(secType, "\xff\xff\xff\xff\x7f"), "a number that is too large"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := meter(c.module, 16)
			require.ErrorContains(t, err, c.want)
		})
	}
}

// Whatever is cut off the sample, it is an error and no panic, and no module that would run.
func TestCutModules(t *testing.T) {
	for n := 0; n < len(sample.Module); n += 7 {
		m, err := meter(sample.Module[:n], defaultPages)
		if err == nil {
			_, err = Open(t.Context(), "cut", m.binary, Options{})
		}
		require.Error(t, err, n)
	}
}

// What is part of a module's state and cannot be copied is found.
func TestHiddenState(t *testing.T) {
	for _, c := range []struct {
		name   string
		module []byte
		want   string
	}{
		{"none", sample.Module, ""},
		{"a global that holds a reference", assemble(secGlobal, "\x01\x70\x01\xd0\x70\x0b"), "a global that changes and holds a reference or a vector"},
		{"a table that is set", assemble(secType, noArguments, secFunction, oneOfIt, secTable, "\x01\x70\x00\x01",
			secCode, body("\x41\x00\xd0\x70\x26\x00")), "a table that it changes"},
		{"a segment that is dropped", assemble(secType, noArguments, secFunction, oneOfIt, secDataCount, "\x01",
			secCode, body("\xfc\x09\x00"), secData, "\x01\x01\x00"), "a segment that it drops"},
	} {
		t.Run(c.name, func(t *testing.T) {
			m, err := meter(c.module, defaultPages)
			require.NoError(t, err)
			require.Equal(t, c.want, m.hidden)
			u := &Unit{name: "it", module: &module{metered: m}}
			if c.want != "" {
				require.ErrorContains(t, u.Snapshot(&Snapshot{}), "cannot be put back into an earlier state: it has "+c.want)
			}
		})
	}
}

// A mutable global of the module's own is part of the snapshot: the module counts in one how often it was fed.
func TestGlobalsAreState(t *testing.T) {
	// Types: () -> (), () -> i32, i32 -> i32. Functions: reset, request, size, reply, feed.
	i32const := func(n int32) string { return "\x41" + string(appendS32(nil, n)) }
	function := func(instructions string) string {
		b := "\x00" + instructions + "\x0b"
		return string(appendU32(nil, uint32(len(b)))) + b
	}
	statement := "ics channels both both\nics cycle 24h 24h\nics timing separate separate\nics coupling independent independent\n" +
		"ics periods 1\nics boost-longest 0\nics boost-step 60\nics holiday no\nics summer-time none\nics lock no\nics reserve 0\nok\n"
	word := "refused x\n"
	const requestAt, replyAt, statementAt, wordAt = 1024, 2048, 4096, 6000
	// feed: hello is 8 bytes long; everything else is refused with the count as a letter.
	feed := "\x23\x00\x41\x01\x6a\x24\x00" + // count++
		"\x20\x00\x41\x08\x46\x04\x7f" + // if length = 8
		i32const(replyAt) + i32const(statementAt) + i32const(int32(len(statement))) + "\xfc\x0a\x00\x00" + i32const(int32(len(statement))) +
		"\x05" + // else
		i32const(replyAt) + i32const(wordAt) + i32const(int32(len(word))) + "\xfc\x0a\x00\x00" +
		i32const(replyAt+8) + "\x23\x00" + i32const('a') + "\x6a\x3a\x00\x00" + i32const(int32(len(word))) +
		"\x0b"
	export := func(name string, kind, n byte) string { return string(append(appendName(nil, name), kind, n)) }
	segment := func(at int32, data string) string {
		return "\x00" + i32const(at) + "\x0b" + string(appendName(nil, data))
	}
	module := assemble(
		secType, "\x03\x60\x00\x00\x60\x00\x01\x7f\x60\x01\x7f\x01\x7f",
		secFunction, "\x05\x00\x01\x01\x01\x02",
		secMemory, "\x01\x00\x01",
		secGlobal, "\x01\x7f\x01\x41\x00\x0b",
		secExport, "\x07"+export("memory", 2, 0)+export("reset", 0, 0)+export("request", 0, 1)+export("request_size", 0, 2)+
			export("reply", 0, 3)+export("reply_size", 0, 2)+export("feed", 0, 4),
		secCode, "\x05"+function("")+function(i32const(requestAt))+function(i32const(1024))+function(i32const(replyAt))+function(feed),
		secData, "\x02"+segment(statementAt, statement)+segment(wordAt, word),
	)
	u := opened(t, module, Options{})
	ask := func() string {
		obs, err := u.Ask(t.Context(), requests(t, "power on"))
		require.NoError(t, err)
		require.Nil(t, obs.Trouble)
		return obs.Answers[0].Words
	}
	require.Equal(t, "c", ask(), "hello was the first")
	var s Snapshot
	require.NoError(t, u.Snapshot(&s))
	require.Equal(t, "d", ask())
	require.Equal(t, "e", ask())
	require.NoError(t, u.Restore(t.Context(), &s))
	require.Equal(t, "d", ask())
}

func FuzzMeter(f *testing.F) {
	f.Add(sample.Module)
	f.Add(assemble(secType, noArguments, secFunction, oneOfIt, secCode, body("\x03\x40\x0c\x00\x0b")))
	f.Add(assemble(secType, noArguments, secFunction, oneOfIt, secTable, "\x01\x70\x00\x01", secElement, "\x01\x00\x41\x00\x0b\x01\x00", secCode, body("\x10\x00")))
	f.Fuzz(func(t *testing.T, module []byte) {
		m, err := meter(module, defaultPages)
		if err != nil {
			return
		}
		// What has been metered once is a module with an import, and so refused.
		_, err = meter(m.binary, defaultPages)
		require.ErrorContains(t, err, `it imports "bench"."check"`)
	})
}
