package link

import (
	"context"
	"errors"
	"fmt"
	"net"
	"strconv"
	"sync"
	"syscall"
	"time"

	"example.org/hearthbench/conformance/iut"
)

const (
	dialTimeout = 5 * time.Second
	maxTCPAhead = 4096
)

// TCP returns a dialer for what listens on a TCP port, and the options for it. The address is HOST:PORT, with brackets around
// an IPv6 address; after it may stand ",ahead=N". N is how many requests may be sent ahead of their answers, 1 to 4096, by
// default 4096, as TCP holds back what is not read. A gateway to a serial port without flow control needs 1. An error says what is
// wrong with the address.
func TCP(address string) (iut.Dialer, iut.Options, error) {
	address, ahead, err := splitAhead(address, maxTCPAhead, maxTCPAhead)
	if err != nil {
		return nil, iut.Options{}, err
	}
	host, port, err := net.SplitHostPort(address)
	if err != nil || host == "" {
		return nil, iut.Options{}, fmt.Errorf("'%s' is not HOST:PORT; write it like 192.0.2.7:4000, or [2001:db8::7]:4000", address)
	}
	if n, err := strconv.ParseUint(port, 10, 16); err != nil || n == 0 {
		return nil, iut.Options{}, fmt.Errorf("port '%s' is no number from 1 to 65535", port)
	}
	d := &dialer{
		description: "TCP port " + address,
		open:        func(ctx context.Context) (iut.Link, error) { return openTCP(ctx, address) },
		away:        away,
	}
	return d, iut.Options{Ahead: ahead, Settle: settle}, nil
}

func openTCP(ctx context.Context, address string) (iut.Link, error) {
	dialer := net.Dialer{Timeout: dialTimeout}
	conn, err := dialer.DialContext(ctx, "tcp", address)
	switch {
	case errors.Is(err, syscall.ECONNREFUSED):
		return nil, fmt.Errorf("nothing listens there: is the unit running? (%w)", err)
	case err != nil:
		return nil, err
	}
	tcp := conn.(*net.TCPConn)
	// A request in lock-step must not wait for the acknowledgement of the one before.
	if err := tcp.SetNoDelay(true); err != nil {
		tcp.Close()
		return nil, err
	}
	return &tcpLink{TCPConn: tcp}, nil
}

// tcpLink is a link to whatever is at the other end of a TCP connection.
type tcpLink struct {
	*net.TCPConn
	once sync.Once
}

func (l *tcpLink) Close() error {
	l.once.Do(func() {
		_ = l.TCPConn.Close() // an error means that the connection has gone
	})
	return nil
}

// Ending says nothing: a connection cannot tell what has become of the unit.
func (l *tcpLink) Ending() iut.Ending { return iut.Ending{} }
