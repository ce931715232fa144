package ink

import (
	"sync"
	"unicode/utf8"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/gomono"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

const (
	ellipsis = '…'
	fonts    = 3
	// tableRunes is where the dense table of a face ends: Latin, Greek and
	// Cyrillic. What the faces have beyond it (punctuation, arrows, operators,
	// boxes) is in a map.
	tableRunes = 0x530
)

// face is an embedded typeface, read once and never changed.
type face struct {
	once    sync.Once
	data    []byte
	sfnt    *sfnt.Font
	em      float32 // font units an em
	cap     float32 // height of a capital, font units
	ascent  float32
	descent float32
	dense   [tableRunes]glyph
	sparse  map[rune]glyph
	missing glyph
}

type glyph struct {
	index   sfnt.GlyphIndex
	advance float32 // font units
}

var faces = [fonts]face{{data: goregular.TTF}, {data: gobold.TTF}, {data: gomono.TTF}}

func faceOf(f Font) *face {
	if int(f) >= len(faces) {
		f = Regular
	}
	fc := &faces[f]
	fc.once.Do(fc.load)
	return fc
}

func (fc *face) load() {
	f, err := sfnt.Parse(fc.data)
	if err != nil {
		panic("ink: embedded face: " + err.Error())
	}
	fc.sfnt = f
	fc.em = float32(f.UnitsPerEm())
	// At a size of one pixel a font unit everything comes out in font units.
	ppem := fixed.I(int(f.UnitsPerEm()))
	var b sfnt.Buffer
	m, err := f.Metrics(&b, ppem, font.HintingNone)
	if err != nil {
		panic("ink: embedded face: " + err.Error())
	}
	fc.cap = float32(m.CapHeight) / 64
	fc.ascent = float32(m.Ascent) / 64
	fc.descent = float32(m.Descent) / 64
	get := func(i sfnt.GlyphIndex) glyph {
		adv, err := f.GlyphAdvance(&b, i, ppem, font.HintingNone)
		if err != nil {
			panic("ink: embedded face: " + err.Error())
		}
		return glyph{i, float32(adv) / 64}
	}
	fc.missing = get(0)
	for r := range rune(tableRunes) {
		if i, err := f.GlyphIndex(&b, r); err == nil && i != 0 {
			fc.dense[r] = get(i)
		}
	}
	fc.sparse = make(map[rune]glyph)
	for _, span := range [][2]rune{{0x1e00, 0x1fff}, {0x2000, 0x266f}, {0xfb00, 0xfb06}, {0xfffc, 0xfffd}} {
		for r := span[0]; r <= span[1]; r++ {
			if i, err := f.GlyphIndex(&b, r); err == nil && i != 0 {
				fc.sparse[r] = get(i)
			}
		}
	}
}

func (fc *face) glyph(r rune) (glyph, bool) {
	r = stand(r)
	if r >= 0 && r < tableRunes {
		if g := fc.dense[r]; g.index != 0 {
			return g, true
		}
		return fc.missing, false
	}
	if g, ok := fc.sparse[r]; ok {
		return g, true
	}
	return fc.missing, false
}

// stand maps runes that the faces lack to one that says the same.
func stand(r rune) rune {
	switch r {
	case '\t', '\n', '\r', '\u00a0', '\u2002', '\u2003', '\u2007', '\u2009', '\u200a', '\u202f':
		return ' '
	case '\u2010', '\u2011':
		return '-'
	case 'μ': // Greek mu; the faces have the micro sign
		return 'µ'
	case 'Ω': // the ohm sign
		return 'Ω'
	}
	return r
}

// Face returns the typeface for painters. The font may be used by several
// goroutines at once as long as each brings its own sfnt.Buffer.
func Face(f Font) *sfnt.Font { return faceOf(f).sfnt }

// Glyph returns the index of the glyph that stands for r and how far, in em,
// the pen moves past it. ok is false where the face has no such glyph; the
// index is then that of the box for missing glyphs.
func Glyph(f Font, r rune) (index sfnt.GlyphIndex, advance float32, ok bool) {
	fc := faceOf(f)
	g, ok := fc.glyph(r)
	return g.index, g.advance / fc.em, ok
}

// Missing returns the first rune of s that the face cannot show, or −1.
func Missing(s string, f Font) rune {
	fc := faceOf(f)
	for _, r := range s {
		if _, ok := fc.glyph(r); !ok {
			return r
		}
	}
	return -1
}

// Measure returns the width of s in dp: the sum of the glyphs' unhinted
// advances. The Go faces carry no kerning.
func Measure(s string, st Style) (w float32) {
	fc := faceOf(st.Font)
	for _, r := range s {
		g, _ := fc.glyph(r)
		w += g.advance
	}
	return w * st.Size / fc.em
}

// CapHeight returns the height of a capital letter in dp.
func CapHeight(st Style) float32 {
	fc := faceOf(st.Font)
	return fc.cap * st.Size / fc.em
}

// Ascent and Descent return how far, in dp, glyphs reach above and below the
// baseline (both positive).
func Ascent(st Style) float32  { fc := faceOf(st.Font); return fc.ascent * st.Size / fc.em }
func Descent(st Style) float32 { fc := faceOf(st.Font); return fc.descent * st.Size / fc.em }

// LineHeight returns the distance between the baselines of running text in dp.
func LineHeight(st Style) float32 { return 1.4 * st.Size }

// shortened remembers what Shorten cut, so that a scene that writes the same
// too long text every frame does not allocate every frame.
var shortened = struct {
	sync.Mutex
	m map[shortKey]string
}{m: make(map[shortKey]string)}

type shortKey struct {
	s     string
	font  Font
	size  float32
	width float32
}

const maxShortened = 512

// Shorten returns s if it fits into width dp, else the longest beginning of it
// that fits with an ellipsis after it. Where not even the ellipsis fits the
// result is empty.
func Shorten(s string, st Style, width float32) string {
	// Layouts measure a text and then ask for exactly that room: the sum must
	// not fail on its last bit.
	const slack = 0.01
	if Measure(s, st) <= width+slack {
		return s
	}
	key := shortKey{s, st.Font, st.Size, width}
	shortened.Lock()
	defer shortened.Unlock()
	if t, ok := shortened.m[key]; ok {
		return t
	}
	t := shorten(s, st, width+slack)
	if len(shortened.m) >= maxShortened {
		clear(shortened.m)
	}
	shortened.m[key] = t
	return t
}

func shorten(s string, st Style, width float32) string {
	fc := faceOf(st.Font)
	room := width * fc.em / st.Size
	e, _ := fc.glyph(ellipsis)
	room -= e.advance
	if room < 0 {
		return ""
	}
	var w float32
	end := 0
	for i := 0; i < len(s); {
		r, n := utf8.DecodeRuneInString(s[i:]) // a byte that is no text is one byte long, its glyph's rune three
		i += n
		g, _ := fc.glyph(r)
		w += g.advance
		if w > room {
			break
		}
		// No blank before the ellipsis.
		if stand(r) != ' ' {
			end = i
		}
	}
	return s[:end] + string(ellipsis)
}
