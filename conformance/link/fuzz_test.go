package link

import (
	"strings"
	"testing"
)

// FuzzAddresses: an address is taken apart into a description that says all of it, or refused with a reason.
func FuzzAddresses(f *testing.F) {
	for _, address := range []string{"/dev/ttyUSB0@9600,ahead=3", "COM3", "a@b@300", "@", ",", "[::1]:4000,ahead=1", "localhost:65536", "h:1,ahead=1,ahead=2"} {
		f.Add(address)
	}
	f.Fuzz(func(t *testing.T, address string) {
		if d, options, err := Serial(address); err == nil {
			path, _, _ := strings.Cut(strings.TrimPrefix(d.Describe(), "serial port "), " at ")
			if path == "" || !strings.HasPrefix(address, path) || options.Ahead < 1 || options.Ahead > maxSerialAhead || options.Settle < settle {
				t.Errorf("%q: %s, %+v", address, d.Describe(), options)
			}
		} else if err.Error() == "" {
			t.Errorf("%q: no reason", address)
		}
		if d, options, err := TCP(address); err == nil {
			at := strings.TrimPrefix(d.Describe(), "TCP port ")
			if !strings.HasPrefix(address, at) || !strings.Contains(at, ":") || options.Ahead < 1 || options.Ahead > maxTCPAhead || options.Settle != settle {
				t.Errorf("%q: %s, %+v", address, d.Describe(), options)
			}
		} else if err.Error() == "" {
			t.Errorf("%q: no reason", address)
		}
	})
}
