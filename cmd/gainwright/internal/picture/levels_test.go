package picture

import (
	"bytes"
	"fmt"
	"image/png"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gainwright/scenes/ink"
	"gainwright/scenes/scenetest"
	"gainwright/sim"
	"gainwright/sim/simtest"

	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/recorder"
)

func empty(c sim.Chain) *Sheet { return &Sheet{Strip: "A", Chain: c, Gather: NewGather(48000)} }

// The figures of a level diagram are those of a calculation by hand: 1 Pa is
// 94.0 dB SPL; 10 mV/Pa makes of it 10 mV, −40 dBV, which is −37.8 dBu (0 dBu is
// 0.7746 V, IEC 60268-17); 40 dB make 2.2 dBu, and where +10 dBu is full scale that
// reads −7.8 dBFS. Where the room is silent, 200 Ω at 20 °C have √(4kTRB) of noise,
// 0.2545 µV over 20 kHz, −129.7 dBu (Johnson, Physical Review 32, 97, 1928).
func TestLevelsByHand(t *testing.T) {
	c := sim.Default()
	c.DistanceM, c.Room.NoiseDBA = 1, -60
	c.Microphone.SensitivityMVPerPa, c.Microphone.MaxSPLDB = 10, 134
	c.Preamp.GainDB, c.Preamp.RailDBu, c.Converter.FullScaleDBu = 40, 18.5, 10
	c.Limiter.On, c.Limiter.ThresholdDBFS = true, -1.5
	s := empty(c)
	for st, rms := range [sim.NumStations]float64{1, 1, 0.01, 1, 1, 0.40745, 0.40745, 0.40745} {
		peak := rms * math.Sqrt2
		if st >= int(sim.AtConverter) {
			peak = rms // full scale is a peak: −7.8 dBFS
		}
		s.Levels[st] = sim.StationLevel{Peak: peak, RMS: peak / math.Sqrt2, Wanted: peak}
	}
	s.Gather.best = 0.40745
	var b bytes.Buffer
	if err := Draw(&b, s, SVG); err != nil {
		t.Fatal(err)
	}
	page := b.String()
	at := strings.Index(page, "Levels along the chain</title>")
	if at < 0 {
		t.Fatal("the page holds no diagram")
	}
	for _, want := range []string{">94.0 dB SPL<", ">−37.8 dBu<", ">2.2 dBu<", ">−7.8 dBFS<", ">7.8 dB left<", "overload", ">134 dB SPL<", "rail", ">+18.5 dBu<", "threshold", ">−1.5 dBFS<", ">lost for good<", ">peak<", ">noise<", ">−129.7 dBu<"} {
		if !strings.Contains(page[at:], want) {
			t.Errorf("the diagram does not say %q", want)
		}
	}
}

// What was lost is hatched and named: 12 dB over the converter's ceiling.
func TestLevelsLost(t *testing.T) {
	c := sim.Default()
	s := empty(c)
	for st := range s.Levels {
		k := sim.ToFullScale(c)[st]
		s.Levels[st].Peak = 4 / k // +12.04 dBFS
		if st >= int(sim.AtConverter) {
			s.Levels[st].Peak = 1
		}
	}
	s.Levels[sim.AtConverter].Wanted, s.Gather.best = 4, 4
	for _, format := range []string{PNG, SVG} {
		var b bytes.Buffer
		if err := Draw(&b, s, format); err != nil {
			t.Fatal(err)
		}
		if format == SVG {
			if page := b.String(); !strings.Contains(page, "12.0 dB over") || !strings.Contains(page, "lost for good</text>") || !strings.Contains(page, "flat tops stay") {
				t.Error("what was lost is not said")
			}
			continue
		}
		m, err := png.Decode(&b)
		if err != nil {
			t.Fatal(err)
		}
		// The hatching of the diagram is in the lower right quarter, and nowhere else in
		// this take, which is empty.
		inside, outside := 0, 0
		for y := range m.Bounds().Dy() {
			for x := range m.Bounds().Dx() {
				if r, g, b, _ := m.At(x, y).RGBA(); r>>8 == 213 && g>>8 == 94 && b>>8 == 0 {
					if x > m.Bounds().Dx()*2/5 && y > m.Bounds().Dy()/2 {
						inside++
					} else {
						outside++
					}
				}
			}
		}
		if inside < 200 || outside > 0 {
			t.Errorf("%d pixels of what was lost inside the diagram, %d outside", inside, outside)
		}
	}
}

// Whatever the chain, no words of the diagram lie on others, are cut short or leave
// the page.
func TestLevelsLieFree(t *testing.T) {
	rnd := rand.New(rand.NewPCG(7, 11))
	for n := range 300 {
		c, err := simtest.Random(rnd)
		if err != nil {
			t.Fatal(err)
		}
		s := empty(c)
		k := sim.ToFullScale(c)
		level := sim.DB(rnd.Float64()*90 - 60).Lin()
		for st := range s.Levels {
			s.Levels[st] = sim.StationLevel{Peak: level / k[st], RMS: level / k[st] / 4}
			if ceil := sim.Ceilings(c)[st]; s.Levels[st].Peak > ceil {
				s.Levels[st].Peak, level = ceil, ceil*k[st]
			}
		}
		s.Levels[sim.AtConverter].Wanted, s.Gather.best = level*1.5, level*1.5
		var in inlay
		canvas := draw.NewCanvas(&recorder.Canvas{}, width, height)
		s.levels(panel(canvas, 400, 30, 910, 300), &in)
		scenetest.CheckTexts(t, fmt.Sprintf("chain %d", n), &in.list, ink.Point{X: float32(width / pointsPerDP), Y: float32(height / pointsPerDP)}, ink.Rect{})
		if t.Failed() {
			t.Fatalf("%+v", c)
		}
	}
}
