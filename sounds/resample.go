package sounds

import (
	"fmt"
	"io"
	"math"

	"gainwright/sim/meter"
)

// Quality is the steepness of a Resampler's filter. Both are linear-phase.
type Quality int

const (
	// Standard: flat within 0.01 dB to 0.9 of the lower Nyquist frequency,
	// at least 100 dB down from that Nyquist frequency on.
	Standard Quality = iota
	// Steep: the same flatness to 0.95, at least 120 dB down.
	Steep
)

// spec gives the design attenuation in dB, the width of the transition as a
// part of the lower Nyquist frequency, and the number of filter phases used
// when the exact ones would be too many.
func (q Quality) spec() (atten, width float64, phases int) {
	if q == Steep {
		return 130, 0.05, 4096
	}
	return 110, 0.1, 1024
}

// maxPhases is how many exact filter phases are kept; a ratio that needs more
// interpolates between neighbouring ones.
const maxPhases = 1280

const resampleBlock = 1024

// A Resampler changes the sample rate of a stream by a polyphase low-pass
// filter, a sinc under a Kaiser window. Its output is aligned with its input:
// output frame k is the signal at time k/to, and n frames in give
// ceil(n·to/from) out. It allocates nothing after it is made, and the result
// does not depend on the block sizes.
//
// The window length follows J. F. Kaiser, "Nonrecursive digital filter design
// using the I0-sinh window function", IEEE ISCAS 1974.
type Resampler struct {
	from, to int
	l, m     int // ratio to/from in lowest terms

	half   int       // filter reach in input frames, each way
	coef   []float64 // phases × 2·half
	phases int
	interp bool

	buf  [][]float64 // input with 2·half−1 frames of history
	fill int
	base int64 // input index of buf[ch][0]
	in   int64 // input frames taken
	out  int64 // output frames given
	pos  int64 // input frame at or before the next output frame
	frac int   // and how far past it, in 1/l
	view [][]float64
}

// NewResampler makes a Resampler from one rate to another, in Hz, for the given
// number of channels. It panics on values that are not positive.
func NewResampler(from, to, channels int, q Quality) *Resampler {
	if from <= 0 || to <= 0 || channels <= 0 {
		panic(fmt.Sprintf("sounds: NewResampler: %d Hz to %d Hz, %d channels", from, to, channels))
	}
	g := gcd(from, to)
	r := &Resampler{from: from, to: to, l: to / g, m: from / g, view: make([][]float64, channels)}
	if from != to {
		r.design(q)
		r.buf = NewBlock(channels, 2*r.half+resampleBlock)
	}
	r.Reset()
	return r
}

// finest is the unit in which a paced Resampler goes through its input: 2⁻³⁰ of a frame,
// so that its ratio is right to 0.001 ppm.
const finest = 1 << 30

// NewPaced makes a Resampler as NewResampler does, of one rate to another or to the same,
// whose ratio Pace changes while it runs. OutFrames counts by the ratio of the moment.
func NewPaced(from, to, channels int, q Quality) *Resampler {
	if from <= 0 || to <= 0 || channels <= 0 {
		panic(fmt.Sprintf("sounds: NewPaced: %d Hz to %d Hz, %d channels", from, to, channels))
	}
	r := &Resampler{from: from, to: to, l: finest, view: make([][]float64, channels)}
	r.Pace(0)
	r.design(q)
	r.buf = NewBlock(channels, 2*r.half+resampleBlock)
	r.Reset()
	return r
}

