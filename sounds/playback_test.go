package sounds

import (
	"math"
	"math/rand/v2"
	"sync"
	"testing"
	"time"

	"github.com/faiface/beep"
)

const fs48 = 48000

// gen is a streamer from a function of the frame, ending after n frames if n ≥ 0.
type gen struct {
	f   func(i int) (l, r float64)
	i   int
	n   int
	cut int // at most so many frames a call, if > 0
}

func (g *gen) Stream(buf [][2]float64) (int, bool) {
	n := len(buf)
	if g.n >= 0 {
		n = min(n, g.n-g.i)
	}
	for k := range buf[:n] {
		buf[k][0], buf[k][1] = g.f(g.i)
		g.i++
	}
	return n, n > 0
}

func (g *gen) Err() error { return nil }

func newMonitor(t testing.TB, src beep.Streamer, s MonitorSettings) *Monitor {
	t.Helper()
	m, err := NewMonitor(src, fs48, s)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// speakerCode is what beep's speaker makes of a sample: speaker.go of beep
// v1.1.0, func update.
func speakerCode(v float64) int16 {
	if v < -1 {
		v = -1
	}
	if v > 1 {
		v = 1
	}
	return int16(v * (1<<15 - 1))
}

// TestMonitorCeiling: ten million adverse samples, settings changing all the
// while, and none above the ceiling that was set before the block.
func TestMonitorCeiling(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	kind := 0
	src := &gen{n: -1, f: func(i int) (float64, float64) {
		if i%997 == 0 {
			kind = rng.IntN(9)
		}
		u := 2*rng.Float64() - 1
		switch kind {
		case 0:
			return u, u
		case 1:
			return 1000 * u, -u
		case 2:
			if i%48 == 0 {
				return 1e6, 0
			}
			return 0, 0
		case 3:
			return math.Copysign(1, math.Sin(float64(i))), 4
		case 4:
			return math.NaN(), math.Inf(1 - 2*(i&1))
		case 5:
			return 1e300, -1e300
		case 6:
			return math.Exp(20 * u), 1e-300
		case 7:
			return math.MaxFloat64, -math.MaxFloat64
		}
		return 0, 0
	}}
	s := DefaultMonitor()
	m := newMonitor(t, src, s)
	buf := make([][2]float64, 512)
	n, blocks := 0, 0
	worst := math.Inf(-1)
	for n < 10_000_000 {
		if blocks++; blocks%50 == 0 {
			s.TrimDB = -80 + 104*rng.Float64()
			s.CeilingDBFS = -60 * rng.Float64()
			s.Mute = rng.IntN(8) == 0
			if err := m.Set(s); err != nil {
				t.Fatal(err)
			}
		}
		b := buf[:1+rng.IntN(len(buf))]
		k, ok := m.Stream(b)
		if k != len(b) || !ok {
			t.Fatal(k, ok)
		}
		top := math.Pow(10, s.CeilingDBFS/20)
		for _, x := range b {
			for _, v := range x {
				a := math.Abs(v)
				if !(a <= top) {
					t.Fatalf("sample %v above the ceiling %v", v, top)
				}
				if a > 0 {
					worst = math.Max(worst, 20*math.Log10(a/top))
				}
			}
		}
		n += 2 * len(b)
	}
	if worst < -0.5 {
		t.Errorf("the ceiling was never approached (%.2f dB below)", -worst)
	}
	if r := m.Readings(); r.NotFinite == 0 || r.ReductionDB < 20 {
		t.Errorf("%+v", r)
	}
}

// TestMonitorIsTheSpeakersCodes: the speaker's clamp and truncation change
// nothing, so what the speaker plays is what the Monitor decided.
func TestMonitorIsTheSpeakersCodes(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	m := newMonitor(t, &gen{n: -1, f: func(i int) (float64, float64) { return rng.Float64() * 3, -rng.Float64() }}, MonitorSettings{TrimDB: 0, CeilingDBFS: 0})
	buf := make([][2]float64, 48000*4)
	m.Stream(buf)
	seen := map[int16]bool{}
	for _, x := range buf {
		for _, v := range x {
			c := speakerCode(v)
			seen[c] = true
			if math.Abs(v*deviceFull-float64(c)) > 2*codeNudge {
				t.Fatalf("%v is not on a code (%v)", v*deviceFull, c)
			}
			// And one step either way of rounding leaves the code alone.
			if speakerCode(math.Nextafter(v, 2)) != c || speakerCode(math.Nextafter(v, -2)) != c {
				t.Fatalf("%v is on the edge of a code", v)
			}
		}
	}
	if len(seen) < 5000 {
		t.Errorf("only %d codes used", len(seen))
	}
}

// TestMonitorTransparent: below the ceiling it is a gain, a delay and dither:
// a sine of −40 dBFS comes out at −60 with white noise of √(1/4) code rms (the
// variance of rounding, 1/12, and of triangular dither, 1/6, together).
func TestMonitorTransparent(t *testing.T) {
	x := sine(997, fs48, 10*fs48)
	m := newMonitor(t, &gen{n: -1, f: func(i int) (float64, float64) { v := 0.01 * x[i%len(x)]; return v, v }}, DefaultMonitor())
	buf := make([][2]float64, 4*fs48)
	m.Stream(buf)
	y := make([]float64, 2*fs48)
	for i := range y {
		y[i] = float64(speakerCode(buf[2*fs48+i][0])) / deviceFull
	}
	db, rest := toneLevel(y, 997, fs48)
	want := 20 * math.Log10(math.Sqrt(0.25)/deviceFull)
	if math.Abs(db+60) > 0.02 || math.Abs(rest-want) > 0.1 {
		t.Errorf("%.3f dB, rest %.2f dB, want −60 and %.2f", db, rest, want)
	}
	for i := 1; i < 10; i++ { // no harmonic stands out
		h, _ := toneLevel(y, 997*float64(i+1), fs48)
		if h > -130 {
			t.Errorf("harmonic %d at %.1f dB", i+1, h)
		}
	}
	if r := m.Readings(); r.ReductionDB != 0 || math.Abs(r.PeakDBFS+60) > 0.5 {
		t.Errorf("%+v", r)
	}
}

func TestMonitorStartsLowAndMutes(t *testing.T) {
	m := newMonitor(t, &gen{n: -1, f: func(i int) (float64, float64) { return 0.5, 0.5 }}, DefaultMonitor())
	buf := make([][2]float64, fs48)
	m.Stream(buf)
	lin := func(i int) float64 { return buf[i][0] }
	d := m.Latency()
	if lin(d) > 0.001 || math.Abs(lin(d+fs48*15/100)-0.025) > 0.001 || math.Abs(lin(fs48-1)-0.05) > 0.001 {
		t.Errorf("fade-in: %v %v %v", lin(d), lin(d+fs48*15/100), lin(fs48-1))
	}
	s := m.Settings()
	s.Mute = true
	m.Set(s)
	m.Stream(buf)
	for i := 1; i < fs48; i++ {
		if d := math.Abs(buf[i][0] - buf[i-1][0]); d > 0.05/960+4.0/deviceFull {
			t.Fatalf("mute steps by %v at %d", d, i)
		}
		if i >= 960 && buf[i] != [2]float64{} {
			t.Fatalf("muted, but %v at %d", buf[i], i)
		}
	}
	s.Mute, s.TrimDB = false, -26
	m.Set(s)
	m.Stream(buf)
	if math.Abs(lin(fs48-1)-0.5*math.Pow(10, -26.0/20)) > 0.0005 {
		t.Errorf("after unmute: %v", lin(fs48-1))
	}
}

// TestMonitorLimits a burst without ever clamping hard: no two neighbouring
// samples of a loud sine are pinned at the ceiling's code.
func TestMonitorLimits(t *testing.T) {
	x := sine(200, fs48, fs48)
	m := newMonitor(t, &gen{n: -1, f: func(i int) (float64, float64) {
		a := 0.1
		if i%fs48 > 24000 {
			a = 10
		}
		v := a * x[i%fs48]
		return v, v
	}}, MonitorSettings{TrimDB: 0, CeilingDBFS: -10})
	buf := make([][2]float64, 4*fs48)
	m.Stream(buf)
	pinned := 0
	for i := 1; i < len(buf); i++ {
		a, b := math.Abs(buf[i-1][0]), math.Abs(buf[i][0])
		if speakerCode(a) == int16(m.limit) && speakerCode(b) == int16(m.limit) {
			pinned++
		}
	}
	if pinned > 200 {
		t.Errorf("%d pairs of samples pinned at the ceiling", pinned)
	}
	if r := m.Readings(); math.Abs(r.ReductionDB-30) > 0.5 || r.PeakDBFS > -10 || r.PeakDBFS < -10.1 {
		t.Errorf("%+v", r)
	}
}

// TestMonitorBlocks: the result does not depend on block sizes, and a source
// that ends gives its frames plus the latency, then drains, by beep's contract.
func TestMonitorBlocks(t *testing.T) {
	in := noise(5, 2, 30000, 1)
	mk := func() *Monitor {
		return newMonitor(t, &gen{n: 30000, f: func(i int) (float64, float64) { return in[0][i], in[1][i] }}, MonitorSettings{TrimDB: 0, CeilingDBFS: -10})
	}
	var want [][2]float64
	for _, k := range []int{40000, 1, 7, 511, 512, 513, 4096} {
		m := mk()
		var got [][2]float64
		buf := make([][2]float64, k)
		for {
			n, ok := m.Stream(buf)
			got = append(got, buf[:n]...)
			if !ok {
				if n != 0 {
					t.Fatal("frames with ok = false")
				}
				break
			}
			if n == 0 || n < k && func() bool { m, ok := m.Stream(buf); return m != 0 || ok }() {
				t.Fatal("a short block was not the last")
			}
			if n < k {
				break
			}
		}
		if want == nil {
			want = got
			if len(got) != 30000+m.Latency() {
				t.Fatalf("%d frames", len(got))
			}
		}
		if len(got) != len(want) {
			t.Fatalf("blocks of %d: %d frames, want %d", k, len(got), len(want))
		}
		for i := range want {
			if got[i] != want[i] {
				t.Fatalf("blocks of %d: frame %d differs", k, i)
			}
		}
	}
}

func TestMonitorSettingsRange(t *testing.T) {
	m := newMonitor(t, &gen{n: -1}, DefaultMonitor())
	for _, s := range []MonitorSettings{{TrimDB: 25}, {TrimDB: math.NaN()}, {CeilingDBFS: 0.1}, {CeilingDBFS: -61}, {CeilingDBFS: math.Inf(-1)}} {
		if m.Set(s) == nil {
			t.Errorf("%+v accepted", s)
		}
	}
	if m.Settings() != DefaultMonitor() {
		t.Error("a refused setting was kept")
	}
}

func TestSlidingMin(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 9))
	for _, n := range []int{1, 2, 5, 97} {
		var s slidingMin
		s.init(n)
		var x []float64
		for range 3000 {
			x = append(x, math.Floor(rng.Float64()*20))
			want := math.Inf(1)
			for _, v := range x[max(0, len(x)-n):] {
				want = min(want, v)
			}
			if got := s.push(x[len(x)-1]); got != want {
				t.Fatalf("n %d: %v, want %v", n, got, want)
			}
		}
	}
}

