package ink

import (
	"strings"
	"testing"
	"unicode/utf8"
)

var faceNames = map[Font]string{Regular: "regular", Bold: "bold", Mono: "mono"}

// needed is what labels, readings and units of the program are written with.
const needed = "−×·°Ωµμ≥≤±…–—‘’“”→←↑↓∞≈≠²³½‰äöüßéñÄ≈\u00a0\u2009\u202f"

func TestFacesHaveWhatLabelsNeed(t *testing.T) {
	for f, name := range faceNames {
		for r := rune(' '); r < 0x7f; r++ {
			if Missing(string(r), f) != -1 {
				t.Errorf("%s lacks %q", name, r)
			}
		}
		for _, r := range needed {
			if Missing(string(r), f) != -1 {
				t.Errorf("%s lacks %q", name, r)
			}
		}
		// Icons are drawn as shapes because of these.
		if Missing("ok ✓", f) != '✓' {
			t.Errorf("%s: Missing does not report a rune that is not there", name)
		}
	}
}

// A monospaced face has one advance, and digits that change in place must not
// move their neighbours in any face.
func TestMeasure(t *testing.T) {
	st := Style{Size: 20, Font: Mono}
	want := 5 * Measure("i", st)
	if got := Measure("Wm.10", st); got != want {
		t.Errorf("mono text of five is %v wide, want %v", got, want)
	}
	for f := range faceNames {
		for d := '0'; d <= '9'; d++ {
			st := Style{Size: 10, Font: f}
			if Measure(string(d), st) != Measure("0", st) {
				t.Errorf("%s: digit %c is not as wide as 0", faceNames[f], d)
			}
		}
	}
	a, b := Measure("Strip A", Style{Size: 12}), Measure("Strip A", Style{Size: 24})
	if d := b - 2*a; d > 1e-4 || d < -1e-4 {
		t.Errorf("width does not scale with size: %v, %v", a, b)
	}
	if c := CapHeight(Style{Size: 100}); c < 60 || c > 80 {
		t.Errorf("capital is %v high at size 100", c)
	}
}

func FuzzShorten(f *testing.F) {
	f.Add("Where the level sits", float32(14), float32(60))
	f.Add("", float32(14), float32(0))
	f.Add("ä\xffb  c", float32(9), float32(30))
	f.Fuzz(func(t *testing.T, s string, size, width float32) {
		if !(size >= 1 && size <= 200 && width >= 0 && width <= 1e4) {
			t.Skip()
		}
		st := Style{Size: size}
		got := Shorten(s, st, width)
		if w := Measure(got, st); w > width+0.02 {
			t.Fatalf("Shorten(%q, %v) = %q is %v wide", s, width, got, w)
		}
		if got == s {
			return
		}
		if got != "" && !strings.HasSuffix(got, "…") {
			t.Fatalf("%q has no ellipsis", got)
		}
		head := strings.TrimSuffix(got, "…")
		if !strings.HasPrefix(s, head) {
			t.Fatalf("%q is not a beginning of %q", head, s)
		}
		if utf8.ValidString(s) && !utf8.ValidString(got) {
			t.Fatalf("%q was cut within a rune", s)
		}
	})
}

func TestTextDoesNotAllocate(t *testing.T) {
	var l List
	st := Style{Size: 13, Align: Right}
	draw := func() {
		l.Reset()
		l.TextIn(Rect{0, 0, 60, 20}, "a long text that has to be cut", st)
		l.TextIn(Rect{0, 0, 600, 20}, "a text that fits", st)
	}
	draw()
	if n := testing.AllocsPerRun(100, draw); n != 0 {
		t.Errorf("%v allocations a frame", n)
	}
}

func BenchmarkMeasure(b *testing.B) {
	st := Style{Size: 13}
	b.ReportAllocs()
	for b.Loop() {
		Measure("strip A · loudest moment so far: the laugh at 0:14", st)
	}
}
