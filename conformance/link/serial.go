package link

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strconv"
	"sync"
	"time"

	"go.bug.st/serial"

	"example.org/hearthbench/conformance/iut"
)

const (
	// DefaultBaud is the speed of a serial port for which none is given, in bits a second.
	DefaultBaud = 115200
	minBaud     = 300
	maxBaud     = 4000000

	// maxSerialAhead keeps requests of the greatest length within the 4 KiB that a driver takes at least, so that no Write
	// waits for a unit that has stopped to read.
	maxSerialAhead = 32

	// statementBits is more than a conformance statement has on the line: 64 lines of 121 bytes of 10 bits.
	statementBits = 64 * 121 * 10
)

// Serial returns a dialer for a board on a serial port, and the options for it. The address is PATH or PATH@BAUD, such as
// /dev/ttyUSB0@9600, or COM3 on Windows; after it may stand ",ahead=N". BAUD is 300 to 4000000 bits a second, by default
// [DefaultBaud]; the line is 8N1 without flow control. N is how many requests may be sent ahead of their answers, 1 to 32. The
// default, 1, waits for each answer, as a unit without a receive buffer of its own needs. An error says what is wrong with the
// address; whether there is such a port is seen when the dialer dials.
//
// Opening the port drops what has come in before. Most adapters restart a board that is wired for it when the port is opened.
func Serial(address string) (iut.Dialer, iut.Options, error) {
	address, ahead, err := splitAhead(address, 1, maxSerialAhead)
	if err != nil {
		return nil, iut.Options{}, err
	}
	path, baud := address, DefaultBaud
	if before, after, ok := cutLast(address, "@"); ok {
		n, err := strconv.Atoi(after)
		if err != nil || n < minBaud || n > maxBaud {
			return nil, iut.Options{}, fmt.Errorf("baud rate '%s' is no whole number from %d to %d; write it like %s@%d",
				after, minBaud, maxBaud, before, DefaultBaud)
		}
		path, baud = before, n
	}
	if path == "" {
		return nil, iut.Options{}, errors.New("no port is named; write it like /dev/ttyUSB0@115200, or COM3@115200")
	}
	d := &dialer{
		description: fmt.Sprintf("serial port %s at %d baud", path, baud),
		open:        func(context.Context) (iut.Link, error) { return openSerial(path, baud) },
		away:        away,
	}
	// A slow line needs time for two statements, and for one that was under way.
	slow := 3 * statementBits * time.Second / time.Duration(baud)
	return d, iut.Options{Ahead: ahead, Settle: settle + slow}, nil
}

func openSerial(path string, baud int) (iut.Link, error) {
	port, err := serial.Open(path, &serial.Mode{BaudRate: baud, DataBits: 8, Parity: serial.NoParity, StopBits: serial.OneStopBit})
	if err != nil {
		return nil, explainSerial(path, baud, err)
	}
	if err := port.ResetInputBuffer(); err != nil {
		port.Close()
		return nil, fmt.Errorf("dropping what %s has received before: %w", path, err)
	}
	return &serialLink{port: port, closing: make(chan struct{})}, nil
}

// explainSerial says what to do about an error of opening a port.
func explainSerial(path string, baud int, err error) error {
	code := serial.PortErrorCode(-1)
	var portError *serial.PortError
	if errors.As(err, &portError) {
		code = portError.Code()
	}
	hint := ""
	switch {
	case code == serial.PortNotFound || errors.Is(err, fs.ErrNotExist):
		hint = "there is no such port: is the board plugged in? Ports are called /dev/ttyUSB0 or /dev/ttyACM0 (Linux), /dev/cu.usbserial… (macOS), COM3 (Windows)"
	case code == serial.PermissionDenied || errors.Is(err, fs.ErrPermission):
		hint = "you may not use it: on Linux join the group that owns the port ('ls -l' shows it, often dialout) and log in again"
	case code == serial.PortBusy:
		hint = "another program has it open: close that, such as a terminal or a debugger"
	case code == serial.InvalidSpeed:
		hint = fmt.Sprintf("it cannot do %d baud", baud)
	case code == serial.InvalidSerialPort:
		hint = "it is no serial port"
	}
	if hint == "" {
		return fmt.Errorf("opening %s failed: %w", path, err)
	}
	return fmt.Errorf("opening %s failed: %s (%w)", path, hint, err)
}

const (
	// readSlice is how soon a Read notices that the link is being closed. The port itself could be closed under it, but the
	// number of its descriptor could by then be another file's.
	readSlice = 50 * time.Millisecond
	// writeGrace is for a driver that has been told to drop what it holds to let go of a Write.
	writeGrace = time.Second
)

// serialLink is a link to whatever is at the other end of a serial port.
type serialLink struct {
	port     serial.Port
	closing  chan struct{}
	once     sync.Once
	reading  sync.Mutex // held by Read
	writing  sync.Mutex // held by Write
	deadline time.Time  // of Read
}

var errClosed = errors.New("the link is closed")

func (l *serialLink) closed() bool {
	select {
	case <-l.closing:
		return true
	default:
		return false
	}
}

func (l *serialLink) SetReadDeadline(t time.Time) error {
	l.reading.Lock()
	defer l.reading.Unlock()
	l.deadline = t
	return nil
}

func (l *serialLink) Read(p []byte) (int, error) {
	l.reading.Lock()
	defer l.reading.Unlock()
	for !l.closed() {
		wait := readSlice
		if !l.deadline.IsZero() {
			if wait = min(wait, time.Until(l.deadline)); wait <= 0 {
				return 0, os.ErrDeadlineExceeded
			}
		}
		if err := l.port.SetReadTimeout(wait); err != nil {
			return 0, l.gone(err)
		}
		n, err := l.port.Read(p)
		if n > 0 {
			return n, nil
		}
		if err != nil {
			return 0, l.gone(err)
		}
	}
	return 0, errClosed
}

func (l *serialLink) Write(p []byte) (int, error) {
	l.writing.Lock()
	defer l.writing.Unlock()
	done := 0
	for done < len(p) {
		if l.closed() {
			return done, errClosed
		}
		n, err := l.port.Write(p[done:])
		done += n
		if err != nil {
			return done, l.gone(err)
		}
	}
	return done, nil
}

// gone says what an error of a port means that is open and has worked.
func (l *serialLink) gone(err error) error {
	return fmt.Errorf("the port has gone, as if it had been unplugged (%w)", err)
}

func (l *serialLink) Close() error {
	l.once.Do(l.close)
	return nil
}

func (l *serialLink) close() {
	close(l.closing)
	// What has not been sent is of no use any more, and a close might wait for it for half a minute. An error means that the
	// port has gone.
	_ = l.port.ResetOutputBuffer()
	for end := time.Now().Add(writeGrace); time.Now().Before(end); time.Sleep(readSlice / 5) {
		if l.writing.TryLock() {
			l.writing.Unlock()
			break
		}
		_ = l.port.ResetOutputBuffer()
	}
	// A Write that the driver has not let go by now ends when it does.
	l.reading.Lock()
	defer l.reading.Unlock()
	_ = l.port.Close() // nothing more can be done about a port that does not close
}

// Ending says nothing: a port cannot tell what has become of the board.
func (l *serialLink) Ending() iut.Ending { return iut.Ending{} }
