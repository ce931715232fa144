package sounds

import (
	"fmt"
	"math"
	"testing"
)

// toneLevel is the amplitude in dB of frequency f in x, by a least-squares fit of a
// sine and a cosine, and the rms of what is left, in dB re the same full scale.
func toneLevel(x []float64, f, rate float64) (db, restDB float64) {
	var cc, cs, ss, xc, xs float64
	w := 2 * math.Pi * f / rate
	for i, v := range x {
		s, c := math.Sincos(w * float64(i))
		cc += c * c
		cs += c * s
		ss += s * s
		xc += v * c
		xs += v * s
	}
	det := cc*ss - cs*cs
	a, b := (xc*ss-xs*cs)/det, (xs*cc-xc*cs)/det
	rest := 0.0
	for i, v := range x {
		s, c := math.Sincos(w * float64(i))
		d := v - a*c - b*s
		rest += d * d
	}
	return 20 * math.Log10(math.Hypot(a, b)), 10 * math.Log10(rest/float64(len(x))+1e-300)
}

func sine(f float64, rate, n int) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = math.Sin(2*math.Pi*f*float64(i)/float64(rate) + 0.3)
	}
	return x
}

var ratios = [][2]int{{44100, 48000}, {48000, 44100}, {8000, 48000}, {192000, 48000}, {48000, 16000},
	{96000, 44100}, {11025, 192000}, {44101, 48000}, {48000, 44099}}

// TestResamplePassband: the output is the sine sampled at the new rate, from
// the first frame on, to within 0.01 dB and without other content above −100 dB.
func TestResamplePassband(t *testing.T) {
	for _, q := range []Quality{Standard, Steep} {
		edge, rest := 0.9, -100.0
		if q == Steep {
			edge, rest = 0.95, -118
		}
		for _, rr := range ratios {
			from, to := rr[0], rr[1]
			nyq := float64(min(from, to)) / 2
			for _, part := range []float64{0.01, 0.3, 0.77, edge} {
				f := part * nyq
				n := from / 4
				y := ResampleAll([][]float64{sine(f, from, n)}, from, to, q)[0]
				if want := (n*to + from - 1) / from; len(y) != want {
					t.Fatalf("%v→%v: %d frames, want %d", from, to, len(y), want)
				}
				// Away from the ends, where the sine begins and ends abruptly.
				skip := len(y) / 6
				mid := y[skip : len(y)-skip]
				db, r := toneLevel(mid, f, float64(to))
				if math.Abs(db) > 0.01 || r > rest {
					t.Errorf("quality %d, %v→%v, %.0f Hz: %.4f dB, rest %.1f dB", q, from, to, f, db, r)
				}
				for i := skip; i < len(y)-skip; i++ {
					want := math.Sin(2*math.Pi*f*float64(i)/float64(to) + 0.3)
					if math.Abs(y[i]-want) > 2e-3 {
						t.Fatalf("%v→%v, %.0f Hz: frame %d is not aligned: %v, want %v", from, to, f, i, y[i], want)
					}
				}
			}
		}
	}
}

// TestResampleAlias: what lies beyond the lower Nyquist frequency is at least
// 100 dB down, wherever it would have folded to.
func TestResampleAlias(t *testing.T) {
	for _, rr := range [][2]int{{48000, 44100}, {96000, 48000}, {192000, 44100}, {48000, 8000}, {48000, 44099}} {
		from, to := rr[0], rr[1]
		nyq := float64(to) / 2
		for _, f := range []float64{nyq * 1.001, nyq * 1.03, (nyq + float64(from)/2) / 2, float64(from) / 2 * 0.99} {
			for q, want := range map[Quality]float64{Standard: -100, Steep: -120} {
				y := ResampleAll([][]float64{sine(f, from, from/4)}, from, to, q)[0]
				mid := y[len(y)/6 : len(y)*5/6]
				e := 0.0
				for _, v := range mid {
					e += v * v
				}
				// A sine of amplitude 1 has rms −3 dB.
				if db := 10*math.Log10(e/float64(len(mid))) + 3.01; db > want {
					t.Errorf("quality %d, %d→%d: %.0f Hz comes through at %.1f dB", q, from, to, f, db)
				}
			}
		}
	}
}

func TestResampleDC(t *testing.T) {
	x := make([]float64, 5000)
	for i := range x {
		x[i] = 0.5
	}
	for _, rr := range ratios {
		y := ResampleAll([][]float64{x}, rr[0], rr[1], Standard)[0]
		for _, v := range y[len(y)*2/5 : len(y)*3/5] {
			if math.Abs(v-0.5) > 1e-9 {
				t.Fatalf("%v: %v", rr, v)
			}
		}
	}
}

