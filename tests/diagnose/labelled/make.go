package labelled

import (
	"bytes"
	"encoding/gob"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"

	"gainwright/sounds"
)

// What was done to a recording's wave; one of these each.
const (
	Clean    = "clean"
	Full     = "clipped at full scale"
	Lower    = "clipped, then turned down"
	Moving   = "clipped, then moving gain"
	Softened = "clipped, then filtered or coded"
	Overload = "rounded by overload"
	Limited  = "limited"
)

// Recipes lists what is made, in turn: a wave's history, and what comes with it.
type Recipe struct {
	History string
	// Loud is a clean file up to full scale; Quiet one too low and noisy.
	Loud, Quiet, Hum, DC, Asymmetric, Coded bool
}

// Recipes of the set, as often as each stands here.
var Recipes = []Recipe{
	{History: Clean}, {History: Clean, Coded: true}, {History: Clean}, {History: Clean, Coded: true},
	{History: Clean, Loud: true}, {History: Clean, Loud: true}, {History: Clean, Loud: true, Coded: true},
	{History: Full}, {History: Full}, {History: Full}, {History: Full},
	{History: Lower}, {History: Lower}, {History: Lower}, {History: Lower, Asymmetric: true}, {History: Lower, Asymmetric: true},
	{History: Moving}, {History: Moving}, {History: Moving}, {History: Moving},
	{History: Softened, Coded: true}, {History: Softened, Coded: true}, {History: Softened}, {History: Softened},
	{History: Overload}, {History: Overload}, {History: Overload}, {History: Overload, Coded: true},
	{History: Limited}, {History: Limited}, {History: Limited}, {History: Limited, Coded: true},
	{History: Clean, Quiet: true}, {History: Clean, Quiet: true}, {History: Clean, Quiet: true},
	{History: Clean, Hum: true}, {History: Lower, Hum: true}, {History: Clean, Hum: true},
	{History: Clean, DC: true}, {History: Full, DC: true}, {History: Clean, DC: true},
}

// A File is one recording of the set.
type File struct {
	Name   string
	Source *Source
	Recipe
	OverDB float64 // by how much the loudest moment passed the ceiling, dB; of clipped ones
	// Cut is how many samples passed the upper and the lower ceiling.
	Cut    [2]int
	Rate   int
	Bits   int    // 16, 24, or 32 for floating point
	Lossy  bool   // the file itself is a lossy one
	Detail string // what exactly was done
	X      []float64
}

// FullScale and Step are the file's, as diagnose.Options wants them.
func (f *File) FullScale() float64 {
	if f.Bits == 32 {
		return math.Inf(1)
	}
	return 1 - math.Ldexp(1, 1-f.Bits)
}

// Step is the distance between codes.
func (f *File) Step() float64 {
	if f.Bits == 32 {
		return 0
	}
	return math.Ldexp(1, 1-f.Bits)
}

// Make makes the i-th recording of a half of the set from its sources.
func Make(sources []*Source, train bool, i int) (*File, error) {
	seed := uint64(i) + 1<<31
	if train {
		seed = uint64(i) + 1<<20 + 1<<30
	}
	src := sources[(i*7+i/len(sources))%len(sources)]
	if train {
		v, err := src.varied(seed)
		if err != nil {
			return nil, err
		}
		src = v
	}
	return MakeAs(src, Recipes[i%len(Recipes)], seed, fmt.Sprintf("%04d", i))
}

// varied makes another talker in another room of a source: pitch and formants
// moved together, the spectrum tilted, the level wandering a little. Learning from
// more voices than there are keeps the model from learning those few.
func (s *Source) varied(seed uint64) (*Source, error) {
	base, err := s.Load()
	if err != nil {
		return nil, err
	}
	r := rand.New(rand.NewPCG(seed, 7))
	to := int(48000 * (0.82 + 0.4*r.Float64()))
	x := sounds.ResampleAll([][]float64{base}, 48000, to, sounds.Standard)[0]
	x = x[:min(len(x), Seconds*48000)]
	// A first-order shelf, ±8 dB.
	g, w := math.Pow(10, (16*r.Float64()-8)/20), 2*math.Pi*(200+2300*r.Float64())/48000
	low := 0.0
	a, b, p := 4*r.Float64(), 0.1+0.4*r.Float64(), 6.28*r.Float64()
	for i, v := range x {
		low += w * (v - low)
		x[i] = (low + g*(v-low)) * math.Pow(10, a*math.Sin(2*math.Pi*b*float64(i)/48000+p)/20)
	}
	return &Source{Name: s.Name + " varied", Family: s.Family, load: func() ([]float64, error) { return x, nil }}, nil
}

