package qr

import (
	"bytes"
	"errors"
	"image/png"
	"strings"
	"testing"

	"github.com/makiuchi-d/gozxing"
	reader "github.com/makiuchi-d/gozxing/qrcode"
)

// A reader that is not ours, nor the library's that writes, reads what was written: short
// links, and the longest that are written.
func TestRead(t *testing.T) {
	for _, n := range []int{0, 250, 550, 900, 1170} {
		text := "https://a.example/gain/#setup=" + strings.Repeat("aZ9-_", n/5)
		data, err := PNG(text)
		if err != nil {
			t.Fatalf("%d characters: %v", len(text), err)
		}
		p, err := png.Decode(bytes.NewReader(data))
		if err != nil {
			t.Fatal(err)
		}
		bits, err := gozxing.NewBinaryBitmapFromImage(p)
		if err != nil {
			t.Fatal(err)
		}
		got, err := reader.NewQRCodeReader().Decode(bits, nil)
		if err != nil || got.GetText() != text {
			t.Errorf("%d characters are read as %.60v, %v", len(text), got, err)
		}
	}
	if _, err := PNG(strings.Repeat("a", most+1)); !errors.Is(err, ErrLong) {
		t.Errorf("too long: %v", err)
	}
}
