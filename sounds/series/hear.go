package series

import (
	"context"
	"errors"
	"io"
	"math"

	"gainwright/sim/identify"
	"gainwright/sounds"
)

// Hear gives the loudest so many seconds of the pair that told of the limiter, at a rate:
// the first as it is, the second where the first is, sample by sample, and the same way
// up.
func (f *Found) Hear(ctx context.Context, seconds float64, rate int, w Progress) (x [2][]float64, err error) {
	c, sec, s, err := OpenPair(ctx, f.Pair, w)
	if err != nil {
		return x, err
	}
	defer closeAll(c)
	al := f.Limiter.Alignment
	n := min(int64(seconds*float64(s[0].Rate)), s[0].Frames)
	from := loudest(s[0], n)
	if x[0], err = cut(sec[0], from, from+n); err != nil {
		return x, err
	}
	lo, hi := int64(math.Floor(al.At(from)))-sincHalf, int64(math.Ceil(al.At(from+n)))+sincHalf+1
	y, err := cut(sec[1], lo, hi)
	if err != nil {
		return x, err
	}
	sign := 1.0
	if al.Inverted {
		sign = -1
	}
	k := newSinc()
	x[1] = make([]float64, n)
	for i := range x[1] {
		x[1][i] = sign * k.at(y, al.At(from+int64(i))-float64(lo))
		if i%4096 == 0 {
			w.At(float64(i) / float64(n))
			if err := ctx.Err(); err != nil {
				return x, err
			}
		}
	}
	for i := range x {
		if x[i], err = atRate(ctx, x[i], s[0].Rate, rate); err != nil {
			return x, err
		}
	}
	return x, nil
}

// loudest is where the loudest n frames begin.
func loudest(s *identify.Survey, n int64) int64 {
	hop := s.Frames / int64(max(len(s.Envelope), 1))
	if hop < 1 {
		return 0
	}
	span := int(n / hop)
	sum, most, at := 0.0, 0.0, 0
	for i, e := range s.Envelope {
		sum += math.Pow(10, float64(e)/10)
		if i >= span {
			sum -= math.Pow(10, float64(s.Envelope[i-span])/10)
		}
		if i >= span-1 && sum > most {
			most, at = sum, i+1-span
		}
	}
	return max(0, min(int64(at)*hop, s.Frames-n))
}

// cut reads frames from to to; what lies outside is silent.
func cut(r identify.Recording, from, to int64) ([]float64, error) {
	out := make([]float64, to-from)
	if err := r.Rewind(); err != nil {
		return nil, err
	}
	skip := make([]float64, 1<<14)
	for at := int64(0); at < to; {
		into := skip[:max(0, min(int64(len(skip)), from-at))]
		if at >= from {
			into = out[at-from : min(at-from+int64(len(skip)), to-from)]
		}
		n, err := r.Read(into)
		at += int64(n)
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
	}
	return out, nil
}

// sincHalf and sincPhases are how far the interpolation looks either way, frames, and how
// finely its weights stand in the table.
const (
	sincHalf   = 24
	sincPhases = 512
)

// sinc interpolates by a windowed sinc (Hann), between two phases linearly.
type sinc struct {
	w [sincPhases + 1][2 * sincHalf]float64
}

func newSinc() *sinc {
	s := new(sinc)
	for p := range s.w {
		frac, sum := float64(p)/sincPhases, 0.0
		for k := range s.w[p] {
			d := float64(k-sincHalf+1) - frac
			v := 1.0
			if d != 0 {
				v = math.Sin(math.Pi*d) / (math.Pi * d)
			}
			v *= 0.5 + 0.5*math.Cos(math.Pi*d/(sincHalf+0.5))
			s.w[p][k] = v
			sum += v
		}
		for k := range s.w[p] {
			s.w[p][k] /= sum
		}
	}
	return s
}

// at is x at a place between its samples.
func (s *sinc) at(x []float64, t float64) (v float64) {
	i := math.Floor(t)
	ph := (t - i) * sincPhases
	p := min(int(ph), sincPhases-1)
	b := ph - float64(p)
	from := int(i) - sincHalf + 1
	if from < 0 || from+2*sincHalf > len(x) {
		return 0
	}
	y := x[from : from+2*sincHalf]
	w, u := &s.w[p], &s.w[p+1]
	for k, q := range y {
		v += q * (w[k] + b*(u[k]-w[k]))
	}
	return v
}

// held reads samples in memory.
type held struct {
	ctx context.Context
	x   []float64
}

func (h *held) Read(dst [][]float64) (int, error) {
	if err := h.ctx.Err(); err != nil {
		return 0, err
	}
	n := copy(dst[0], h.x)
	if h.x = h.x[n:]; len(h.x) == 0 {
		return n, io.EOF
	}
	return n, nil
}

// atRate brings x to another rate.
func atRate(ctx context.Context, x []float64, from, to int) ([]float64, error) {
	if from == to {
		return x, nil
	}
	out, err := sounds.ReadAll(sounds.AtRate(&held{ctx, x}, from, to, 1, sounds.Standard), 1)
	if err != nil {
		return nil, err
	}
	return out[0], nil
}