// MakeAs makes a recording from a source by a recipe; what the recipe leaves open
// is drawn from the seed.
func MakeAs(src *Source, rec Recipe, seed uint64, name string) (*File, error) {
	base, err := src.Load()
	if err != nil {
		return nil, err
	}
	m := &making{
		File: &File{Source: src, Recipe: rec, Name: name},
		r:    rand.New(rand.NewPCG(seed, 99)),
		x:    slices.Clone(base),
	}
	m.format()
	if rec.Hum {
		m.hum()
	}
	m.gain = lin(m.between(-18, -2))
	if rec.DC {
		m.offset()
	} else if err := m.past(); err != nil {
		return nil, err
	}
	m.finish()
	return m.File, nil
}

// A making is a recording under way. The steps draw from one source of chance, so
// their order, and that of the draws in each, is part of what a seed means.
type making struct {
	*File
	r    *rand.Rand
	x    []float64
	gain float64 // that comes after all that is done to the wave
}

func (m *making) between(lo, hi float64) float64 { return lo + (hi-lo)*m.r.Float64() }

func (m *making) note(format string, a ...any) { m.Detail += fmt.Sprintf(format, a...) }

func lin(db float64) float64 { return math.Pow(10, db/20) }

// format draws the rate, the bits and the polarity.
func (m *making) format() {
	m.Rate = 48000
	switch k := m.r.IntN(10); {
	case k >= 8:
		m.Rate = 16000
	case k >= 6:
		m.Rate = 44100
	}
	if m.Rate != 48000 {
		m.x = sounds.ResampleAll([][]float64{m.x}, 48000, m.Rate, sounds.Steep)[0]
	}
	m.Bits = []int{16, 24, 16, 24, 32}[m.r.IntN(5)]
	if m.r.IntN(2) == 0 {
		scale(m.x, -1)
	}
}

// hum adds the mains and four harmonics.
func (m *making) hum() {
	x := m.x
	hz := []float64{50, 60}[m.r.IntN(2)]
	level := lin(m.between(-38, -24)) * rms(x) * math.Sqrt2 * 3
	for h := 1; h <= 5; h++ {
		g, ph := level*m.between(0.1, 1)/float64(h), m.between(0, 6.28)
		if h <= 2 {
			g = level / float64(h)
		}
		for n := range x {
			x[n] += g * math.Sin(2*math.Pi*float64(h)*hz*float64(n)/float64(m.Rate)+ph)
		}
	}
	scale(x, 1/peak(x))
	m.note("hum at %g Hz; ", hz)
}

// offset shifts the wave: before the ceiling if it is clipped at full scale, else
// after the gain.
func (m *making) offset() {
	dc := m.between(0.02, 0.06)
	if m.r.IntN(2) == 0 {
		dc = -dc
	}
	if m.History == Full {
		scale(m.x, lin(m.between(1, 8)))
		shift(m.x, dc)
		m.OverDB = 20 * math.Log10(peak(m.x))
		clip(m.x, 1, 1)
	} else {
		scale(m.x, m.gain*0.9)
		shift(m.x, dc)
	}
	m.gain = 1
	m.note("offset %.3f; ", dc)
}

// past does to the wave what its history says, and codes it if the recipe does.
func (m *making) past() error {
	if err := m.history(); err != nil {
		return err
	}
	m.headroom()
	if m.Coded {
		return m.code()
	}
	return nil
}

func (m *making) history() error {
	switch m.History {
	case Clean:
		m.clean()
	case Full:
		m.full()
	case Lower:
		m.clipped(1, 10)
	case Moving:
		m.clipped(1, 10)
		m.moving()
	case Softened:
		m.clipped(2.5, 10)
		if !m.Coded { // the coder softens enough
			m.soften()
		}
	case Overload:
		m.overload()
	case Limited:
		return m.limit()
	}
	return nil
}

