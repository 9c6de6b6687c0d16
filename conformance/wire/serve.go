package wire

import (
	"bytes"
	"errors"
	"fmt"
	"io"

	"example.org/hearthbench/emulator/spec"
)

// Device is a unit as [Serve] drives it. Both methods append what they change to buf, in the order in which it happened,
// and return the result, as append does.
type Device interface {
	// Do gives the unit an input. The changes have the current elapsed second.
	Do(in spec.Input, buf []spec.Change) (spec.Reply, []spec.Change)
	// Advance lets seconds of elapsed time pass.
	Advance(seconds uint64, buf []spec.Change) []spec.Change
}

// Serve is the unit's side of the protocol: it answers the requests that it reads from r, until "bye" or the end of r, which
// are no error. Each "new" makes a device with newDevice, and so does the first request for one without. Output is flushed
// whenever Serve would have to wait for input.
//
// An error is one of reading or writing, or a line that ends without LF.
func Serve(r io.Reader, w io.Writer, ics spec.ICS, newDevice func(spec.ICS) Device) error {
	s := server{
		in:  make([]byte, 0, 64<<10),
		out: make([]byte, 0, 64<<10),
		r:   r, w: w,
		ics: ics, statement: AppendICS(nil, ics),
		newDevice: newDevice,
	}
	for !s.bye {
		line, err := s.readLine()
		switch {
		case err == io.EOF:
			return s.flush()
		case errors.Is(err, errBadLine):
			s.fault(err.Error())
		case err != nil:
			return errors.Join(err, s.flush())
		default:
			s.answer(line)
		}
		if len(s.out) >= 32<<10 {
			if err := s.flush(); err != nil {
				return err
			}
		}
	}
	return s.flush()
}

type server struct {
	r         io.Reader
	w         io.Writer
	in        []byte // what has been read; the line under way begins at pos
	pos       int
	out       []byte
	ics       spec.ICS
	statement []byte
	newDevice func(spec.ICS) Device
	device    Device
	changes   []spec.Change
	bye       bool
}

func (s *server) flush() error {
	if len(s.out) == 0 {
		return nil
	}
	_, err := s.w.Write(s.out)
	s.out = s.out[:0]
	if err != nil {
		return fmt.Errorf("writing to the bench: %w", err)
	}
	return nil
}

var errBadLine = errors.New("a line is at most 120 bytes of printable ASCII")

// readLine returns the next line without its CR and LF, valid until the next call; io.EOF at the end; errBadLine for a line
// that is too long or not printable.
func (s *server) readLine() ([]byte, error) {
	tooLong := false
	searched := 0 // bytes from pos on that hold no LF
	for {
		if i := bytes.IndexByte(s.in[s.pos+searched:], '\n'); i >= 0 {
			line := s.in[s.pos : s.pos+searched+i]
			s.pos += searched + i + 1
			line = bytes.TrimSuffix(line, []byte{'\r'})
			if tooLong || len(line) > MaxLine || !printable(line) {
				return nil, errBadLine
			}
			return line, nil
		}
		rest := s.in[s.pos:]
		if len(rest) > MaxLine+1 {
			tooLong = true
			rest = rest[:0]
		}
		searched = len(rest)
		s.in, s.pos = append(s.in[:0], rest...), 0
		if err := s.flush(); err != nil {
			return nil, err
		}
		n, err := s.r.Read(s.in[len(s.in):cap(s.in)])
		s.in = s.in[:len(s.in)+n]
		if n > 0 {
			continue
		}
		if err == io.EOF && (len(s.in) > 0 || tooLong) {
			return nil, fmt.Errorf("reading from the bench: the last line has no LF: %w", io.ErrUnexpectedEOF)
		}
		if err != nil && err != io.EOF {
			err = fmt.Errorf("reading from the bench: %w", err)
		}
		if err != nil {
			return nil, err
		}
	}
}

func printable(line []byte) bool {
	for _, b := range line {
		if b < ' ' || b > '~' {
			return false
		}
	}
	return true
}

// answer writes the whole answer to a request.
func (s *server) answer(line []byte) {
	c := cursor{line: string(line)}
	switch c.next() {
	case requestHello:
		if string(line) != Hello {
			s.fault(fmt.Sprintf("this unit speaks version %d", Version))
			return
		}
		s.out = append(s.out, s.statement...)
		s.close(Closing{})
	case New:
		if c.end() {
			s.device = s.newDevice(s.ics)
			s.close(Closing{})
		}
	case Bye:
		if c.end() {
			s.bye = true
			s.close(Closing{})
		}
	case requestGo:
		seconds := c.number("seconds", MaxGo)
		if c.end() {
			s.changes = s.unit().Advance(seconds, s.changes[:0])
			s.events()
			s.close(Closing{})
		}
	default:
		in, err := ParseInput(c.line)
		if err != nil {
			s.fault(requestFault(err))
			return
		}
		var reply spec.Reply
		reply, s.changes = s.unit().Do(in, s.changes[:0])
		s.events()
		s.out = append(AppendReply(s.out, reply), '\n')
	}
	if c.failed {
		s.fault(c.error().brief())
	}
}

// requestFault words an error of ParseInput for the bench, which has sent the line itself.
func requestFault(err error) string {
	var parse *ParseError
	switch {
	case !errors.As(err, &parse):
		return err.Error()
	case parse.Word == 1:
		return "word 1: a request is hello, new, go, bye or an input"
	default:
		return parse.brief()
	}
}

func (s *server) unit() Device {
	if s.device == nil {
		s.device = s.newDevice(s.ics)
	}
	return s.device
}

func (s *server) events() {
	for _, change := range s.changes {
		s.out = append(AppendChange(s.out, change), '\n')
	}
}

func (s *server) close(c Closing) { s.out = append(AppendClosing(s.out, c), '\n') }

func (s *server) fault(words string) {
	s.close(Closing{Error: true, Words: []byte(words)})
}