// tonePlayer has tracks that are sines of different phase and level.
func tonePlayer(t testing.TB, seconds float64, tracks int) (*Player, float64) {
	p := NewPlayer(fs48)
	n := int(seconds * fs48)
	var ts []Track
	step := 0.0
	for k := range tracks {
		x := make([]float64, n)
		f := 200 + 90*float64(k)
		for i := range x {
			x[i] = 0.5 * math.Sin(2*math.Pi*f*float64(i)/fs48+float64(k)+0.7)
		}
		step = math.Max(step, 0.5*2*math.Pi*f/fs48)
		tr := Track{Samples: x}
		if k%2 == 1 {
			y := make([]float32, n)
			for i := range y {
				y[i] = float32(x[i])
			}
			tr = Track{Samples32: y}
		}
		ts = append(ts, tr)
	}
	if err := p.Load(ts...); err != nil {
		t.Fatal(err)
	}
	// A sine's own step, and that of a fade from −0.5 to 0.5 over 10 ms twice
	// (a switch while starting or stopping).
	return p, step + 2*1.0/480
}

// TestPlayerNoClicks: whatever is ordered, no step between samples is larger
// than those of the tracks and of a 10 ms fade.
func TestPlayerNoClicks(t *testing.T) {
	p, bound := tonePlayer(t, 3, 4)
	q, _ := tonePlayer(t, 2, 3)
	rng := rand.New(rand.NewPCG(11, 12))
	last, worst := 0.0, 0.0
	buf := make([][2]float64, 600)
	moved, sounding := 0, 0
	for range 20000 {
		switch rng.IntN(14) {
		case 0:
			p.Play()
		case 1:
			if rng.IntN(3) == 0 {
				p.Pause()
			}
		case 2, 3, 4:
			p.Select(rng.IntN(4))
		case 5:
			p.SeekTo(rng.Int64N(3 * fs48))
		case 6:
			a := rng.Int64N(2 * fs48)
			p.SetLoop(a, a+2400+rng.Int64N(9600))
		case 7:
			p.ClearLoop()
		case 8:
			if rng.IntN(4) == 0 {
				src := p
				if rng.IntN(2) == 0 {
					src = q
				}
				s := src.order.Load().set
				p.Load(s.tracks[:s.count]...)
			}
		case 9:
			if rng.IntN(20) == 0 {
				p.SeekTo(p.Frames() - 300)
			}
		}
		before := p.Position()
		b := buf[:1+rng.IntN(len(buf))]
		if n, ok := p.Stream(b); n != len(b) || !ok {
			t.Fatal(n, ok)
		}
		if p.Position() != before {
			moved++
		}
		for _, x := range b {
			if x[0] != x[1] {
				t.Fatal("channels differ")
			}
			if x[0] != 0 {
				sounding++
			}
			worst = math.Max(worst, math.Abs(x[0]-last))
			last = x[0]
		}
	}
	if worst > bound {
		t.Errorf("a step of %v, more than %v", worst, bound)
	}
	if moved < 5000 || sounding < 1_000_000 || p.Ended() == 0 {
		t.Errorf("the test exercised little: moved %d, sounding %d, ended %d", moved, sounding, p.Ended())
	}
	t.Logf("largest step %.5f, bound %.5f", worst, bound)
}