func (m *making) clean() {
	switch {
	case m.Quiet:
		m.quiet()
	case m.Loud:
		m.gain = lin(m.between(-0.7, -0.02))
	}
}

// quiet turns the wave down into the noise of its electronics.
func (m *making) quiet() {
	down := lin(m.between(-40, -28))
	noise := rms(m.x) * down * lin(-m.between(8, 17))
	scale(m.x, down)
	m.gain = 1
	for n := range m.x {
		m.x[n] += noise * m.r.NormFloat64()
	}
	m.Bits = []int{16, 24}[m.r.IntN(2)]
}

// full clips at full scale, which floating point has none of.
func (m *making) full() {
	m.clipped(1, 10)
	m.gain = 1
	if m.Bits == 32 {
		m.Bits = 24
	}
}

// clipped drives the wave lo to hi dB over its ceiling.
func (m *making) clipped(lo, hi float64) {
	m.OverDB = m.between(lo, hi)
	up, down := 1.0, 1.0
	if m.Asymmetric {
		up, down = m.ceilings()
	} else {
		scale(m.x, lin(m.OverDB))
	}
	for _, v := range m.x {
		if v > up {
			m.Cut[0]++
		}
		if v < -down {
			m.Cut[1]++
		}
	}
	clip(m.x, up, down)
	if m.Asymmetric {
		m.gain /= max(up, down)
		m.note("ceilings +%.2f −%.2f; ", up, down)
	}
}

// ceilings draws an upper and a lower one, and scales the wave to them.
func (m *making) ceilings() (up, down float64) {
	up, down = 1, 1
	// The other side goes beyond this one's ceiling by 2.3 dB or more.
	other := m.between(1.3, 3)
	if m.r.IntN(2) == 0 {
		up = other
	} else {
		down = other
	}
	// The wave must reach the nearer ceiling, and pass its level on the other side.
	pu, pd := 0.0, 0.0
	for _, v := range m.x {
		pu, pd = max(pu, v), max(pd, -v)
	}
	g := lin(m.OverDB)
	if up > 1 {
		g = max(g/pd, 1.3/pu)
	} else {
		g = max(g/pu, 1.3/pd)
	}
	m.OverDB = 20 * math.Log10(max(g*pu/up, g*pd/down))
	scale(m.x, g)
	return up, down
}

// moving changes the level of a clipped wave as it goes.
func (m *making) moving() {
	switch m.r.IntN(3) {
	case 0: // a hand on the fader
		a, b, p := m.between(2, 6), m.between(0.2, 0.9), m.between(0, 6)
		for n := range m.x {
			t := float64(n) / float64(m.Rate)
			m.x[n] *= lin(a * math.Sin(2*math.Pi*b*t+p))
		}
		m.gain = min(m.gain, 1/peak(m.x))
		m.note("fader ±%.1f dB at %.2f Hz; ", a, b)
	case 1:
		th := m.between(-12, -4)
		feedForward(m.x, m.Rate, th, m.between(0.5, 3), m.between(60, 300), 1e9)
		m.note("limiter at %.1f dB; ", th)
	default:
		th, ratio := m.between(-20, -9), m.between(2.5, 6)
		feedForward(m.x, m.Rate, th, m.between(3, 20), m.between(80, 400), ratio)
		m.note("compressor at %.1f dB, %.1f:1; ", th, ratio)
	}
}

// soften filters a clipped wave, so that its flat tops are flat no more.
func (m *making) soften() {
	switch m.r.IntN(3) {
	case 0:
		hz := m.between(30, 120)
		highPass(m.x, m.Rate, hz)
		m.note("high-pass at %.0f Hz; ", hz)
	case 1:
		hz := m.between(3500, 0.4*float64(m.Rate))
		lowPass(m.x, m.Rate, hz)
		m.note("low-pass at %.0f Hz; ", hz)
	default:
		to := []int{44100, 32000, 22050, 16000}[m.r.IntN(4)]
		if to >= m.Rate {
			to = 12000
		}
		y := sounds.ResampleAll([][]float64{m.x}, m.Rate, to, sounds.Steep)
		m.x = sounds.ResampleAll(y, to, m.Rate, sounds.Steep)[0]
		m.note("resampled to %d Hz and back; ", to)
	}
}

