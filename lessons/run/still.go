package run

import (
	"context"

	"gainwright/lessons/model"
	"gainwright/lessons/take"
)

// Still makes what the picture of the present step shows, by running its take once more;
// nil where the step has none, or none yet. A step that records shows its own take, and
// before it the bench as it stands; any other the last take.
func (r *Runner) Still(ctx context.Context) (*take.Still, error) {
	bare, id := r.Standing()
	if id == "" {
		return bare, nil
	}
	return r.bench.Still(ctx, r.performed(r.l.Step(id), r.chains[id], r.takeOf(id).Changes), r.step().Show.Strip)
}

// Standing is what the picture of the present step shows where no take has to be run for
// it, or the step whose take has.
func (r *Runner) Standing() (bare *take.Still, id string) {
	s := r.step()
	if s == nil || s.Show.What == "" {
		return nil, ""
	}
	id = r.lastTake()
	if s.IsTake() && id != s.ID {
		id = ""
	}
	if st := r.s.Strip(s.Show.Strip); id == "" && s.Show.What == model.Diagram && st != nil {
		bare = take.Bare(*st)
	}
	return bare, id
}