// TestPlayerInStep: between switches the output is the selected track at the
// right frame, exactly.
func TestPlayerInStep(t *testing.T) {
	p, _ := tonePlayer(t, 3, 4)
	set := p.order.Load().set
	p.Play()
	buf := make([][2]float64, 4800)
	p.Stream(buf)
	for k := range 8 {
		p.Select(k % 4)
		start := p.Position()
		p.Stream(buf)
		for i := 480; i < len(buf); i++ {
			if want := set.tracks[k%4].at(start + int64(i)); buf[i][0] != want {
				t.Fatalf("track %d, frame %d: %v, want %v", k%4, start+int64(i), buf[i][0], want)
			}
		}
	}
	if p.Position() != 9*4800 || !p.Playing() || p.Selected() != 3 {
		t.Error(p.Position(), p.Playing(), p.Selected())
	}
	// Equal gain: a switch between equal tracks is inaudible.
	same := make([]float64, fs48)
	for i := range same {
		same[i] = math.Sin(float64(i) / 30)
	}
	e := NewPlayer(fs48)
	e.Load(Track{Samples: same}, Track{Samples: append([]float64(nil), same...)})
	e.Play()
	e.Stream(buf)
	e.Select(1)
	e.Stream(buf)
	for i := range buf {
		if math.Abs(buf[i][0]-same[4800+i]) > 1e-12 {
			t.Fatalf("frame %d: %v, want %v", i, buf[i][0], same[4800+i])
		}
	}
}

