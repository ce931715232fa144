package run

import (
	"context"
	"errors"
	"math"

	"gainwright/lessons/model"
	"gainwright/lessons/take"
)

// Sounds gives what a listen step compares, each with the gain to play it at and
// a caution where one is due. The last take is used.
func (r *Runner) Sounds(ctx context.Context) ([]*take.Wave, error) {
	s := r.step()
	if s == nil || s.Kind != model.Listen {
		return nil, errors.New("there is nothing to listen to in this step")
	}
	return r.sounds(ctx, r.lastTake(), s.Strips, s.Matched)
}

// TakeSounds gives all strips of the present step's last take.
func (r *Runner) TakeSounds(ctx context.Context) ([]*take.Wave, error) {
	s := r.step()
	if s == nil || !s.IsTake() || r.here().Take == nil {
		return nil, errors.New("nothing has been recorded yet")
	}
	return r.sounds(ctx, s.ID, r.l.Strips(), false)
}

func (r *Runner) sounds(ctx context.Context, id string, strips []string, matched bool) ([]*take.Wave, error) {
	st, t := r.l.Step(id), r.takeOf(id)
	if st == nil || t == nil {
		return nil, errors.New("nothing has been recorded yet")
	}
	p := r.performed(st, r.chains[id], t.Changes)
	var out []*take.Wave
	loud := make([]float64, len(strips))
	quietest := math.Inf(1)
	for i, n := range strips {
		w, err := r.bench.Listen(ctx, p, n)
		if err != nil {
			return nil, err
		}
		if n == model.Spoken {
			if loud[i], err = take.Loudness(w); err != nil {
				return nil, err
			}
		} else {
			loud[i] = float64(w.Measured["loudness_lufs"])
			w.Caution = take.Caution(n, w.Measured)
		}
		if !math.IsNaN(loud[i]) && !math.IsInf(loud[i], 0) {
			quietest = min(quietest, loud[i])
		}
		out = append(out, w)
	}
	for i, w := range out {
		switch {
		case math.IsNaN(loud[i]) || math.IsInf(loud[i], 0):
		case matched:
			w.GainDB = take.MatchLUFS - loud[i]
		case w.Name == model.Spoken:
			// Pascal has no place on a scale of levels: beside the quietest strip.
			if !math.IsInf(quietest, 0) {
				w.GainDB = quietest - loud[i]
			}
		}
	}
	take.Trim(out)
	return out, nil
}
