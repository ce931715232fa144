package run

import (
	"context"
	"errors"
	"math"
	"slices"

	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/take"
)

// Sounds gives what a listen step compares, each with the gain to play it at and
// a caution where one is due. The last take is used.
func (r *Runner) Sounds(ctx context.Context) ([]*take.Wave, error) {
	s := r.step()
	if s == nil || !s.Hears() {
		return nil, errors.New("there is nothing to listen to in this step")
	}
	if err := r.Work(ctx); err != nil {
		return nil, err
	}
	return r.sounds(ctx, r.lastTake(), s.Strips, s.Matched)
}

// Owes tells that the present step has something to work out, and has not yet.
func (r *Runner) Owes() bool {
	s := r.step()
	return s != nil && s.Works() && r.here().Mended == nil
}

// Work has done what the present step works out of the last take, treatments, a plan or a
// twin, and keeps what was measured: before that the step cannot be left.
func (r *Runner) Work(ctx context.Context) error {
	if !r.Owes() {
		return nil
	}
	p, err := r.lastPerformed()
	if err != nil {
		return err
	}
	s := r.step()
	var m map[string]names.Measured
	switch s.Kind {
	case model.Mend:
		m, err = r.bench.Mended(ctx, p, s.From, s.Ways)
	case model.Plan:
		m, err = r.bench.Planned(ctx, p, s.From)
	case model.Twin:
		_, m, err = r.bench.Twin(ctx, p, s.From)
	}
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
	if strips, err = slices.Clone(strips), nil; mended != nil && mended[model.Other] == nil {
		strips = slices.DeleteFunc(strips, func(n string) bool { return n == model.Other }) // there is none
	}
	for i, n := range strips {
		w := mended[n]
		if w == nil {
			if w, err = r.bench.Listen(ctx, p, n); err != nil {
				return nil, err
			}
		}
		if w.Measured == nil { // pressure
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
		case w.Measured == nil:
			// Pascal has no place on a scale of levels: beside the quietest strip.
			if !math.IsInf(quietest, 0) {
				w.GainDB = quietest - loud[i]
			}
		}
	}
	take.Trim(out)
	return out, nil
}

// mended makes what the present step treats, by name, or the twin, if it is of such a kind.
func (r *Runner) mended(ctx context.Context, p *take.Performed) (map[string]*take.Wave, error) {
	s := r.step()
	out := map[string]*take.Wave{}
	if s != nil && s.Kind == model.Twin {
		w, _, err := r.bench.Twin(ctx, p, s.From)
		if w != nil {
			out[w.Name] = w
		}
		return out, err
	}
	if s == nil || s.Kind != model.Mend {
		return nil, nil
	}
	waves, err := r.bench.Mend(ctx, p, s.From, s.Ways)
	for _, w := range waves {
		out[w.Name] = w
	}
	return out, err
}
