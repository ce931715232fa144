package microphone

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"
)

// air is what an input hears: a tone of so many Hz, at a true time in seconds.
func air(hz, s float64) float64 { return 0.5 * math.Sin(2*math.Pi*hz*s) }

// world is two clocks and the page between them.
type world struct {
	rate   int
	ppm    float64 // by which the device's clock is ahead of who pulls
	hz     float64
	pulls  int     // frames of a pull
	stallS float64 // the longest that the page is held up: it then hears nothing of the input
	every  float64 // and how often, s
	rng    *rand.Rand
}

// run lets seconds pass; each pull's output goes to heard, which may be nil.
func (w world) run(t testing.TB, in *Input, clock *time.Duration, seconds float64, heard func(t float64, dst []float64)) {
	const block = 512
	dst, samples := make([]float64, w.pulls), make([]float32, block)
	device := float64(w.rate) * (1 + w.ppm*1e-6)
	held, next := 0.0, w.every // until when the page is held up
	var came, given int64
	for given*int64(w.pulls) < int64(seconds*Session) {
		due := float64(came+1) * block / device // the block is whole then
		pull := float64(given*int64(w.pulls)) / Session
		if hears := max(due, held); hears <= pull {
			*clock = time.Duration(hears * 1e9)
			for i := range samples {
				samples[i] = float32(air(w.hz, (float64(came*block)+float64(i))/device))
			}
			in.Push(came*block, samples)
			came++
			continue
		}
		if w.every > 0 && pull > next {
			held = pull + w.stallS*w.rng.Float64()
			next = held + 2*w.every*w.rng.Float64()
		}
		*clock = time.Duration(pull * 1e9)
		in.Pull(dst)
		given++
		if heard != nil {
			heard(pull, dst)
		}
	}
}

// pitch is by how many ppm a tone is higher than hz: the advance of its phase between two
// halves of x, which lies at 48 kHz.
func pitch(x []float64, hz float64) float64 {
	phase := func(x []float64, at int) float64 {
		var re, im float64
		for i, v := range x {
			w := 1 - math.Cos(2*math.Pi*(float64(i)+0.5)/float64(len(x)))
			s, c := math.Sincos(2 * math.Pi * hz * float64(at+i) / Session)
			re, im = re+w*v*c, im-w*v*s
		}
		return math.Atan2(im, re)
	}
	h := len(x) / 2
	d := math.Remainder(phase(x[h:], h)-phase(x[:h], 0), 2*math.Pi)
	return d / (2 * math.Pi) / (float64(h) / Session) / hz * 1e6
}

// drifts runs two clocks that differ for so many minutes, and fails on a break, on a pitch that
// is wrong by more than is promised, or on one that is still wrong at the end.
func drifts(t *testing.T, rate int, ppm, minutes float64) {
	t.Helper()
	var clock time.Duration
	in := New(rate, func() time.Duration { return clock })
	w := world{rate: rate, ppm: ppm, hz: 1000, pulls: 256, stallS: 0.03, every: 0.5, rng: rand.New(rand.NewPCG(1, 2))}
	var second []float64
	worst, last, glide := 0.0, 0.0, 0.0
	w.run(t, in, &clock, 60*minutes, func(at float64, dst []float64) {
		if at < 0.5 { // until enough is in store
			return
		}
		if second = append(second, dst...); len(second) < Session {
			return
		}
		p := pitch(second, w.hz)
		if worst > 0 {
			glide = max(glide, math.Abs(p-last))
		}
		worst, last, second = max(worst, math.Abs(p)), p, second[:0]
	})
	breaks, lost := in.Faults()
	t.Logf("%d Hz, %+g ppm, %g min: %d breaks, pitch wrong by %.0f ppm at most, by %.1f at the end, gliding by up to %.1f ppm/s; absorbed %.1f ppm, %.0f ms in store",
		rate, ppm, minutes, breaks, worst, last, glide, in.DriftPPM(), 1000*in.pull.cushion)
	if breaks > 0 || lost > 0 {
		t.Errorf("%d breaks of %.3f s", breaks, lost)
	}
	if worst > MostPPM+math.Abs(ppm) || glide > MostGlide+5 {
		t.Errorf("the pitch is wrong by up to %.0f ppm, gliding by %.1f ppm/s", worst, glide)
	}
	if math.Abs(last) > 30 || math.Abs(in.DriftPPM()-ppm) > 40 {
		t.Errorf("in the end the pitch is wrong by %.1f ppm; absorbed %.1f of %g", last, in.DriftPPM(), ppm)
	}
}