func TestPlayerTransport(t *testing.T) {
	p, _ := tonePlayer(t, 0.5, 2)
	set := p.order.Load().set
	buf := make([][2]float64, 480)
	p.Stream(buf)
	if p.Playing() || p.Position() != 0 || buf[100][0] != 0 {
		t.Error("plays unasked")
	}
	p.Play()
	if !p.Playing() {
		t.Error("Playing right after Play")
	}
	p.Stream(buf)
	if p.Position() != 480 {
		t.Error(p.Position())
	}
	p.SeekTo(12000)
	if p.Position() != 12000 {
		t.Error("Position right after SeekTo")
	}
	p.Stream(buf)
	p.Stream(buf)
	if p.Position() != 12960 || buf[7][0] != set.tracks[0].at(12487) {
		t.Error(p.Position())
	}
	p.Pause()
	p.Stream(buf)
	at := p.Position()
	p.Stream(buf)
	if p.Playing() || p.Position() != at || buf[0][0] != 0 {
		t.Error("goes on after Pause", p.Position(), at)
	}
	// Seek, select and gain while paused take effect at once.
	p.SeekTo(1000)
	p.Select(1)
	p.SetGain(1, -6)
	p.Play()
	p.Stream(buf)
	p.Stream(buf)
	if want := set.tracks[1].at(1480) * math.Pow(10, -6.0/20); buf[0][0] != want {
		t.Errorf("%v, want %v", buf[0][0], want)
	}
	for range 60 {
		p.Stream(buf)
	}
	if p.Ended() != 1 || p.Playing() || p.Position() != 24000 {
		t.Error(p.Ended(), p.Playing(), p.Position())
	}
	p.Play()
	p.Stream(buf)
	if p.Position() != 480 || !p.Playing() {
		t.Error("Play after the end:", p.Position())
	}
	// A loop of 0.1 s: the position stays inside, the period is exact.
	if err := p.SetLoop(4800, 9600); err != nil {
		t.Fatal(err)
	}
	p.SeekTo(4800)
	for k := range 100 {
		p.Stream(buf)
		if got, want := p.Position(), 4800+int64(480*(k+1))%4800; got != want && !(want == 4800 && got == 9600) {
			t.Fatalf("block %d: position %d, want %d", k, got, want)
		}
	}
	if p.Ended() != 1 {
		t.Error("a loop ended")
	}
	for _, bad := range [][2]int64{{-1, 9600}, {0, 24001}, {100, 200}, {9600, 4800}} {
		if p.SetLoop(bad[0], bad[1]) == nil {
			t.Errorf("loop %v accepted", bad)
		}
	}
	if a, b, on := p.Loop(); a != 4800 || b != 9600 || !on {
		t.Error("a refused loop changed the old one")
	}
	if p.Load(Track{Samples: make([]float64, 5)}, Track{Samples32: make([]float32, 6)}) == nil {
		t.Error("tracks of different length accepted")
	}
	if p.Load(make([]Track, 9)...) == nil || p.SetGain(0, 100) == nil {
		t.Error("too much accepted")
	}
	if err := p.Load(); err != nil {
		t.Fatal(err)
	}
	for range 5 {
		p.Stream(buf)
	}
	if buf[479][0] != 0 || p.Tracks() != 0 {
		t.Error("sound without tracks")
	}
	p.Play()
	p.Stream(buf)
	if p.Playing() {
		t.Error("plays without tracks")
	}
}

