package codec

import (
	"testing"
)

// TestVorbisCodebooks: a codebook that claims a huge table is refused before
// anything is made for it, and a code with holes too.
func TestVorbisCodebooks(t *testing.T) {
	bits := func(fields ...[2]uint64) []byte { // value, width
		var b []byte
		pos := 0
		for _, f := range fields {
			for i := range f[1] {
				if pos%8 == 0 {
					b = append(b, 0)
				}
				b[pos/8] |= byte(f[0]>>i&1) << (pos % 8)
				pos++
			}
		}
		return append(b, make([]byte, 16)...)
	}
	const pattern = 0x564342
	for _, c := range []struct {
		name string
		b    []byte
		ok   bool
	}{
		{"two entries of one bit", bits([2]uint64{0, 8}, [2]uint64{pattern, 24}, [2]uint64{1, 16}, [2]uint64{2, 24}, [2]uint64{0, 2}, [2]uint64{0, 10}, [2]uint64{0, 4}), true},
		{"incomplete code", bits([2]uint64{0, 8}, [2]uint64{pattern, 24}, [2]uint64{1, 16}, [2]uint64{2, 24}, [2]uint64{0, 2}, [2]uint64{1, 5}, [2]uint64{1, 5}, [2]uint64{0, 4}), false},
		{"no pattern", bits([2]uint64{0, 8}, [2]uint64{1, 24}), false},
		{"huge table", bits([2]uint64{0, 8}, [2]uint64{pattern, 24}, [2]uint64{65535, 16}, [2]uint64{256, 24}, [2]uint64{1, 1}, [2]uint64{7, 5}, [2]uint64{256, 9}, [2]uint64{1, 4}), false},
		{"too many entries", bits([2]uint64{0, 8}, [2]uint64{pattern, 24}, [2]uint64{1, 16}, [2]uint64{1 << 23, 24}, [2]uint64{1, 1}), false},
		{"nothing", nil, false},
	} {
		if got := codebooksFit(c.b); got != c.ok {
			t.Errorf("%s: %v", c.name, got)
		}
	}
	for _, c := range [][3]uint64{{1, 1, 1}, {8, 3, 2}, {26, 3, 2}, {27, 3, 3}, {81, 4, 3}, {65536, 1, 65536}, {5, 65535, 1}} {
		if got := lookup1(c[0], c[1]); got != int(c[2]) {
			t.Errorf("lookup1(%d, %d) = %d, want %d", c[0], c[1], got, c[2])
		}
	}
}
