package gain

import (
	"fmt"

	"gainwright/scenes/bench"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/sim"
	"gainwright/sounds/codec"
)

// Pictures are the panels of the scene.
func (g *Scene) Pictures() []kit.Picture {
	var out []kit.Picture
	add := func(id, title string, box ink.Rect, words string) {
		if box.W > 0 && box.H > 0 {
			out = append(out, kit.Picture{ID: id, Title: title, Box: box, Words: words})
		}
	}
	add("diagram", g.d.Title, g.d.Box, g.d.Words(bench.StripNames[g.Shown]))
	switch g.look {
	case viewWaves:
		add("lower", "The same moment at four places", g.waves, "")
	case viewSpectrum:
		add("lower", "What clipping adds", g.waves, "")
	case viewFile:
		add("lower", "What a recording tells of its past", g.waves, g.file.Result())
	default:
		add("lower", "What became of it", g.waves, g.status)
	}
	return out
}

// FootY is where the transport begins.
func (g *Scene) FootY() float32 { return g.transport.Y }

// saveWAV hands out one track of the take: a strip's file as recorded, or what was
// spoken through strip A's gains, without noise or ceilings.
func (g *Scene) saveWAV(l bench.Listen) error {
	t := g.Bench.Take()
	if t == nil || !t.Done {
		return kit.ErrNoTake
	}
	if l != bench.ListenSpoken && int(l) >= t.N {
		return fmt.Errorf("take %d has no strip %s", t.Number, bench.StripNames[l])
	}
	src, gain, enc, name := t.Spoken, sim.ToFullScale(t.End[0])[sim.AtTalker], codec.Float32, "as-spoken"
	if l != bench.ListenSpoken {
		src, gain, enc, name = t.File[l], 1, encoding(t.End[l].File.Format), bench.StripNames[l]
	}
	wide := make([]float64, len(src))
	for i, v := range src {
		wide[i] = float64(v) * gain
	}
	b, err := codec.WAVBytes(bench.Rate, [][]float64{wide}, enc)
	if err != nil {
		return err
	}
	g.shell.Save(fmt.Sprintf("gainwright-take-%d-%s.wav", t.Number, name), b)
	return nil
}