// TestPlayerBlocks: block sizes change nothing.
func TestPlayerBlocks(t *testing.T) {
	var want [][2]float64
	for _, k := range []int{48000, 1, 7, 511, 512, 513} {
		p, _ := tonePlayer(t, 0.7, 2)
		p.SetLoop(2000, 9000)
		p.Play()
		var got [][2]float64
		buf := make([][2]float64, k)
		for len(got) < 48000 {
			b := buf[:min(k, 48000-len(got))]
			p.Stream(b)
			got = append(got, b...)
		}
		if want == nil {
			want = got
		}
		for i := range want {
			if got[i] != want[i] {
				t.Fatalf("blocks of %d: frame %d differs", k, i)
			}
		}
	}
}

func TestPlaybackAllocs(t *testing.T) {
	p, _ := tonePlayer(t, 2, 3)
	p.SetLoop(0, 20000)
	p.Play()
	m := newMonitor(t, p, DefaultMonitor())
	pull := NewPull(m, fs48, 512)
	buf := make([][2]float64, 512)
	if n := testing.AllocsPerRun(300, func() { pull.Stream(buf) }); n != 0 {
		t.Errorf("%v allocations a block", n)
	}
	if pull.Owner() != ClockDevice {
		t.Error(pull.Owner())
	}
	if n := testing.AllocsPerRun(100, func() { pull.Loop(buf) }); n != 0 {
		t.Errorf("loop: %v allocations a block", n)
	}
	pull.Release()
	if n := testing.AllocsPerRun(100, func() { pull.Tick(800) }); n != 0 {
		t.Errorf("tick: %v allocations a block", n)
	}
}