// TestDrift: see drifts; at length under the tag full.
func TestDrift(t *testing.T) {
	drifts(t, 48000, 200, 3)
	drifts(t, 44100, -200, 3)
}

// wave fills what a device of so many frames a second hears of a tone.
func wave(rate int, hz float64, n int) []float32 {
	x := make([]float32, n)
	for i := range x {
		x[i] = float32(air(hz, float64(i)/float64(rate)))
	}
	return x
}

func push(in *Input, x []float32, block int) {
	for at := 0; at < len(x); at += block {
		in.Push(in.total, x[at:min(len(x), at+block)])
	}
}

// TestRead: what is read is what came, at 48 kHz, to better than 100 dB (with the input's
// own 24 bits of float32 and the filter's passband), and at 48 kHz to the sample.
func TestRead(t *testing.T) {
	for _, rate := range []int{8000, 16000, 44100, 48000, 96000} {
		in := New(rate, func() time.Duration { return 0 })
		src := wave(rate, 1000, rate)
		var got []float64
		buf := make([]float64, 800)
		for at := 0; at < len(src); at += 512 {
			in.Push(int64(at), src[at:min(len(src), at+512)])
			for n := in.Read(buf); n > 0; n = in.Read(buf) {
				got = append(got, buf[:n]...)
			}
		}
		if len(got) < Session*9/10 || len(got) > Session {
			t.Fatalf("%d Hz: %d frames of a second", rate, len(got))
		}
		var sig, rest float64
		for i, v := range got {
			if i < 2000 { // the filter sees the silence before
				continue
			}
			want := air(1000, float64(i)/Session)
			sig, rest = sig+want*want, rest+(v-want)*(v-want)
		}
		if sdr := 10 * math.Log10(sig/rest); sdr < 100 {
			t.Errorf("%d Hz: %.1f dB", rate, sdr)
		}
		if b, _ := in.Faults(); b != 0 {
			t.Errorf("%d Hz: %d breaks", rate, b)
		}
	}
}

// TestUnread: what nobody reads for long is dropped, from the oldest on; what was kept
// comes whole. It is a break only for who has begun to read. What is read after a visit of
// another page, of 29 s, is whole.
func TestUnread(t *testing.T) {
	const rate = 8000
	buf := make([]float64, 40*Session)
	in := New(rate, func() time.Duration { return 0 })
	push(in, wave(rate, 500, 35*rate), 512)
	if n := in.Read(buf); math.Abs(float64(n)-StoreS*Session) > 0.1*Session {
		t.Errorf("read %d frames of %d s", n, StoreS)
	}
	if b, _ := in.Faults(); b != 0 {
		t.Errorf("%d breaks before anything was read", b)
	}
	push(in, wave(rate, 500, 29*rate), 512)
	if n := in.Read(buf); n != 29*Session {
		t.Errorf("read %d frames of 29 s", n)
	}
	push(in, wave(rate, 500, 32*rate), 512)
	in.Read(buf)
	if b, s := in.Faults(); b != 1 || math.Abs(s-2) > 0.1 {
		t.Errorf("%d breaks of %.2f s, want one of two seconds", b, s)
	}
}

// jump is the largest second difference of x: a tone has little, a click much.
func jump(x []float64) float64 {
	most := 0.0
	for i := 2; i < len(x); i++ {
		most = max(most, math.Abs(x[i]-2*x[i-1]+x[i-2]))
	}
	return most
}

// TestMissing: frames that did not come are counted and stand as faded silence, so that
// what comes after is in its place.
func TestMissing(t *testing.T) {
	in := New(48000, func() time.Duration { return 0 })
	src := wave(48000, 200, 48000)
	in.Push(0, src[:4096])
	in.Push(8192, src[8192:])
	got := make([]float64, 48000)
	if n := in.Read(got); n != 48000 {
		t.Fatalf("read %d", n)
	}
	if b, s := in.Faults(); b != 1 || math.Abs(s-4096.0/48000) > 1e-9 {
		t.Errorf("%d breaks of %.4f s", b, s)
	}
	if v := got[20000] - float64(src[20000]); v != 0 {
		t.Errorf("what came after is off by %g", v)
	}
	// 0.5·(2π·200/48000)² is the tone's own; a fade adds its slope of 1/240 or 2 % a frame.
	if j := jump(got); j > 0.03 {
		t.Errorf("a click of %.3f", j)
	}
}

