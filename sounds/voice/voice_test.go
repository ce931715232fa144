package voice

import (
	"context"
	"math"
	"testing"
)

func say(t testing.TB, talker, text string, e Effort) []float64 {
	t.Helper()
	p, err := New(Script{{Do: "say", Text: text, Effort: e}}, talker, 1)
	if err != nil {
		t.Fatal(err)
	}
	x, err := p.Render(context.Background(), nil)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

func TestSaySomething(t *testing.T) {
	for _, tk := range Talkers() {
		x := say(t, tk.Name, "The old ferry ran from six in the morning until dark.", Normal)
		s, pk := 0.0, 0.0
		for _, v := range x {
			if math.IsNaN(v) {
				t.Fatal("NaN")
			}
			s += v * v
			pk = max(pk, math.Abs(v))
		}
		t.Logf("%s: %.2f s, rms %.1f dB, peak %.1f dB", tk.Name, float64(len(x))/Rate,
			20*math.Log10(math.Sqrt(s/float64(len(x)))/20e-6), 20*math.Log10(pk/20e-6))
	}
}

func BenchmarkRead(b *testing.B) {
	l, _ := NewLive("joss", 1)
	buf := make([]float64, 4800)
	b.ResetTimer()
	for b.Loop() {
		l.Read(buf)
	}
	b.ReportMetric(0.1*float64(b.N)/b.Elapsed().Seconds(), "x-realtime")
}