// TestResampleBlocks crosses lengths and block sizes: every way of cutting the
// stream gives the same samples.
func TestResampleBlocks(t *testing.T) {
	for _, rr := range [][2]int{{44100, 48000}, {48000, 44100}, {192000, 8000}, {8000, 192000}, {44101, 48000}, {48000, 48000}} {
		for _, n := range []int{0, 1, 2, 100, 1023, 1024, 1025, 5000} {
			in := noise(7, 2, n, 1)
			r := NewResampler(rr[0], rr[1], 2, Standard)
			want := ResampleAll(in, rr[0], rr[1], Standard)
			if int64(len(want[0])) != r.OutFrames(int64(n)) {
				t.Fatalf("%v, %d in: %d out", rr, n, len(want[0]))
			}
			for _, k := range [][2]int{{1, 1}, {7, 512}, {512, 7}, {511, 513}, {4096, 4096}} {
				r.Reset()
				got := make([][]float64, 2)
				out := NewBlock(2, k[1])
				for pos := 0; pos < n; {
					end := min(n, pos+k[0])
					put, took := r.Process(out, [][]float64{in[0][pos:end], in[1][pos:end]})
					if put == 0 && took == 0 {
						t.Fatal("stuck")
					}
					pos += took
					for ch := range got {
						got[ch] = append(got[ch], out[ch][:put]...)
					}
				}
				for {
					put := r.Flush(out)
					if put == 0 {
						break
					}
					for ch := range got {
						got[ch] = append(got[ch], out[ch][:put]...)
					}
				}
				for ch := range want {
					if len(got[ch]) != len(want[ch]) {
						t.Fatalf("%v n %d blocks %v: %d frames, want %d", rr, n, k, len(got[ch]), len(want[ch]))
					}
					for i := range want[ch] {
						if got[ch][i] != want[ch][i] {
							t.Fatalf("%v n %d blocks %v: frame %d differs", rr, n, k, i)
						}
					}
				}
				// The adapter over a source gives the same.
				src := &sliceSource{x: in, k: k[0]}
				all, err := ReadAll(AtRate(src, rr[0], rr[1], 2, Standard), 2)
				if err != nil || len(all[0]) != len(want[0]) {
					t.Fatal(len(all[0]), err)
				}
				for i := range want[1] {
					if all[1][i] != want[1][i] {
						t.Fatalf("AtRate: frame %d differs", i)
					}
				}
			}
		}
	}
}

func TestResampleAllocs(t *testing.T) {
	r := NewResampler(44100, 48000, 2, Standard)
	in, out := noise(1, 2, 512, 1), NewBlock(2, 600)
	if n := testing.AllocsPerRun(200, func() { r.Process(out, in) }); n != 0 {
		t.Errorf("%v allocations a block", n)
	}
}

func BenchmarkResample(b *testing.B) {
	for _, rr := range [][2]int{{44100, 48000}, {48000, 44100}, {96000, 48000}, {44101, 48000}} {
		b.Run(fmt.Sprintf("%d-%d", rr[0], rr[1]), func(b *testing.B) {
			in := noise(1, 1, rr[0], 1)
			out := NewBlock(1, rr[1]+2)
			r := NewResampler(rr[0], rr[1], 1, Standard)
			b.ResetTimer()
			for range b.N {
				r.Process(out, in)
			}
			// One second of sound an iteration.
			b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "x_realtime")
		})
	}
}

// TestPaced: at a constant pace the output is the sine at the frequency that the pace makes
// of it, as clean as without; a pace that changes in every block leaves the wave without a
// jump; nothing is allocated.
func TestPaced(t *testing.T) {
	for _, rr := range [][2]int{{48000, 48000}, {44100, 48000}, {96000, 48000}, {16000, 48000}} {
		from, to := rr[0], rr[1]
		f := 0.3 * float64(min(from, to)) / 2
		src := sine(f, from, from)
		for _, ppm := range []float64{0, 137, -500} {
			r := NewPaced(from, to, 1, Standard)
			r.Pace(ppm)
			dst := make([]float64, to/2)
			for at, used := 0, 0; at < len(dst); {
				n := min(len(dst)-at, 1+at%300)
				put, took := r.Process([][]float64{dst[at : at+n]}, [][]float64{src[used:min(len(src), used+700)]})
				at, used = at+put, used+took
			}
			level, rest := toneLevel(dst[to/10:], f*(1+ppm*1e-6), float64(to))
			if math.Abs(level) > 0.01 || rest > -100 {
				t.Errorf("%d→%d at %g ppm: a tone of %.4f dB, the rest at %.1f dB", from, to, ppm, level, rest)
			}
		}
	}
	// The slope of a sine of 1 kHz is 2π/48 of its amplitude a frame at most, whatever the pace.
	r := NewPaced(48000, 48000, 1, Standard)
	src, dst := sine(1000, 48000, 48000), make([]float64, 64)
	last, used := 0.0, 0
	for i := range 700 {
		r.Pace(500 * math.Sin(float64(i)))
		put, took := r.Process([][]float64{dst}, [][]float64{src[used:]})
		used += took
		for _, v := range dst[:put] {
			if i > 3 && math.Abs(v-last) > 2*math.Pi/48*1.001 {
				t.Fatalf("block %d: a step of %g", i, v-last)
			}
			last = v
		}
	}
	in, out := [][]float64{src[:64]}, [][]float64{dst}
	if n := testing.AllocsPerRun(50, func() { r.Pace(3); r.Process(out, in) }); n > 0 {
		t.Errorf("%g allocations a block", n)
	}
}
