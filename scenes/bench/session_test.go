package bench

import (
	"math"
	"sync"
	"testing"
	"time"

	"gainwright/sim"
)

func newSession(t testing.TB) *Session {
	t.Helper()
	s, err := NewSession("captain", 7)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func setGain(t testing.TB, s *Session, strip int, db float64) {
	t.Helper()
	c := s.Chain(strip)
	c.Preamp.GainDB = db
	if err := s.SetChain(strip, c); err != nil {
		t.Fatal(err)
	}
}

func record(t testing.TB, s *Session, again bool, seconds float64) *Take {
	t.Helper()
	if err := s.Record(again); err != nil {
		t.Fatal(err)
	}
	s.Run(int(seconds * Rate))
	s.Stop()
	s.Run(4800)
	if !s.Take().Done {
		t.Fatal("the take is not finished")
	}
	return s.Take()
}

// TestGainDecides is the job in small: too much gain costs peaks, less does
// not, and a limiter after the converter brings nothing back.
func TestGainDecides(t *testing.T) {
	s := newSession(t)
	setGain(t, s, 0, 56)
	setGain(t, s, 1, 22)
	s.Run(Rate)
	if err := s.Record(false); err != nil {
		t.Fatal(err)
	}
	s.Run(2 * Rate)
	if err := s.Trigger("laugh"); err != nil {
		t.Fatal(err)
	}
	s.Run(4 * Rate)
	s.Stop()
	s.Run(4800)
	tk := s.Take()
	a, b := tk.Readings[0], tk.Readings[1]
	t.Logf("A %+v\nB %+v", a, b)
	if a.Overs == 0 || a.HeadroomDB >= 0 {
		t.Errorf("strip A at 56 dB: %d overs, headroom %.1f dB", a.Overs, float64(a.HeadroomDB))
	}
	if b.Overs != 0 || b.HeadroomDB <= 0 {
		t.Errorf("strip B at 22 dB: %d overs, headroom %.1f dB", b.Overs, float64(b.HeadroomDB))
	}
	if a.SDRDB > 30 || b.SDRDB < a.SDRDB+10 {
		t.Errorf("distance from the truth: A %.1f dB, B %.1f dB", float64(a.SDRDB), float64(b.SDRDB))
	}
	if a.PeakDBFS > -5 { // the limiter's ceiling is −6 dBFS, and its attack passes little
		t.Logf("strip A peaks at %.1f dBFS after its limiter", float64(a.PeakDBFS))
	}
	if len(tk.Marks) != 1 || tk.Marks[0].Text != "laugh" {
		t.Errorf("marks %v", tk.Marks)
	}
	over := false
	for x := 0.0; x < tk.Seconds(); x += 0.1 {
		_, _, o := tk.Outline(0, x, x+0.1)
		over = over || o
	}
	if !over {
		t.Error("the outline shows no over")
	}
	// The strips' delay goes by before the first sample.
	if got, want := tk.Frames(), int64(6*Rate-s.strips[0].Latency()); got != want {
		t.Errorf("take of %d frames, want %d", got, want)
	}
}

// TestSameTwice: the same seed, driven the same way, gives the same samples, and
// equal strips null.
func TestSameTwice(t *testing.T) {
	var files [2][]float32
	for i := range files {
		s := newSession(t)
		if err := s.SetChain(1, s.Chain(0)); err != nil {
			t.Fatal(err)
		}
		s.Run(Rate / 2)
		tk := record(t, s, false, 2)
		files[i] = tk.File[0]
		for k, v := range tk.File[0] {
			if tk.File[1][k] != v {
				t.Fatalf("equal strips differ at frame %d", k)
			}
		}
	}
	if len(files[0]) != len(files[1]) {
		t.Fatal("lengths differ")
	}
	for k := range files[0] {
		if files[0][k] != files[1][k] {
			t.Fatalf("runs differ at frame %d", k)
		}
	}
}

// TestAgain: the performance given again is the same to the sample, and the
// take ends with it.
func TestAgain(t *testing.T) {
	s := newSession(t)
	s.Run(Rate / 2)
	first := record(t, s, false, 2)
	spoken := append([]float32(nil), first.Spoken...)
	setGain(t, s, 0, 20)
	s.Run(Rate)
	second := record(t, s, true, 10)
	if second.Frames() != int64(len(spoken)) {
		t.Fatalf("second take has %d frames, the first %d", second.Frames(), len(spoken))
	}
	for k, v := range second.Spoken {
		if v != spoken[k] {
			t.Fatalf("the performance differs at frame %d", k)
		}
	}
	if s.Mode() != ModeReview {
		t.Fatal("still recording after the performance ended")
	}
	if err := newSession(t).Record(true); err == nil {
		t.Error("recorded again what was never recorded")
	}
}

// TestPlayMatched: A and B are heard equally loud when matched, at their own
// levels when not.
func TestPlayMatched(t *testing.T) {
	s := newSession(t)
	setGain(t, s, 0, 40)
	setGain(t, s, 1, 20)
	c := s.Chain(0).WithPlace(sim.LimiterOff)
	if err := s.SetChain(0, c); err != nil {
		t.Fatal(err)
	}
	record(t, s, false, 4)
	hear := func(l Listen, matched bool) float64 {
		s.SetListen(l)
		s.SetMatched(matched)
		s.Seek(0)
		if err := s.Play(); err != nil {
			t.Fatal(err)
		}
		buf := make([][2]float64, 3*Rate)
		s.Tick()
		s.Stream(buf)
		s.Stop()
		s.Run(4800)
		sum := 0.0
		for _, v := range buf {
			sum += v[0] * v[0]
		}
		return 10 * math.Log10(sum/float64(len(buf)))
	}
	a, b, p := hear(ListenA, true), hear(ListenB, true), hear(ListenSpoken, true)
	if math.Abs(a-b) > 0.5 || math.Abs(b-p) > 0.5 {
		t.Errorf("matched: A %.2f, B %.2f, as spoken %.2f dB", a, b, p)
	}
	if a, b := hear(ListenA, false), hear(ListenB, false); math.Abs(a-b-20) > 0.5 {
		t.Errorf("as is: A %.2f, B %.2f dB, want 20 dB between them", a, b)
	}
}

func TestLeanIn(t *testing.T) {
	s := newSession(t)
	s.Run(2 * Rate)
	far := s.View().Strip[1].RMS[sim.AtMicrophone] / s.View().Strip[1].RMS[sim.AtTalker]
	if err := s.Trigger("lean_in"); err != nil {
		t.Fatal(err)
	}
	s.Run(5 * Rate / 2)
	near := s.View().Strip[1].RMS[sim.AtMicrophone] / s.View().Strip[1].RMS[sim.AtTalker]
	if got := 20 * math.Log10(near/far); got < 6 {
		t.Errorf("leaning in brought %.1f dB", got)
	}
	s.Run(5 * Rate)
	if s.Leaning() || s.strips[0].Chain().DistanceM != s.Chain(0).DistanceM {
		t.Error("the talker has not leaned back")
	}
}

func TestGainChangesAreNoted(t *testing.T) {
	s := newSession(t)
	if err := s.Record(false); err != nil {
		t.Fatal(err)
	}
	s.Run(Rate)
	setGain(t, s, 0, 40)
	setGain(t, s, 0, 33)
	s.Run(Rate)
	s.Stop()
	s.Run(4800)
	tk := s.Take()
	if n := len(tk.Changes); n != 2 || tk.Changes[n-1].GainDB != 33 || tk.Changes[n-1].Strip != 0 {
		t.Fatalf("changes %v", tk.Changes)
	}
	if len(tk.Marks) != 1 || tk.Marks[0].Text != "A 33.0 dB" {
		t.Errorf("marks %v", tk.Marks)
	}
	if got := float64(tk.Readings[0].GainDB); got != 33 {
		t.Errorf("the take ended at %v dB", got)
	}
}

func TestDroppedRecording(t *testing.T) {
	s := newSession(t)
	r := &Recording{Name: "crossing.wav", LevelDB: 74.85, Samples: make([]float32, 2*Rate)}
	for i := range r.Samples {
		r.Samples[i] = float32(0.1 * math.Sin(2*math.Pi*440*float64(i)/Rate))
	}
	if err := s.SetFile(r); err != nil {
		t.Fatal(err)
	}
	s.Run(5 * Rate)
	rms := s.View().Strip[0].RMS[sim.AtTalker]
	if got := float64(sim.Pascal(rms).SPL()); math.Abs(got-74.85) > 0.1 {
		t.Errorf("the recording stands at %.2f dB SPL", got)
	}
	if err := s.Trigger("laugh"); err == nil {
		t.Error("a recording laughed")
	}
	if err := s.SetFile(&Recording{Name: "silence.wav", LevelDB: 70, Samples: make([]float32, 100)}); err == nil {
		t.Error("silence was given a level")
	}
}

// TestTwoGoroutines runs screen and clock at once, for the race detector.
func TestTwoGoroutines(t *testing.T) {
	s := newSession(t)
	stop := make(chan bool)
	var wg sync.WaitGroup
	wg.Add(1)
	go func() {
		defer wg.Done()
		buf := make([][2]float64, 512)
		for {
			select {
			case <-stop:
				return
			default:
				s.Stream(buf)
				time.Sleep(200 * time.Microsecond)
			}
		}
	}()
	steps := []func(){
		func() { setGain(t, s, 0, 50) },
		func() { _ = s.Record(false) },
		func() { _ = s.Trigger("laugh") },
		func() { setGain(t, s, 1, 10) },
		func() { _ = s.Trigger("lean_in") },
		func() { s.Stop() },
		func() { _ = s.Play() },
		func() { s.SetListen(ListenB) },
		func() { s.Seek(0.1) },
		func() { s.Stop() },
		func() { _ = s.Record(true) },
		func() { s.SetMatched(false) },
		func() { s.Stop() },
		func() { s.StartCheck() },
		func() { s.ClearHold() },
	}
	for range 2 {
		for _, f := range steps {
			f()
			for range 12 {
				s.Tick()
				_ = s.View().Strip[0].Readings
				_ = s.Shot().Strip[0].Truth[0]
				if tk := s.Take(); tk != nil {
					tk.Outline(0, 0, 1)
				}
				time.Sleep(time.Millisecond)
			}
		}
	}
	close(stop)
	wg.Wait()
}

func TestStreamAllocatesNothing(t *testing.T) {
	s := newSession(t)
	s.Run(Rate)
	buf := make([][2]float64, 512)
	for _, mode := range []string{"check", "record", "given"} {
		if mode == "given" {
			s.Stop()
			s.Run(Rate)
			// The mouth moves, and settings are turned.
			moves := []sim.Move{{AtS: 0, OverS: 4, DistanceM: 0.05}}
			if err := s.Perform(make([]float64, 4*Rate), moves, 1); err != nil {
				t.Fatal(err)
			}
			s.Run(Rate / 2)
			setGain(t, s, 0, 12)
		}
		if mode == "record" {
			setGain(t, s, 0, 10) // overs grow a list
			setGain(t, s, 1, 10)
			if err := s.Record(false); err != nil {
				t.Fatal(err)
			}
			s.Run(Rate / 2)
		}
		if n := testing.AllocsPerRun(20, func() { s.Stream(buf) }); n != 0 {
			t.Errorf("%s: %v allocations a block", mode, n)
		}
	}
}

func BenchmarkStream(b *testing.B) {
	s := newSession(b)
	buf := make([][2]float64, 512)
	for b.Loop() {
		s.Prepare()
		s.Stream(buf)
	}
	b.ReportMetric(float64(b.N)*512/Rate/b.Elapsed().Seconds(), "×realtime")
}

// TestTakeOutlastsTheScreen: a screen that stands still for ten seconds, as on a machine that is
// busy with something else, does not end the take that is being recorded.
func TestTakeOutlastsTheScreen(t *testing.T) {
	s := newSession(t)
	if err := s.Record(false); err != nil {
		t.Fatal(err)
	}
	buf := make([][2]float64, 480)
	pull := func(seconds int) {
		for range seconds * Rate / len(buf) {
			s.Stream(buf)
		}
	}
	s.Tick()
	pull(10)
	s.Tick()
	pull(1)
	s.Tick()
	if s.Mode() != ModeRecord {
		t.Fatalf("the take has ended after %.1f s", s.Take().Seconds())
	}
	if got := s.Take().Seconds(); got < 10.9 {
		t.Errorf("11 s were performed, the take has %.1f", got)
	}
}
