package lessoncmd

import (
	"context"
	"fmt"
	"time"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/sim/identify"
	"gainwright/sounds"
	"gainwright/sounds/equipment"
	"gainwright/sounds/series"
)

// ownPair is one sound as the student's own recorder has it, limiter off and on.
type ownPair struct{ off, on string }

func (p *ownPair) given() bool { return p.off != "" || p.on != "" }

// learn tells from the pair where the limiter sits and what it does. An error if it does
// not tell the place: then there is nothing to take a lesson on.
func (p *ownPair) learn(ctx context.Context, w *cli.Watch) (*equipment.Recorder, *identify.Limiter, error) {
	if p.off == "" || p.on == "" {
		return nil, nil, cli.Usagef("--off and --on are a pair: the recording with the limiter off, and the one with it on")
	}
	var list []*series.Reading
	for i, path := range []string{p.off, p.on} {
		if path == "-" {
			return nil, nil, cli.Usagef("a pair is read several times: the standard input will not do")
		}
		f := series.Path(path)
		sum, err := series.Hash(ctx, f)
		if err != nil {
			return nil, nil, err
		}
		r, err := series.Read(ctx, f, sum, &series.Told{Step: []identify.Step{identify.Off, identify.On}[i]}, w)
		if err != nil {
			return nil, nil, err
		}
		list = append(list, r)
	}
	var pairs series.Pairs
	f, err := pairs.Sum(ctx, list, series.Anchor{}, w)
	if err != nil {
		return nil, nil, err
	}
	both := sounds.Shown(p.off) + ", " + sounds.Shown(p.on)
	why := ""
	switch l := f.Limiter; {
	case l == nil && len(f.Notes) > 0:
		why = f.Notes[len(f.Notes)-1]
	case l == nil:
		why = "they do not tell of a limiter"
	case l.Place != identify.Before && l.Place != identify.After:
		why = both + ": the lesson wants a limiter on one side of the converter, and here " + l.Why
	default:
		return f.LimiterAlone(time.Now()), l, nil
	}
	return nil, nil, &sounds.InputError{Msg: why}
}

// tellPair says at the end what the pair itself told.
func tellPair(p *ownPair, l *identify.Limiter) string {
	t := series.TellLimiter(l)
	return fmt.Sprintf("Your pair, %s and %s: %s\n%s\n", sounds.Shown(p.off), sounds.Shown(p.on), t.Title, cli.Wrap(t.Why, terminalWidth))
}
