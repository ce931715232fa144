package waves

import (
	"math"
	"testing"

	"gainwright/scenes/bench"
	"gainwright/sim"
)

// TestSpectrumOfClippedSine: symmetric clipping adds odd harmonics only, and the
// third has the size that Fourier's integral gives: for a sine cut at sin α of its
// peak, c₃/c₁ in closed form.
func TestSpectrumOfClippedSine(t *testing.T) {
	const bin = 36 // 600 Hz: whole periods in the window
	spoken, file := make([]float64, bench.WindowFrames), make([]float64, bench.WindowFrames)
	cut := 0.5
	for i := range spoken {
		v := math.Sin(2 * math.Pi * bin * float64(i) / bench.WindowFrames)
		spoken[i], file[i] = v, min(max(v, -cut), cut)
	}
	s := NewSpectrum()
	s.compare(spoken, file, sim.Default())
	if !s.Ok {
		t.Fatal("nothing found")
	}
	a := math.Asin(cut)
	c1 := 2 / math.Pi * (a + math.Sin(2*a)/2)
	// b₃ = (4/π)[∫₀^α sin θ sin 3θ dθ + cut ∫_α^{π/2} sin 3θ dθ]
	i1 := math.Sin(2*a)/4 - math.Sin(4*a)/8
	b3 := 4 / math.Pi * (i1 + cut*math.Cos(3*a)/3)
	want := 20 * math.Log10(math.Abs(b3/c1))
	if got := s.file[3*bin] - s.file[bin]; math.Abs(got-want) > 0.05 {
		t.Errorf("third harmonic %.2f dB, want %.2f", got, want)
	}
	if even := s.file[2*bin]; even > -100 {
		t.Errorf("second harmonic %.1f dB", even)
	}
	if s.spoken[3*bin] > -100 {
		t.Errorf("spoken has a third harmonic of %.1f dB", s.spoken[3*bin])
	}
	if math.Abs(s.file[bin]) > 0.1 {
		t.Errorf("the levels are not matched: %.2f dB", s.file[bin])
	}
}