// TestHoles: whole pieces of zeros that a browser leaves amid sound are counted; a device
// that is silent for long, the pauses of a file, and zeros that do not fill a piece are not.
func TestHoles(t *testing.T) {
	for _, c := range []struct {
		name     string
		from, to int
		breaks   int64
	}{
		{"one piece", 4 * quantum, 5 * quantum, 1},
		{"three pieces, over the border of a block", 7 * quantum, 10 * quantum, 1},
		{"off the border", 4*quantum + 5, 6*quantum + 5, 0},
		{"two blocks of 10 ms, anywhere", 1001, 1961, 1},
		{"at first", 0, 5 * quantum, 0},
		{"more than a second", 4 * quantum, 400 * quantum, 0},
		{"none", 0, 0, 0},
	} {
		src := wave(48000, 333, 500*quantum)
		for i := range src {
			if src[i] == 0 {
				src[i] = 1e-5
			}
		}
		clear(src[c.from:c.to])
		in := New(48000, func() time.Duration { return 0 })
		push(in, src, 512)
		if b, s := in.Faults(); b != c.breaks || c.breaks > 0 && math.Abs(s-float64(c.to-c.from)/48000) > 1e-9 {
			t.Errorf("%s: %d breaks of %.4f s", c.name, b, s)
		}
	}
}

// TestShortage: when the input stops, as a system may hold it, that is one break, faded, and
// sound comes back without a click when it goes on; a page that is held up for a second and
// whose output dropped as much gets back to where it was.
func TestShortage(t *testing.T) {
	var clock time.Duration
	in := New(48000, func() time.Duration { return clock })
	var out []float64
	buf, src := make([]float64, 256), wave(48000, 200, 48000*8)
	at := 0
	pass := func(seconds float64, comes, pulls bool) {
		for n := 0; n < int(seconds*Session); n += 256 {
			clock += 256 * time.Second / Session
			if comes {
				in.Push(in.total, src[at:at+256])
				at += 256
			}
			if pulls {
				in.Pull(buf)
				out = append(out, buf...)
			}
		}
	}
	pass(1, true, true)
	if b, s := in.Faults(); b != 0 || s != 0 {
		t.Fatalf("%d breaks of %.3f s before any", b, s)
	}
	pass(0.4, false, true)
	pass(1, true, true)
	b, s := in.Faults()
	if b != 1 || math.Abs(s-0.4) > 0.05 {
		t.Errorf("after a halt of 0.4 s: %d breaks of %.3f s", b, s)
	}
	if j := jump(out); j > 0.03 {
		t.Errorf("a click of %.3f", j)
	}
	for _, v := range out[len(out)-4800:] {
		if math.Abs(v) > 0.51 {
			t.Fatalf("a sample of %.3f", v)
		}
	}
	pass(0.3, true, false) // nobody asked for that
	pass(3, true, true)
	if b, _ := in.Faults(); b != 2 {
		t.Errorf("after 0.3 s that nobody asked for: %d breaks", b)
	}
	if in.store() > in.pull.cushion+stuck {
		t.Errorf("%.0f ms are in store, %.0f shall be", 1000*in.store(), 1000*in.pull.cushion)
	}
	if j := jump(out); j > 0.03 {
		t.Errorf("a click of %.3f", j)
	}
	pass(1, true, false) // nobody listens
	pass(1, true, true)
	if b, _ := in.Faults(); b != 2 {
		t.Errorf("who begins anew hears of %d breaks", b)
	}
}