// TestPullOwnership drives the three clocks by hand with a clock of our own.
func TestPullOwnership(t *testing.T) {
	src := &gen{n: -1, f: func(i int) (float64, float64) { return float64(i + 1), 0 }}
	p := NewPull(src, fs48, 1024)
	now := time.Unix(1000, 0)
	p.now = func() time.Time { return now }
	buf := make([][2]float64, 512)
	device := func() bool { // whether it got the signal
		before := src.i
		p.Stream(buf)
		if src.i == before {
			for _, x := range buf {
				if x[0] != 0 {
					t.Fatal("neither silence nor signal")
				}
			}
			return false
		}
		return true
	}
	if p.Tick(800) != 800 || p.Owner() != ClockTick || src.i != 800 {
		t.Fatal("the tick does not pull without a device")
	}
	// A browser before a gesture: one buffer, then nothing.
	for range 3 {
		if device() {
			t.Fatal("the device got the signal before it had proved itself")
		}
	}
	for range 10 {
		now = now.Add(16 * time.Millisecond)
		if p.Tick(800) != 800 {
			t.Fatal("the tick stopped for a device that stalls")
		}
	}
	// The gesture.
	now = now.Add(time.Second)
	got := 0
	for range 20 {
		now = now.Add(10 * time.Millisecond)
		if device() {
			got++
			if p.Tick(800) != 0 {
				t.Fatal("two clocks")
			}
		}
	}
	if got != 16 || p.Owner() != ClockDevice || !p.Running() {
		t.Fatalf("%d of 20 blocks, %v", got, p.Owner())
	}
	// A gap that must have been heard.
	now = now.Add(100 * time.Millisecond)
	device()
	if s := p.Stats(); s.Late != 1 {
		t.Errorf("%+v", s)
	}
	// The device disappears.
	now = now.Add(100 * time.Millisecond)
	if p.Tick(800) != 0 {
		t.Error("the tick took over too early")
	}
	now = now.Add(300 * time.Millisecond)
	if p.Running() || p.Tick(800) != 800 || p.Owner() != ClockTick {
		t.Error("the tick did not take over")
	}
	if device() {
		t.Error("the device got the signal back at once")
	}
	// A loop takes it from both.
	if n, ok := p.Loop(buf); n != 512 || !ok || p.Owner() != ClockLoop || p.Tick(10) != 0 || device() {
		t.Error("the loop does not own the signal")
	}
	p.Release()
	if p.Tick(5) != 5 {
		t.Error("not released")
	}
	s := p.Stats()
	if s.Frames != int64(src.i) || s.TickFrames != 800+8000+800+5 || s.SilenceFrames != 3*512+4*512+512+512 {
		t.Errorf("%+v, source at %d", s, src.i)
	}
}

