package window

import (
	"context"
	"slices"
	"sync"

	"gainwright/sim"
	"gainwright/sim/plan"
)

const (
	// A first answer comes of few sessions, the one that stays of many.
	coarse = 2_000
	fine   = 20_000
	// seed is that of the scene that plans: the same sessions give the same answer.
	seed = 1
	// kept is how many conversations are remembered.
	kept = 24
)

// asked is what an answer depends on: strips with the gain taken out, and what was heard,
// coarsely.
type asked struct {
	n            int
	chain        [4]sim.Chain
	check, takes plan.Heard
}

// answer is what is known of one strip.
type answer struct {
	plan.Ruler
	setup  plan.Setup
	edge   float64
	result *plan.Result
}

// done are conversations simulated so far, of this process: what was heard and where the
// microphone stands come back again and again, the gain has no part in it.
var done struct {
	sync.Mutex
	of []known
}

type known struct {
	c        plan.Conversation
	sessions int
	r        *plan.Result
}

// simulate is plan.InSlices, remembered. The result is the caller's own.
func simulate(ctx context.Context, c plan.Conversation, sessions int) (*plan.Result, error) {
	done.Lock()
	i := slices.IndexFunc(done.of, func(k known) bool { return k.c == c && k.sessions == sessions })
	if i >= 0 {
		r := *done.of[i].r
		done.Unlock()
		return &r, nil
	}
	done.Unlock()
	r, err := plan.InSlices(ctx, c, sessions, seed, nil)
	if err != nil {
		return nil, err
	}
	own := *r
	done.Lock()
	defer done.Unlock()
	if len(done.of) == kept {
		done.of = slices.Delete(done.of, 0, 1)
	}
	done.of = append(done.of, known{c, sessions, r})
	return &own, nil
}

// answers answers for every strip.
func answers(ctx context.Context, a asked, sessions int) (out [4]answer, err error) {
	for i := range a.n {
		if k := slices.Index(a.chain[:i], a.chain[i]); k >= 0 {
			out[i] = out[k]
			continue
		}
		s := plan.Setup{Chain: a.chain[i], Model: plan.Default(), Limits: plan.DefaultLimits(), Check: a.check, Takes: a.takes}
		if err := s.Prepare(ctx); err != nil {
			return out, err
		}
		r, err := simulate(ctx, s.Conversation(), sessions)
		if err != nil {
			return out, err
		}
		out[i] = answer{Ruler: s.Ruler(r), setup: s, result: r}
		out[i].edge = max(0, out[i].HighToDB-out[i].HighDB)
	}
	return out, nil
}
