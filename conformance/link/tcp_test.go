package link

import (
	"context"
	"errors"
	"io"
	"net"
	"strings"
	"sync"
	"testing"

	"example.org/hearthbench/conformance/iut"
)

// plugs are the kinds of line there are.
var plugs = map[string]func(*testing.T) *plug{"tcp": tcpPlug}

// tcpPlug is a socket on loopback. The board is what listens: it runs afresh on each connection.
func tcpPlug(t *testing.T) *plug {
	t.Helper()
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	var running sync.WaitGroup
	t.Cleanup(func() {
		listener.Close()
		running.Wait()
	})
	return &plug{
		address: listener.Addr().String(),
		dial:    TCP,
		attach: func(b *board, boot func(io.ReadWriter)) {
			running.Go(func() {
				for {
					conn, err := listener.Accept()
					if err != nil {
						return
					}
					running.Go(func() {
						defer conn.Close()
						if boot != nil {
							boot(conn)
						}
						b.run(conn)
					})
				}
			})
		},
	}
}

// TestTCPComesBack: a unit whose network goes away with it is waited for, but not one that never was there.
func TestTCPComesBack(t *testing.T) {
	checkLeaks(t)
	p := tcpPlug(t)
	b := &board{}
	b.once(spoilAt, mishap{unplug: true})
	p.attach(b, nil)
	d, options, err := p.dial(p.address)
	if err != nil {
		t.Fatal(err)
	}
	options.Timeout = replyTimeout
	u, err := iut.Open(t.Context(), d, options)
	if err != nil {
		t.Fatal(err)
	}
	refusals := 3
	open := d.(*dialer).open
	d.(*dialer).open = func(ctx context.Context) (iut.Link, error) {
		if refusals > 0 {
			refusals--
			return nil, errors.New("not yet")
		}
		return open(ctx)
	}
	got := collect(t, u, scripts)
	if tr := got[spoilScript].Trouble; tr == nil || tr.Kind != iut.Died {
		t.Errorf("%v", tr)
	}
	if tr := got[spoilScript+1].Trouble; tr != nil || refusals != 0 {
		t.Errorf("%v, %d failures left", tr, refusals)
	}
	if err := u.Close(); err != nil {
		t.Error(err)
	}

	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	address := listener.Addr().String()
	listener.Close()
	d, options, err = TCP(address)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := iut.Open(t.Context(), d, options); err == nil || !strings.Contains(err.Error(), "nothing listens there") {
		t.Error(err)
	}
}
