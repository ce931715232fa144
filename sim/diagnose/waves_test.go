package diagnose

import (
	"math"
	"math/rand/v2"
	"reflect"
	"testing"
)

// plainLook is look, half-wave by half-wave and sample by sample: nothing is passed
// over or guessed.
func plainLook(c *Channel, last bool) {
	x := c.buf
	limit, end := len(x)-margin, len(x)
	if last {
		limit, end = len(x)-2, len(x)-2
	}
	dc := 0.0
	if c.total > 0 {
		dc = c.sum / float64(c.total)
	}
	i := c.next
	for i < limit {
		w := wave{from: i, at: i, up: x[i] > dc}
		j := i
		for ; j < end && (x[j] > dc) == w.up; j++ {
			v := x[j]
			if !w.up {
				v = -v
			}
			if v > w.peak {
				w.peak, w.at = v, j
			}
		}
		if j == end && !last && j-i < margin {
			break
		}
		w.end = j
		c.env *= math.Pow(c.dec, float64(j-i))
		loud := w.peak >= loudPart*c.env && w.peak > lowest
		c.env = max(c.env, w.peak)
		if loud {
			c.halfWave(x, &w)
		}
		i = j
	}
	keep := max(0, i-16)
	n := copy(x, x[keep:])
	c.buf = x[:n]
	c.start += int64(keep)
	c.next = i - keep
}

// TestHalfWaves: the half-waves that are looked at are those that a plain loop finds.
func TestHalfWaves(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 8))
	noise := func(g float64) []float64 {
		x := make([]float64, 60000)
		for i := range x {
			x[i] = g * r.NormFloat64()
		}
		return x
	}
	tone := func(hz, g, dc float64) []float64 {
		x := make([]float64, 60000)
		for i := range x {
			x[i] = dc + g*math.Sin(2*math.Pi*hz*float64(i)/48000)
		}
		return x
	}
	talk := speechLike(100000, 5)
	pauses := speechLike(100000, 6)
	for i := range pauses {
		pauses[i] = math.Round(32768*(pauses[i]*max(0, math.Sin(float64(i)/9000))+1e-3*r.NormFloat64())) / 32768
	}
	for name, x := range map[string][]float64{
		"noise": noise(0.1), "faint noise": noise(2e-5), "talk": talk, "pauses": pauses,
		"bass": tone(9, 0.5, 0), "tone": tone(700, 0.3, 0), "offset": tone(50, 0.01, 0.2), "silence": make([]float64, 60000),
		"square": func() []float64 {
			x := tone(5, 1, 0)
			for i := range x {
				x[i] = math.Copysign(0.4, x[i])
			}
			return x
		}(),
	} {
		o := Options{FullScale: 1 - 1.0/32768, Step: 1.0 / 32768}
		a, b := New(48000, o), New(48000, o)
		for at := 0; at < len(x); {
			n := min(1+r.IntN(3000), len(x)-at, cap(a.buf)-len(a.buf))
			for _, c := range []*Channel{a, b} {
				c.buf = append(c.buf, x[at:at+n]...)
				c.raw(c.buf[len(c.buf)-n:])
			}
			at += n
			last := at == len(x)
			if last || len(a.buf) == cap(a.buf) {
				a.look(last)
				plainLook(b, last)
			}
			if a.start != b.start || a.next != b.next || math.Abs(a.env-b.env) > 1e-12 {
				t.Fatalf("%s: at %d+%d with %v, want %d+%d with %v", name, a.start, a.next, a.env, b.start, b.next, b.env)
			}
		}
		for k := range a.sides {
			if !reflect.DeepEqual(a.sides[k], b.sides[k]) {
				t.Errorf("%s: another half-wave in half %d", name, k)
			}
		}
	}
}

// TestBulgeBins: what a top would rise to falls into the bin of its decibels, and a
// product of many gives the sum of them.
func TestBulgeBins(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	s := new(side)
	sum, sum80 := 0.0, 0.0
	for i := range 200000 {
		over := math.Pow(10, r.Float64()*r.Float64()*1.5)
		if i%1000 == 0 {
			over = 1
		}
		db := 20 * math.Log10(over)
		if edge := math.Abs(db*bulgePer - math.Round(db*bulgePer)); edge > 1e-9 || over == 1 {
			if got, want := bulgeBin(over), min(int(db*bulgePer), bulgeBins-1); got != want {
				t.Fatalf("%v, %v dB: bin %d, want %d", over, db, got, want)
			}
		}
		over80 := 0.8 + r.Float64()*0.1
		sum, sum80 = sum+db, sum80+20*math.Log10(over80)
		if s.rises[7].take(over, over80); s.rises[7].full() {
			s.settle(7)
		}
	}
	s.settle(7)
	if got := s.tops[7]; math.Abs(got.rise/sum-1) > 1e-11 || math.Abs(got.rise80/sum80-1) > 1e-11 {
		t.Errorf("%v and %v dB, want %v and %v", got.rise, got.rise80, sum, sum80)
	}
}