// overload bends the wave at four times the rate, as electronics do that know none.
func (m *making) overload() {
	drive := m.between(3, 12)
	kind := m.r.IntN(len(bends))
	if kind == 2 {
		drive = m.between(3, 6) // above, it is cut rather than bent
	}
	y := sounds.ResampleAll([][]float64{m.x}, m.Rate, 4*m.Rate, sounds.Standard)[0]
	g, bend := lin(drive), bends[kind]
	for n, v := range y {
		y[n] = bend(v * g)
	}
	m.x = sounds.ResampleAll([][]float64{y}, 4*m.Rate, m.Rate, sounds.Standard)[0]
	m.note("drive %.1f dB, curve %d; ", drive, kind)
}

// bends are the curves of overload, each with 1 as its top.
var bends = [...]func(v float64) float64{
	math.Tanh,
	func(v float64) float64 { return v / math.Pow(1+math.Pow(math.Abs(v), 2.5), 1/2.5) },
	func(v float64) float64 { // a cubic up to its top, then flat: bent from the start
		if w := v / 1.5; math.Abs(w) < 1 {
			return 1.5 * (w - w*w*w/3)
		}
		return math.Copysign(1, v)
	},
}

// limit holds the wave 5 to 14 dB down and brings it back to full scale.
func (m *making) limit() error {
	by := m.between(5, 14)
	switch m.r.IntN(4) {
	case 0, 1:
		lookAhead(m.x, m.Rate, lin(-by), m.between(1.5, 5), m.between(40, 200))
		m.note("look-ahead limiter, %.1f dB; ", by)
	case 2:
		feedForward(m.x, m.Rate, -by-2, m.between(0.2, 1), m.between(60, 200), 1e9)
		m.note("limiter, %.1f dB; ", by+2)
	default:
		y, err := ffmpegFilter(m.x, m.Rate, fmt.Sprintf("alimiter=limit=%.4f:attack=%.1f:release=%.0f:level=0", max(0.0626, lin(-by)), m.between(1, 7), m.between(40, 120)))
		if err != nil {
			return err
		}
		m.x = y
		m.note("ffmpeg alimiter, %.1f dB; ", by)
	}
	scale(m.x, 1/peak(m.x))
	return nil
}

// headroom keeps a file that is neither full nor loud by its recipe off full scale.
func (m *making) headroom() {
	if m.History == Full || m.Quiet {
		return
	}
	if p := peak(m.x); m.Loud {
		m.gain /= p
	} else if p*m.gain > 0.85 && m.History != Lower && m.History != Moving {
		m.gain = 0.8 / p
	}
}

// code passes the wave through one of the codecs.
func (m *making) code() error {
	// Coders want headroom, as people give them or not.
	g := 0.7 / peak(m.x)
	scale(m.x, g)
	c := codecs[m.r.IntN(len(codecs))]
	y, err := c.pass(m.x, m.Rate)
	if err != nil {
		return err
	}
	m.x = y
	m.Detail += c.name + "; "
	if m.Loud {
		m.gain = lin(m.between(-0.7, -0.02)) / peak(m.x)
		return nil
	}
	m.gain /= g
	if p := peak(m.x); p*m.gain > 0.85 {
		m.gain = 0.8 / p
	}
	return nil
}

// finish turns it down and writes it: noise of the electronics is there already.
func (m *making) finish() {
	dither := m.r.IntN(2) == 0
	q := m.Step()
	for i, v := range m.x {
		v *= m.gain
		if m.Bits < 32 {
			if dither && (m.gain != 1 || m.History != Full) {
				v += q * (m.r.Float64() - m.r.Float64())
			}
			v = math.Round(v/q) * q
			v = min(max(v, -1), 1-q)
		} else {
			v = float64(float32(v))
		}
		m.x[i] = v
	}
	m.X = m.x
	m.note("%.1f dB; %d bit, %d Hz, dither %v", 20*math.Log10(m.gain), m.Bits, m.Rate, dither)
}

func scale(x []float64, g float64) {
	for i := range x {
		x[i] *= g
	}
}

func shift(x []float64, by float64) {
	for i := range x {
		x[i] += by
	}
}

func peak(x []float64) (p float64) {
	for _, v := range x {
		p = max(p, math.Abs(v))
	}
	return p
}

