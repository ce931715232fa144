package bench

import (
	"math/rand/v2"
	"reflect"
	"runtime"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"gainwright/sim"
)

// A performance that is given, by a clock of its own while the screen turns the gain and
// looks at everything, is to the last bit what the engine makes of the same changes; and
// afterwards the strips run with what is set.
func TestGivenIsTheEngine(t *testing.T) {
	const seed = 12
	rnd := rand.New(rand.NewPCG(1, 1))
	x := make([]float64, 3*Rate+77)
	for i := range x {
		x[i] = rnd.NormFloat64() * 0.3
	}
	moves := []sim.Move{{AtS: 0.5, OverS: 0.4, DistanceM: 0.05}, {AtS: 2, OverS: 0.2, DistanceM: 0.3}}
	s := newSession(t)
	setGain(t, s, 0, 30)
	s.Run(Rate)
	start := s.Chain(0)
	if err := s.Perform(x, moves, seed); err != nil {
		t.Fatal(err)
	}
	if err := s.Perform(x, moves, seed); err == nil {
		t.Error("a take was begun while one rolls")
	}
	take := s.Take()
	// The clock runs beside the screen, and waits where the next setting is due: however the
	// two are scheduled, each is turned while the take rolls.
	stop, wg := make(chan struct{}), sync.WaitGroup{}
	var due atomic.Int64
	wg.Go(func() {
		buf := make([][2]float64, 700)
		for n := 1; ; n = 1 + n*31%700 {
			select {
			case <-stop:
				return
			default:
			}
			if take.Frames() > due.Load()+Rate/8 {
				runtime.Gosched()
				continue
			}
			s.Stream(buf[:n])
		}
	})
	var gains []float64
	var revs []uint64
	for end := time.Now().Add(time.Minute); s.Mode() == ModeRecord && time.Now().Before(end); time.Sleep(time.Millisecond) {
		s.Tick()
		if s.Mode() == ModeRecord && take.Frames() > int64(len(gains))*Rate/4 {
			gains = append(gains, 30+float64(len(gains)%5))
			setGain(t, s, 0, gains[len(gains)-1])
			revs = append(revs, s.Turns())
			due.Store(int64(len(gains)) * Rate / 4)
		}
		_, _ = s.Running(0), s.View().Strip[0].Overs
	}
	close(stop)
	wg.Wait()
	s.Run(4800)
	if !take.Done || take.Frames() != int64(len(x)) {
		t.Fatalf("%d of %d frames", take.Frames(), len(x))
	}
	strip, err := sim.NewStrip(Rate, start, seed)
	if err != nil {
		t.Fatal(err)
	}
	ro, err := sim.NewReadout(Rate)
	if err != nil {
		t.Fatal(err)
	}
	now, turned := start, 0
	_, err = sim.Run(t.Context(), &sim.Samples{X: x}, []*sim.Strip{strip}, sim.RunOptions{
		Step: sim.StepFrames(Rate, moves),
		Turn: func(frame int64) error {
			for turned < len(revs) {
				if f, ok := take.TurnedAt(revs[turned]); !ok || f > frame {
					break
				}
				now.Preamp.GainDB = gains[turned]
				turned++
			}
			c := now
			c.DistanceM = sim.DistanceAt(moves, now.DistanceM, float64(frame)/Rate)
			return strip.Apply(c)
		},
		Sink: func(_ int, taps *sim.Taps) error { ro.Write(taps); return nil },
	})
	if err != nil {
		t.Fatal(err)
	}
	ro.Settings(now)
	if turned != 12 || take.End[0] != now {
		t.Errorf("%d turns of 12; the take ended with %v dB, want %v", turned, take.End[0].Preamp.GainDB, now.Preamp.GainDB)
	}
	if got, want := take.Readings[0], ro.Readings(); !reflect.DeepEqual(got, want) {
		t.Errorf("reads\n%+v, the engine\n%+v", got, want)
	}
	if got, want := take.Levels[0], ro.Levels(); got != want {
		t.Errorf("levels\n%+v, the engine's\n%+v", got, want)
	}
	// The clock had the mouth elsewhere than the strips know.
	if got := s.strips[0].Chain(); got != s.Chain(0) || s.Running(0) != got {
		t.Errorf("afterwards the strip runs with %+v, set is %+v", got, s.Chain(0))
	}
}

// Lessons cannot ask for what a take is not.
func TestGivenLength(t *testing.T) {
	s := newSession(t)
	for _, n := range []int{0, maxFrames + 1} {
		if s.Perform(make([]float64, n), nil, 1) == nil || s.Mode() == ModeRecord {
			t.Errorf("%d samples were performed", n)
		}
	}
}

// BenchmarkPerform is the frame in which a take of half a minute begins.
func BenchmarkPerform(b *testing.B) {
	s := newSession(b)
	x := make([]float64, 30*Rate)
	for b.Loop() {
		if err := s.Perform(x, nil, 1); err != nil {
			b.Fatal(err)
		}
		b.StopTimer()
		s.Run(800)
		s.Stop()
		s.Run(800)
		b.StartTimer()
	}
}
