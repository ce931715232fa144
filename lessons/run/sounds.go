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
	if s == nil || !s.Hears() {
		return nil, errors.New("there is nothing to listen to in this step")
	}
	if err := r.Mend(ctx); err != nil {
		return nil, err
	}
	return r.sounds(ctx, r.lastTake(), s.Strips, s.Matched)
}

// Mend has the treatments of the present step done, if it has any, and keeps what was
// measured: before that the step cannot be left.
func (r *Runner) Mend(ctx context.Context) error {
	s := r.step()
	if s == nil || s.Kind != model.Mend || r.here().Mended != nil {
		return nil
	}
	p, err := r.lastPerformed()
	if err != nil {
		return err
	}
	m, err := r.bench.Mended(ctx, p, s.From, s.Ways)
	if err == nil {
		r.here().Mended = m
	}
	return err
}

// lastPerformed is the last take as it was performed.
func (r *Runner) lastPerformed() (*take.Performed, error) {
	id := r.lastTake()
	st, t := r.l.Step(id), r.takeOf(id)
	if st == nil || t == nil {
		return nil, errors.New("nothing has been recorded yet")
	}
	return r.performed(st, r.chains[id], t.Changes), nil
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
	mended, err := r.mended(ctx, p)
	if err != nil {
		return nil, err
	}
	for i, n := range strips {
		w := mended[n]
		if w == nil {
			if w, err = r.bench.Listen(ctx, p, n); err != nil {
				return nil, err
			}
		}
		if n == model.Spoken {
			if loud[i], err = take.Loudness(w); err != nil {
				return nil, err
			}
		} else {
			loud[i] = float64(w.Measured["loudness_lufs"])
			if w.Caution = take.Caution(n, w.Measured); mended[n] != nil {
				w.Caution = take.Caution(n, t.Readings[r.step().From])
			}
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

// mended makes what the present step treats, by name, if it is one of that kind.
func (r *Runner) mended(ctx context.Context, p *take.Performed) (map[string]*take.Wave, error) {
	s := r.step()
	if s == nil || s.Kind != model.Mend {
		return nil, nil
	}
	waves, err := r.bench.Mend(ctx, p, s.From, s.Ways)
	out := map[string]*take.Wave{}
	for _, w := range waves {
		out[w.Name] = w
	}
	return out, err
}