func rms(x []float64) float64 {
	s := 0.0
	for _, v := range x {
		s += v * v
	}
	return math.Sqrt(s / float64(len(x)))
}

func clip(x []float64, up, down float64) {
	for i, v := range x {
		x[i] = min(max(v, -down), up)
	}
}

// feedForward is a compressor without look-ahead; times in ms.
func feedForward(x []float64, rate int, threshold, attack, release, ratio float64) {
	at, re := math.Exp(-1000/(attack*float64(rate))), math.Exp(-1000/(release*float64(rate)))
	red := 0.0
	for i, v := range x {
		want := max(0, 20*math.Log10(math.Abs(v)+1e-9)-threshold) * (1 - 1/ratio)
		if want > red {
			red = want + at*(red-want)
		} else {
			red = want + re*(red-want)
		}
		x[i] = v * math.Pow(10, -red/20)
	}
}

// lookAhead holds a ceiling; times in ms.
func lookAhead(x []float64, rate int, ceiling, ahead, release float64) {
	n := max(2, int(ahead*float64(rate)/1000))
	g := make([]float64, len(x))
	for i, v := range x {
		g[i] = min(1, ceiling/max(math.Abs(v), 1e-9))
	}
	re := math.Exp(-1000 / (release * float64(rate)))
	m := make([]float64, len(x))
	for i := range x {
		m[i] = slices.Min(g[i:min(len(g), i+n)])
	}
	for i := 1; i < len(m); i++ {
		if m[i] > m[i-1] {
			m[i] = min(m[i], m[i]+re*(m[i-1]-m[i]))
		}
	}
	sum := float64(n)
	for i := range x {
		old := 1.0
		if i >= n {
			old = m[i-n]
		}
		sum += m[i] - old
		x[i] *= sum / float64(n)
	}
}

func highPass(x []float64, rate int, hz float64) {
	w := 2 * math.Pi * hz / float64(rate)
	c, al := math.Cos(w), math.Sin(w)/math.Sqrt2
	biquad(x, (1+c)/2, -(1 + c), (1+c)/2, 1+al, -2*c, 1-al)
}

func lowPass(x []float64, rate int, hz float64) {
	w := 2 * math.Pi * hz / float64(rate)
	c, al := math.Cos(w), math.Sin(w)/math.Sqrt2
	biquad(x, (1-c)/2, 1-c, (1-c)/2, 1+al, -2*c, 1-al)
}

func biquad(x []float64, b0, b1, b2, a0, a1, a2 float64) {
	var x1, x2, y1, y2 float64
	for i, v := range x {
		y := (b0*v + b1*x1 + b2*x2 - a1*y1 - a2*y2) / a0
		x2, x1, y2, y1 = x1, v, y1, y
		x[i] = y
	}
}

// A codec is a lossy one that ffmpeg offers.
type codec struct {
	name string
	ext  string
	rate int // that it wants; 0 for any
	args []string
}

var codecs = []codec{
	{"MP3 64k", "mp3", 0, []string{"-c:a", "libmp3lame", "-b:a", "64k"}},
	{"MP3 128k", "mp3", 0, []string{"-c:a", "libmp3lame", "-b:a", "128k"}},
	{"MP3 192k", "mp3", 0, []string{"-c:a", "libmp3lame", "-b:a", "160k"}},
	{"MP3 fixed", "mp3", 44100, []string{"-c:a", "libshine", "-b:a", "96k"}},
	{"AAC 64k", "m4a", 0, []string{"-c:a", "aac", "-b:a", "64k"}},
	{"AAC 128k", "m4a", 0, []string{"-c:a", "aac", "-b:a", "128k"}},
	{"Opus 32k", "ogg", 48000, []string{"-c:a", "libopus", "-b:a", "32k"}},
	{"Opus 64k", "ogg", 48000, []string{"-c:a", "libopus", "-b:a", "64k"}},
	{"Vorbis q2", "ogg", 0, []string{"-c:a", "libvorbis", "-q:a", "2"}},
	{"Vorbis q5", "ogg", 0, []string{"-c:a", "libvorbis", "-q:a", "5"}},
	{"AC-3 96k", "ac3", 48000, []string{"-c:a", "ac3", "-b:a", "96k"}},
	{"E-AC-3 96k", "eac3", 48000, []string{"-c:a", "eac3", "-b:a", "96k"}},
	{"MP2 128k", "mp2", 48000, []string{"-c:a", "mp2", "-b:a", "128k"}},
	{"WMA 96k", "asf", 44100, []string{"-c:a", "wmav2", "-b:a", "96k"}},
	{"Speex", "ogg", 32000, []string{"-c:a", "libspeex"}},
	{"SBC", "sbc", 48000, []string{"-c:a", "sbc", "-b:a", "192k"}},
	{"G.722", "wav", 16000, []string{"-c:a", "g722"}},
	{"G.726", "wav", 8000, []string{"-c:a", "g726", "-b:a", "32k"}},
	{"mu-law", "wav", 8000, []string{"-c:a", "pcm_mulaw"}},
	{"A-law", "wav", 8000, []string{"-c:a", "pcm_alaw"}},
	{"IMA ADPCM", "wav", 0, []string{"-c:a", "adpcm_ima_wav"}},
	{"MS ADPCM", "wav", 0, []string{"-c:a", "adpcm_ms"}},
}