// TestStoodStill: when the context that brings the sound stands still for 80 ms, or for 8 ms
// again and again, that is counted; a page that is held up for two seconds, after which all
// comes at once, a late start and clocks that differ by 400 ppm are no breaks.
func TestStoodStill(t *testing.T) {
	const rate, block = 48000, 512
	for _, c := range []struct {
		name    string
		stands  func(block int) float64 // before it comes, s
		holds   func(s float64) float64 // until when a message of that time is held up, s
		ppm     float64
		breaks  int64
		least   float64 // s lost
		atLeast bool
	}{
		{name: "once", stands: func(k int) float64 { return map[int]float64{900: 0.08}[k] }, breaks: 1, least: 0.07},
		{name: "often", stands: func(k int) float64 { return map[bool]float64{true: 0.008}[k%200 == 199] }, breaks: 2, least: 0.04, atLeast: true},
		{name: "a page held up", holds: func(s float64) float64 {
			if s > 5 && s < 7 {
				return 7
			}
			return s + 0.01*math.Mod(s*7.3, 1)
		}},
		{name: "a late start", holds: func(s float64) float64 { return max(s, 0.4) }},
		{name: "clocks that differ", ppm: -400},
	} {
		var clock time.Duration
		in := New(rate, func() time.Duration { return clock })
		at, samples := 0.0, make([]float32, block)
		for k := range 20 * rate / block {
			at += block / float64(rate) / (1 + c.ppm*1e-6)
			if c.stands != nil {
				at += c.stands(k)
			}
			come := at
			if c.holds != nil {
				come = c.holds(at)
			}
			clock = max(clock, time.Duration(come*1e9))
			in.Push(in.total, samples)
		}
		if b, s := in.Faults(); b < c.breaks || !c.atLeast && b > c.breaks || s < c.least || b == 0 && s > 0 {
			t.Errorf("%s: %d breaks of %.3f s", c.name, b, s)
		} else {
			t.Logf("%s: %d breaks of %.3f s", c.name, b, s)
		}
	}
}

// TestNoAllocation: neither what comes nor what is given takes memory.
func TestNoAllocation(t *testing.T) {
	for _, rate := range []int{44100, 48000} {
		var clock time.Duration
		in := New(rate, func() time.Duration { return clock })
		src, dst, buf := wave(rate, 300, 512), make([]float64, 512), make([]float64, 512)
		if n := testing.AllocsPerRun(200, func() {
			clock += 10 * time.Millisecond
			in.Push(in.total, src)
			in.Read(buf)
			in.Pull(dst)
		}); n > 0 {
			t.Errorf("%d Hz: %g allocations a block", rate, n)
		}
	}
}

// FuzzInput: whatever comes, in whatever order, nothing falls, every sample is finite and no
// larger than what came, Read and Pull give what they say.
func FuzzInput(f *testing.F) {
	f.Add(uint8(2), []byte{1, 200, 2, 30, 3, 90, 4, 255, 1, 1, 3, 3})
	f.Add(uint8(1), []byte{3, 255, 4, 255, 4, 255, 1, 255, 3, 255})
	f.Fuzz(func(t *testing.T, rate uint8, ops []byte) {
		var clock time.Duration
		in := New([]int{8000, 44100, 48000}[rate%3], func() time.Duration { return clock })
		buf := make([]float64, 512)
		for i := 0; i+1 < len(ops) && i < 400; i += 2 {
			n := int(ops[i+1])
			switch ops[i] % 5 {
			case 0:
				clock += time.Duration(n) * 4 * time.Millisecond
			case 1:
				in.Push(in.total, wave(48000, 700, 2*n))
			case 2:
				in.Push(in.total+int64(n*n*n), wave(48000, 700, n))
			case 3:
				k := in.Read(buf[:n])
				if k < 0 || k > n {
					t.Fatalf("%d of %d read", k, n)
				}
			case 4:
				buf = buf[:512]
				for j := range buf {
					buf[j] = math.NaN()
				}
				in.Pull(buf[:n])
				for j, v := range buf[:n] {
					if !(math.Abs(v) <= 1.5) {
						t.Fatalf("sample %d is %g", j, v)
					}
				}
			}
		}
		if b, s := in.Faults(); b < 0 || s < 0 || math.Abs(in.pull.ppm) > MostPPM {
			t.Fatalf("%d breaks of %g s, %g ppm", b, s, in.pull.ppm)
		}
	})
}

// BenchmarkPull is what a second of live sound costs, at 44.1 kHz.
func BenchmarkPull(b *testing.B) {
	var clock time.Duration
	in := New(44100, func() time.Duration { return clock })
	w := world{rate: 44100, hz: 1000, pulls: 256}
	for b.Loop() {
		w.run(b, in, &clock, 1, nil)
	}
}

// BenchmarkNew is what opening costs.
func BenchmarkNew(b *testing.B) {
	for b.Loop() {
		New(44100, func() time.Duration { return 0 })
	}
}