// Pace has a Resampler of NewPaced use its input up faster, by so many millionths, from the
// next frame of output on: what it gives is then higher by as much. It does not click,
// since the place in the input stays. It is for small deviations; the filter stays as it was
// made.
func (r *Resampler) Pace(ppm float64) {
	r.m = int(math.Round(float64(r.from) / float64(r.to) * (1 + ppm*1e-6) * finest))
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

func (r *Resampler) design(q Quality) {
	atten, width, phases := q.spec()
	nyq := 0.5 * math.Min(1, float64(r.to)/float64(r.from)) // cycles an input frame
	taps := (atten - 7.95) / (2.285 * 2 * math.Pi * width * nyq)
	r.half = int(math.Ceil(taps/2)) + 1
	r.phases = r.l
	rows := r.l
	if r.l > maxPhases {
		r.interp, r.phases = true, phases
		rows = phases + 1
	}
	beta := 0.1102 * (atten - 8.7)
	window := meter.Kaiser(beta)
	fc := nyq * (1 - width/2)
	n := 2 * r.half
	r.coef = make([]float64, rows*n)
	for p := range rows {
		row := r.coef[p*n : (p+1)*n]
		sum := 0.0
		for j := range row {
			t := float64(p)/float64(r.phases) + float64(r.half-1-j)
			u := t / float64(r.half)
			if u*u >= 1 {
				continue
			}
			x := 2 * fc * t
			s := 1.0
			if x != 0 {
				s = math.Sin(math.Pi*x) / (math.Pi * x)
			}
			row[j] = 2 * fc * s * window(u)
			sum += row[j]
		}
		for j := range row {
			row[j] /= sum
		}
	}
}

// Reset forgets the signal, as if newly made.
func (r *Resampler) Reset() {
	r.in, r.out, r.pos, r.frac = 0, 0, 0, 0
	if r.buf == nil {
		return
	}
	// Silence before the first frame.
	r.fill = r.half - 1
	r.base = -int64(r.half - 1)
	for _, b := range r.buf {
		clear(b[:r.fill])
	}
}

// OutFrames is how many frames n input frames become: ceil(n·to/from).
func (r *Resampler) OutFrames(n int64) int64 {
	return (n*int64(r.l) + int64(r.m) - 1) / int64(r.m)
}

// Process takes input from src and puts output into dst, planar, and returns
// how many frames it put and took. It goes on until dst is full or src is used
// up. The output lags behind the input by the reach of the filter; Flush gives
// the rest.
func (r *Resampler) Process(dst, src [][]float64) (put, took int) {
	want, have := frames(dst), frames(src)
	if r.buf == nil {
		n := min(want, have)
		for ch := range dst {
			copy(dst[ch][:n], src[ch][:n])
		}
		r.in += int64(n)
		r.out += int64(n)
		return n, n
	}
	for {
		put += r.produce(dst, put, want)
		if took == have || put == want {
			return put, took
		}
		r.compact()
		n := min(have-took, len(r.buf[0])-r.fill)
		for ch, b := range r.buf {
			copy(b[r.fill:], src[ch][took:took+n])
		}
		r.fill += n
		took += n
		r.in += int64(n)
	}
}

// Flush ends the input and puts what is left into dst; call it until it
// returns 0. Only Reset may follow.
func (r *Resampler) Flush(dst [][]float64) (put int) {
	if r.buf == nil {
		return 0
	}
	want := frames(dst)
	if left := r.OutFrames(r.in) - r.out; left < int64(want) {
		want = int(left)
	}
	for {
		put += r.produce(dst, put, want)
		if put >= want {
			return put
		}
		// Silence after the last frame.
		r.compact()
		for _, b := range r.buf {
			clear(b[r.fill:])
		}
		r.fill = len(r.buf[0])
	}
}

func frames(b [][]float64) int {
	n := len(b[0])
	for _, x := range b[1:] {
		n = min(n, len(x))
	}
	return n
}

// compact drops the input that no later output needs.
func (r *Resampler) compact() {
	drop := int(r.pos - int64(r.half-1) - r.base)
	if drop <= 0 {
		return
	}
	drop = min(drop, r.fill)
	for _, b := range r.buf {
		copy(b, b[drop:r.fill])
	}
	r.fill -= drop
	r.base += int64(drop)
}

// produce fills dst[at:want] as far as the buffered input allows.
func (r *Resampler) produce(dst [][]float64, at, want int) int {
	n := 2 * r.half
	whole, part := r.m/r.l, r.m%r.l
	made := 0
	for at+made < want {
		lo := int(r.pos - int64(r.half-1) - r.base)
		if lo < 0 || lo+n > r.fill {
			break
		}
		if !r.interp {
			row := r.coef[r.frac*n : (r.frac+1)*n]
			for ch, b := range r.buf {
				dst[ch][at+made] = dot(row, b[lo:lo+n])
			}
		} else {
			f := float64(r.frac) / float64(r.l) * float64(r.phases)
			p := int(f)
			mu := f - float64(p)
			a, c := r.coef[p*n:(p+1)*n], r.coef[(p+1)*n:(p+2)*n]
			for ch, b := range r.buf {
				x := b[lo : lo+n]
				dst[ch][at+made] = (1-mu)*dot(a, x) + mu*dot(c, x)
			}
		}
		made++
		r.pos += int64(whole)
		if r.frac += part; r.frac >= r.l {
			r.frac -= r.l
			r.pos++
		}
	}
	r.out += int64(made)
	return made
}

// dot is the inner product in four independent sums, so that the additions do
// not wait for each other.
func dot(a, b []float64) float64 {
	b = b[:len(a)]
	var s0, s1, s2, s3 float64
	i := 0
	for ; i+4 <= len(a); i += 4 {
		x, y := a[i:i+4:i+4], b[i:i+4:i+4]
		s0 += x[0] * y[0]
		s1 += x[1] * y[1]
		s2 += x[2] * y[2]
		s3 += x[3] * y[3]
	}
	for ; i < len(a); i++ {
		s0 += a[i] * b[i]
	}
	return (s0 + s1) + (s2 + s3)
}

// ResampleAll converts whole channels of equal length.
func ResampleAll(planar [][]float64, from, to int, q Quality) [][]float64 {
	r := NewResampler(from, to, len(planar), q)
	n := len(planar[0])
	out := NewBlock(len(planar), int(r.OutFrames(int64(n))))
	put, _ := r.Process(out, planar)
	view := make([][]float64, len(out))
	for {
		for ch := range view {
			view[ch] = out[ch][put:]
		}
		m := r.Flush(view)
		if m == 0 {
			return out
		}
		put += m
	}
}

// AtRate is src at another sample rate; src itself if the rates are equal.
func AtRate(src Source, from, to, channels int, q Quality) Source {
	if from == to {
		return src
	}
	return &rateSource{src: src, r: NewResampler(from, to, channels, q),
		buf: NewBlock(channels, 2048), in: make([][]float64, channels), out: make([][]float64, channels)}
}

type rateSource struct {
	src  Source
	r    *Resampler
	buf  [][]float64
	lo   int
	hi   int
	in   [][]float64
	out  [][]float64
	done bool
	err  error
}

func (s *rateSource) Read(dst [][]float64) (int, error) {
	want := frames(dst)
	put := 0
	for put < want {
		for ch := range s.out {
			s.out[ch] = dst[ch][put:want]
		}
		if s.lo == s.hi && !s.done {
			n, err := s.src.Read(s.buf)
			s.lo, s.hi = 0, n
			if err != nil {
				s.done = true
				if err != io.EOF {
					s.err = err
				}
			}
		}
		if s.lo < s.hi {
			for ch := range s.in {
				s.in[ch] = s.buf[ch][s.lo:s.hi]
			}
			n, took := s.r.Process(s.out, s.in)
			s.lo += took
			put += n
			continue
		}
		if s.err != nil {
			break
		}
		n := s.r.Flush(s.out)
		if n == 0 {
			s.err = io.EOF
			break
		}
		put += n
	}
	if put > 0 {
		return put, nil
	}
	return 0, s.err
}
