package codec

import (
	"bytes"
	"io"
	"testing"
)

// FuzzLSFFeed: whatever the bytes, what is given is whole frames of one size, and no
// more of them than there are headers.
func FuzzLSFFeed(f *testing.F) {
	frame := make([]byte, 209)
	copy(frame, []byte{0xff, 0xf3, 0x80, 0xc4}) // MPEG-2, 22.05 kHz, 64 kbit/s, mono
	f.Add(bytes.Repeat(frame, 3))
	f.Add(append([]byte{0xff, 0xe3, 0x40, 0xc4}, frame...))
	f.Fuzz(func(t *testing.T, b []byte) {
		if len(b) < 4 {
			return
		}
		h, ok := parseMP3Header(b)
		if !ok || h.mpeg1 {
			return
		}
		out, err := io.ReadAll(&lsfFeed{src: bytes.NewReader(b), key: h.key})
		if err != nil {
			return
		}
		rate := h.rate
		if h.mpeg25 {
			rate = 16000
		}
		if size := 144 * 160000 / rate / 2; len(out)%size != 0 || len(out)/size > len(b)/4 {
			t.Errorf("%d bytes in frames of %d from %d", len(out), size, len(b))
		}
	})
}
