package gain

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"fmt"

	"gainwright/scenes/bench"
	"gainwright/scenes/kit"
	"gainwright/sim"
	"gainwright/sounds/codec"
)

// encoding is how a strip's file is written.
func encoding(f sim.Format) codec.Encoding {
	switch f {
	case sim.PCM16:
		return codec.PCM16
	case sim.Float32:
		return codec.Float32
	}
	return codec.PCM24
}

// save hands out the last take as one archive: both files as recorded, what was
// spoken through strip B's gains without noise or ceilings, the readings, and the
// picture on screen.
func (g *Scene) save() error {
	t := g.Bench.Take()
	if t == nil || !t.Done {
		return kit.ErrNoTake
	}
	var buf bytes.Buffer
	z := zip.NewWriter(&buf)
	add := func(name string, method uint16, data []byte, err error) error {
		if err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		w, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: method})
		if err != nil {
			return err
		}
		_, err = w.Write(data)
		return err
	}
	wide := make([]float64, len(t.Spoken))
	wav := func(x []float32, gain float64, enc codec.Encoding) ([]byte, error) {
		for i, v := range x {
			wide[i] = float64(v) * gain
		}
		return codec.WAVBytes(bench.Rate, [][]float64{wide}, enc)
	}
	for i, n := range bench.StripNames[:t.N] {
		b, err := wav(t.File[i], 1, encoding(t.End[i].File.Format))
		if err := add(n+".wav", zip.Store, b, err); err != nil {
			return err
		}
	}
	b, err := wav(t.Spoken, sim.ToFullScale(t.End[1])[sim.AtTalker], codec.Float32)
	if err := add("as-spoken.wav", zip.Store, b, err); err != nil {
		return err
	}
	readings, settings := map[string]sim.Readings{}, map[string]sim.Chain{}
	for i, n := range bench.StripNames[:t.N] {
		readings[n], settings[n] = t.Readings[i], t.End[i]
	}
	b, err = json.MarshalIndent(map[string]any{"strips": readings, "settings": settings}, "", "  ")
	if err := add("readings.json", zip.Deflate, b, err); err != nil {
		return err
	}
	b, err = g.shell.Picture()
	if err := add("picture.png", zip.Store, b, err); err != nil {
		return err
	}
	if err := z.Close(); err != nil {
		return err
	}
	g.shell.Save(fmt.Sprintf("gainwright-take-%d.zip", t.Number), buf.Bytes())
	return nil
}
