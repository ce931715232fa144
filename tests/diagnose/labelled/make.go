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
	r := rand.New(rand.NewPCG(seed, 99))
	f := &File{Source: src, Recipe: rec, Name: name}
	base, err := src.Load()
	if err != nil {
		return nil, err
	}
	x := slices.Clone(base)
	f.Rate = 48000
	switch k := r.IntN(10); {
	case k >= 8:
		f.Rate = 16000
	case k >= 6:
		f.Rate = 44100
	}
	if f.Rate != 48000 {
		x = sounds.ResampleAll([][]float64{x}, 48000, f.Rate, sounds.Steep)[0]
	}
	f.Bits = []int{16, 24, 16, 24, 32}[r.IntN(5)]
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }
	lin := func(db float64) float64 { return math.Pow(10, db/20) }
	if r.IntN(2) == 0 {
		scale(x, -1)
	}
	if rec.Hum {
		hz := []float64{50, 60}[r.IntN(2)]
		level := lin(between(-38, -24)) * rms(x) * math.Sqrt2 * 3
		for h := 1; h <= 5; h++ {
			g, ph := level*between(0.1, 1)/float64(h), between(0, 6.28)
			if h <= 2 {
				g = level / float64(h)
			}
			for n := range x {
				x[n] += g * math.Sin(2*math.Pi*float64(h)*hz*float64(n)/float64(f.Rate)+ph)
			}
		}
		scale(x, 1/peak(x))
		f.Detail += fmt.Sprintf("hum at %g Hz; ", hz)
	}
	gain := lin(between(-18, -2)) // afterwards
	if rec.DC {
		dc := between(0.02, 0.06)
		if r.IntN(2) == 0 {
			dc = -dc
		}
		if rec.History == Full {
			f.OverDB = between(1, 8)
			scale(x, lin(f.OverDB))
			for n := range x {
				x[n] += dc
			}
			f.OverDB = 20 * math.Log10(peak(x))
			clip(x, 1, 1)
		} else {
			scale(x, gain*0.9)
			for n := range x {
				x[n] += dc
			}
		}
		f.Detail += fmt.Sprintf("offset %.3f; ", dc)
		f.finish(x, r, 1)
		return f, nil
	}
	clipped := func(lo, hi float64) {
		f.OverDB = between(lo, hi)
		up, down := 1.0, 1.0
		if rec.Asymmetric {
			// The other side goes beyond this one's ceiling by 2.3 dB or more.
			other := between(1.3, 3)
			if r.IntN(2) == 0 {
				up = other
			} else {
				down = other
			}
			// The wave must reach the nearer ceiling, and pass its level on the
			// other side.
			pu, pd := 0.0, 0.0
			for _, v := range x {
				pu, pd = max(pu, v), max(pd, -v)
			}
			g := lin(f.OverDB)
			if up > 1 {
				g = max(g/pd, 1.3/pu)
				f.OverDB = 20 * math.Log10(max(g*pd, g*pu/up))
			} else {
				g = max(g/pu, 1.3/pd)
				f.OverDB = 20 * math.Log10(max(g*pu, g*pd/down))
			}
			scale(x, g)
		} else {
			scale(x, lin(f.OverDB))
		}
		for _, v := range x {
			if v > up {
				f.Cut[0]++
			}
			if v < -down {
				f.Cut[1]++
			}
		}
		clip(x, up, down)
		if rec.Asymmetric {
			gain /= max(up, down)
			f.Detail += fmt.Sprintf("ceilings +%.2f −%.2f; ", up, down)
		}
	}
	switch rec.History {
	case Clean:
		switch {
		case rec.Quiet:
			gain = lin(between(-40, -28))
			noise := rms(x) * gain * lin(-between(8, 17))
			scale(x, gain)
			gain = 1
			for n := range x {
				x[n] += noise * r.NormFloat64()
			}
			f.Bits = []int{16, 24}[r.IntN(2)]
		case rec.Loud:
			gain = lin(between(-0.7, -0.02))
		case rec.Hum:
		}
	case Full:
		clipped(1, 10)
		gain = 1
		if f.Bits == 32 {
			f.Bits = 24
		}
	case Lower:
		clipped(1, 10)
	case Moving:
		clipped(1, 10)
		switch r.IntN(3) {
		case 0: // a hand on the fader
			a, b, p := between(2, 6), between(0.2, 0.9), between(0, 6)
			for n := range x {
				t := float64(n) / float64(f.Rate)
				x[n] *= lin(a * math.Sin(2*math.Pi*b*t+p))
			}
			gain = min(gain, 1/peak(x))
			f.Detail += fmt.Sprintf("fader ±%.1f dB at %.2f Hz; ", a, b)
		case 1:
			th := between(-12, -4)
			feedForward(x, f.Rate, th, between(0.5, 3), between(60, 300), 1e9)
			f.Detail += fmt.Sprintf("limiter at %.1f dB; ", th)
		default:
			th, ratio := between(-20, -9), between(2.5, 6)
			feedForward(x, f.Rate, th, between(3, 20), between(80, 400), ratio)
			f.Detail += fmt.Sprintf("compressor at %.1f dB, %.1f:1; ", th, ratio)
		}
	case Softened:
		clipped(2.5, 10)
		if !rec.Coded {
			switch r.IntN(3) {
			case 0:
				hz := between(30, 120)
				highPass(x, f.Rate, hz)
				f.Detail += fmt.Sprintf("high-pass at %.0f Hz; ", hz)
			case 1:
				hz := between(3500, 0.4*float64(f.Rate))
				lowPass(x, f.Rate, hz)
				f.Detail += fmt.Sprintf("low-pass at %.0f Hz; ", hz)
			default:
				to := []int{44100, 32000, 22050, 16000}[r.IntN(4)]
				if to >= f.Rate {
					to = 12000
				}
				y := sounds.ResampleAll([][]float64{x}, f.Rate, to, sounds.Steep)
				x = sounds.ResampleAll(y, to, f.Rate, sounds.Steep)[0]
				f.Detail += fmt.Sprintf("resampled to %d Hz and back; ", to)
			}
		}
	case Overload:
		drive := between(3, 12)
		kind := r.IntN(3)
		if kind == 2 {
			drive = between(3, 6) // above, it is cut rather than bent
		}
		y := sounds.ResampleAll([][]float64{x}, f.Rate, 4*f.Rate, sounds.Standard)[0]
		g := lin(drive)
		bias := 0.0
		for n, v := range y {
			v = v*g + bias
			switch kind {
			case 0:
				y[n] = math.Tanh(v)
			case 1:
				y[n] = v / math.Pow(1+math.Pow(math.Abs(v), 2.5), 1/2.5)
			default: // a cubic up to its top, then flat: bent from the start
				y[n] = 1.0
				if w := v / 1.5; math.Abs(w) < 1 {
					y[n] = 1.5 * (w - w*w*w/3)
				} else {
					y[n] = math.Copysign(1, v)
				}
			}
		}
		x = sounds.ResampleAll([][]float64{y}, 4*f.Rate, f.Rate, sounds.Standard)[0]
		f.OverDB = 0
		f.Detail += fmt.Sprintf("drive %.1f dB, curve %d; ", drive, kind)
	case Limited:
		by := between(5, 14)
		switch r.IntN(4) {
		case 0, 1:
			lookAhead(x, f.Rate, lin(-by), between(1.5, 5), between(40, 200))
			f.Detail += fmt.Sprintf("look-ahead limiter, %.1f dB; ", by)
		case 2:
			feedForward(x, f.Rate, -by-2, between(0.2, 1), between(60, 200), 1e9)
			f.Detail += fmt.Sprintf("limiter, %.1f dB; ", by+2)
		default:
			y, err := ffmpegFilter(x, f.Rate, fmt.Sprintf("alimiter=limit=%.4f:attack=%.1f:release=%.0f:level=0", max(0.0626, lin(-by)), between(1, 7), between(40, 120)))
			if err != nil {
				return nil, err
			}
			x = y
			f.Detail += fmt.Sprintf("ffmpeg alimiter, %.1f dB; ", by)
		}
		scale(x, 1/peak(x))
	}
	if rec.History != Full && !rec.Quiet {
		if p := peak(x); rec.Loud {
			gain /= p
		} else if p*gain > 0.85 && !(rec.History == Lower || rec.History == Moving) {
			gain = 0.8 / p
		}
	}
	if rec.Coded {
		// Coders want headroom, as people give them or not.
		g := 0.7 / peak(x)
		scale(x, g)
		c := codecs[r.IntN(len(codecs))]
		y, err := c.pass(x, f.Rate)
		if err != nil {
			return nil, err
		}
		x = y
		f.Detail += c.name + "; "
		if rec.Loud {
			gain = lin(between(-0.7, -0.02)) / peak(x)
		} else {
			gain /= g
			if p := peak(x); p*gain > 0.85 {
				gain = 0.8 / p
			}
		}
	}
	f.finish(x, r, gain)
	return f, nil
}

// finish turns it down and writes it: noise of the electronics is there already.
func (f *File) finish(x []float64, r *rand.Rand, gain float64) {
	dither := r.IntN(2) == 0
	q := f.Step()
	for i, v := range x {
		v *= gain
		if f.Bits < 32 {
			if dither && (gain != 1 || f.History != Full) {
				v += q * (r.Float64() - r.Float64())
			}
			v = math.Round(v/q) * q
			v = min(max(v, -1), 1-q)
		} else {
			v = float64(float32(v))
		}
		x[i] = v
	}
	f.X = x
	f.Detail += fmt.Sprintf("%.1f dB; %d bit, %d Hz, dither %v", 20*math.Log10(gain), f.Bits, f.Rate, dither)
}

func scale(x []float64, g float64) {
	for i := range x {
		x[i] *= g
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
