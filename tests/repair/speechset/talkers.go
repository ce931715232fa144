package speechset

import (
	"errors"
	"fmt"
	"io"
	"math"

	"gainwright/sounds"
	"gainwright/sounds/voice"
)

// Talkers are this project's own voices saying something loud and laughing, the
// first seconds of it, peak 1. They are made of resonators, which prediction
// restores far better than a person's voice: figures for them say little about
// recordings.
func Talkers(seconds float64) []Item {
	var out []Item
	for i, who := range voice.Talkers() {
		out = append(out, Item{Name: who.Name, made: func(rate int) ([]float64, error) {
			s := voice.Ordinary()
			k := len(s) - 1 - 2*i
			p, err := voice.New(voice.Script{
				{Text: s[(k+len(s))%len(s)], Effort: voice.Loud},
				{Do: "laugh", Effort: voice.Loud},
				{Text: s[(k-1+len(s))%len(s)], Effort: voice.Raised},
			}, who.Name, uint64(40+i))
			if err != nil {
				return nil, err
			}
			x := make([]float64, int(seconds*voice.Rate))
			for n := 0; n < len(x); {
				k, err := p.Read(x[n:])
				n += k
				if errors.Is(err, io.EOF) {
					x = x[:n]
					break
				}
				if err != nil {
					return nil, err
				}
			}
			if rate != voice.Rate {
				x = sounds.ResampleAll([][]float64{x}, voice.Rate, rate, sounds.Steep)[0]
			}
			peak := 0.0
			for _, v := range x {
				peak = max(peak, math.Abs(v))
			}
			if peak == 0 {
				return nil, fmt.Errorf("%s: silent", who.Name)
			}
			for i := range x {
				x[i] /= peak
			}
			return x, nil
		}})
	}
	return out
}