// pass codes and decodes.
func (c codec) pass(x []float64, rate int) ([]float64, error) {
	dir, err := os.MkdirTemp("", "labelled")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	file := filepath.Join(dir, "x."+c.ext)
	to := c.rate
	if to == 0 {
		to = rate
	}
	args := append([]string{"-v", "error", "-threads", "1", "-f", "f32le", "-ar", strconv.Itoa(rate), "-ac", "1", "-i", "-", "-ar", strconv.Itoa(to)}, c.args...)
	if _, err := ffmpeg(bytesOf(x), append(args, file)...); err != nil {
		return nil, fmt.Errorf("%s: %w", c.name, err)
	}
	b, err := ffmpeg(nil, "-v", "error", "-threads", "1", "-i", file, "-f", "f32le", "-ar", strconv.Itoa(rate), "-ac", "1", "-")
	if err != nil {
		return nil, fmt.Errorf("%s: %w", c.name, err)
	}
	return floats(b), nil
}

func ffmpegFilter(x []float64, rate int, filter string) ([]float64, error) {
	b, err := ffmpeg(bytesOf(x), "-v", "error", "-threads", "1", "-f", "f32le", "-ar", strconv.Itoa(rate), "-ac", "1", "-i", "-",
		"-af", filter, "-f", "f32le", "-ar", strconv.Itoa(rate), "-ac", "1", "-")
	return floats(b), err
}

func ffmpeg(in []byte, args ...string) ([]byte, error) {
	cmd := exec.Command("ffmpeg", args...)
	cmd.Stdin = bytes.NewReader(in)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		return nil, fmt.Errorf("ffmpeg: %w: %s", err, bytes.TrimSpace(stderr.Bytes()))
	}
	return out, nil
}

// Cached is Make with what it made kept in a directory; "" keeps nothing.
func Cached(dir string, sources []*Source, train bool, i int) (*File, error) {
	return Keep(dir, fmt.Sprintf("%v-%04d", train, i), func() (*File, error) { return Make(sources, train, i) })
}

// Keep returns what make made, from the directory if it was kept there under key.
func Keep(dir, key string, make func() (*File, error)) (*File, error) {
	if dir == "" {
		return make()
	}
	path := filepath.Join(dir, key+".gob")
	if r, err := os.Open(path); err == nil {
		defer r.Close()
		k := kept{}
		if err := gob.NewDecoder(r).Decode(&k); err == nil {
			k.File.X = k.floats()
			return k.File, nil
		}
	}
	f, err := make()
	if err != nil {
		return nil, err
	}
	k := kept{File: &File{}}
	*k.File = *f
	k.File.X = nil
	for _, v := range f.X {
		k.Samples = append(k.Samples, float32(v))
	}
	w, err := os.Create(path)
	if err != nil {
		return nil, err
	}
	defer w.Close()
	return f, gob.NewEncoder(w).Encode(k)
}

func (k *kept) floats() []float64 {
	x := make([]float64, len(k.Samples))
	for i, v := range k.Samples {
		x[i] = float64(v)
	}
	return x
}

type kept struct {
	File    *File
	Samples []float32
}