func TestPullEnd(t *testing.T) {
	p := NewPull(&gen{n: 1000, f: func(int) (float64, float64) { return 1, 1 }}, fs48, 512)
	buf := make([][2]float64, 600)
	if n, ok := p.Loop(buf); n != 600 || !ok {
		t.Error(n, ok)
	}
	if n, ok := p.Loop(buf); n != 400 || !ok {
		t.Error(n, ok)
	}
	if n, ok := p.Loop(buf); n != 0 || ok {
		t.Error(n, ok)
	}
	p.Release()
	if p.Tick(10) != 0 {
		t.Error("a tick after the end")
	}
	if n, ok := p.Stream(buf); n != 600 || !ok {
		t.Error("the device's stream must not end", n, ok)
	}
}

func TestCapture(t *testing.T) {
	c := &Capture{SampleRate: fs48}
	if c.Run(10) != 0 {
		t.Error("ran without a source")
	}
	pull := NewPull(&gen{n: -1, f: func(i int) (float64, float64) { return float64(i), 0 }}, fs48, 256)
	if err := c.Start(pull); err != nil {
		t.Fatal(err)
	}
	if c.Run(5000) != 5000 {
		t.Error("short")
	}
	x := c.Samples()
	if len(x) != 5000 || x[4999][0] == 0 {
		t.Error(len(x), x[len(x)-1])
	}
	c.Close()
	if c.Run(1) != 0 || c.Start(pull) == nil {
		t.Error("runs after Close")
	}
	var _ Output = Null{}
	if (Null{fs48}).Rate() != fs48 {
		t.Error("rate")
	}
}

// TestPlaybackRace: one puller, one tick, one who gives orders.
func TestPlaybackRace(t *testing.T) {
	p, _ := tonePlayer(t, 2, 3)
	m := newMonitor(t, p, DefaultMonitor())
	pull := NewPull(m, fs48, 512)
	stop := make(chan struct{})
	var wg sync.WaitGroup
	wg.Add(2)
	go func() {
		defer wg.Done()
		buf := make([][2]float64, 512)
		for {
			select {
			case <-stop:
				return
			default:
				pull.Stream(buf)
			}
		}
	}()
	go func() {
		defer wg.Done()
		for {
			select {
			case <-stop:
				return
			default:
				pull.Tick(100)
			}
		}
	}()
	set := p.order.Load().set
	for i := range 3000 {
		p.Play()
		p.Select(i % 3)
		p.SeekTo(int64(i * 10))
		p.SetGain(i%3, float64(-i%20))
		p.SetLoop(int64(i), int64(i+9000))
		if i%100 == 0 {
			p.Load(set.tracks[:3]...)
		}
		_ = p.Position() + int64(p.Ended())
		_ = p.Playing()
		m.Set(MonitorSettings{TrimDB: float64(-i % 40), CeilingDBFS: -10, Mute: i%7 == 0})
		m.Readings()
		pull.Stats()
		pull.Running()
	}
	close(stop)
	wg.Wait()
}

func BenchmarkMonitor(b *testing.B) {
	x := sine(200, fs48, fs48)
	m := newMonitor(b, &gen{n: -1, f: func(i int) (float64, float64) { v := x[i%fs48]; return v, v }}, MonitorSettings{TrimDB: 0, CeilingDBFS: -10})
	buf := make([][2]float64, 512)
	for b.Loop() {
		m.Stream(buf)
	}
	b.ReportMetric(float64(b.N)*512/fs48/b.Elapsed().Seconds(), "x_realtime")
}

func BenchmarkPlayer(b *testing.B) {
	p, _ := tonePlayer(b, 2, 3)
	p.SetLoop(0, 2*fs48)
	p.Play()
	buf := make([][2]float64, 512)
	for b.Loop() {
		p.Stream(buf)
	}
	b.ReportMetric(float64(b.N)*512/fs48/b.Elapsed().Seconds(), "x_realtime")
}
