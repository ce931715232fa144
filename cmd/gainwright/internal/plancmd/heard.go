package plancmd

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/picture"
	"gainwright/sim/plan"
	"gainwright/sim/plan/hear"
	"gainwright/sounds"
	"gainwright/sounds/scenario"
)

// heard is what a sound check read on a meter, in dBFS, at a gain.
type heard struct {
	talk, gain   float64
	laughs       []float64
	asked        []float64 // on request
	file         string    // where it was found; "" if it was told
	found        []found
	levels       []float64 // of its utterances, dBFS
	hasGain, any bool
}

// parse reads --heard: talk=DBFS,laugh=DBFS[,asked=DBFS][,gain=DB]; laughs may repeat.
func (h *heard) parse(s string) error {
	talked := false
	for _, part := range strings.Split(s, ",") {
		key, text, ok := strings.Cut(strings.TrimSpace(part), "=")
		v, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(text), "−", "-", 1), 64)
		if !ok || err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			return cli.Usagef("--heard: want talk=DBFS,laugh=DBFS[,gain=DB], not %q", part)
		}
		lo, hi := -90.0, 0.0
		if key == "gain" {
			lo, hi = -20, 80
		}
		if v < lo || v > hi {
			return cli.Usagef("--heard: %s=%s is out of range: %g to %g", key, text, lo, hi)
		}
		switch key {
		case "talk":
			h.talk, talked = v, true
		case "laugh":
			h.laughs = append(h.laughs, v)
		case "asked":
			h.asked = append(h.asked, v)
		case "gain":
			h.gain, h.hasGain = v, true
		default:
			return cli.Usagef("--heard: there is no %q: there are talk, laugh, asked and gain", key)
		}
	}
	if !talked {
		return cli.Usagef("--heard: talk is missing: the highest peak that the meter held in a minute of talk, as in talk=-22")
	}
	h.any = true
	return nil
}

// tell writes what was heard into a set-up, which is prepared but for that.
func (h *heard) tell(s *plan.Setup) {
	mean := func(v []float64) float64 {
		sum := 0.0
		for _, x := range v {
			sum += s.AtMouth(h.gain, x)
		}
		return sum / float64(max(len(v), 1))
	}
	s.Check = plan.Heard{HeldDB: s.AtMouth(h.gain, h.talk), Laughs: len(h.laughs), Asked: len(h.asked)}
	if len(h.levels) > 0 {
		s.Check.Utterances, s.Check.LevelDB = len(h.levels), mean(h.levels)
	}
	if len(h.laughs) > 0 {
		s.Check.LaughPeakDB = mean(h.laughs)
	}
	if len(h.asked) > 0 {
		s.Check.AskedPeakDB = mean(h.asked)
	}
}

// clipped is at or beyond what a check can still tell.
const clipped = -0.1

// words says what was heard, and what it leaves open.
func (h *heard) words() []string {
	var out []string
	what := fmt.Sprintf("In the sound check the meter held %s of talk at %s of gain", picture.DB(h.talk, "dBFS"), picture.DB(h.gain, "dB"))
	n := len(h.laughs) + len(h.asked)
	if n > 0 {
		var all []string
		for _, v := range append(append([]float64(nil), h.laughs...), h.asked...) {
			all = append(all, plain(v))
		}
		what += fmt.Sprintf(" and %s of %s dBFS", cli.Counted(n, "laugh", "laughs"), strings.Join(all, ", "))
	}
	if n := len(h.levels); n > 0 {
		what += fmt.Sprintf(", found in %s", cli.Counted(n, "utterance", "utterances"))
	}
	out = append(out, what+".")
	if n == 0 {
		out = append(out, "What is missing is a laugh: how loud this guest laughs is what the setting rests on most. Ask for the best joke they know, and look what the peak of the laugh reads.")
	}
	for _, v := range append([]float64{h.talk}, append(append([]float64(nil), h.laughs...), h.asked...)...) {
		if v >= clipped {
			out = append(out, "Something reached full scale in the check: it was at least that loud. Turn down by 10 dB and check again.")
			break
		}
	}
	return out
}

// ifRows is the table of what to set if the laugh reads so much.
func (p *planned) ifRows() [][]string {
	rows := [][]string{{"if the laugh reads", "set the gain to", "and talk holds"}}
	for _, x := range p.ifs {
		rows = append(rows, []string{whole(x.ReadsDBFS, "dBFS"), p.gainText(x.GainDB, ""), whole(x.HeldDBFS, "dBFS")})
	}
	return rows
}

// ifLaughs asks the planner for the table, at the gain of the check or, before one, at
// the gain advised.
func (p *planned) ifLaughs(ctx context.Context, rerun plan.Rerun) (err error) {
	gain, talk := p.heard.gain, p.heard.talk
	if !p.heard.any {
		if p.suggest == nil || p.advice.PadDB != 0 || p.advice.NoKnob {
			return nil
		}
		gain, talk = p.suggest.GainDB, p.suggest.HeldPeakDBFS
	}
	p.ifs, err = p.setup.IfLaughs(ctx, gain, talk, rerun)
	return err
}

// found is a stretch of a check that counted.
type found struct {
	What string `json:"what"` // "laugh" or "utterance"
	hear.Part
}

// hear reads what the flags tell of a sound check.
func (p *planFlags) hear(ctx context.Context, st *scenario.Strip) (*heard, error) {
	h := &heard{gain: st.Chain.Preamp.GainDB}
	switch {
	case p.marks != "" && p.check == "":
		return nil, cli.Usagef("--marks: there is no recording: give it with --check")
	case p.check != "" && p.heard != "":
		return nil, cli.Usagef("--check, --heard: one or the other")
	case p.heard != "":
		return h, h.parse(p.heard)
	case p.check == "":
		return h, nil
	}
	r, err := sounds.OpenContext(ctx, p.check)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	chs, err := r.ReadAll()
	if err != nil {
		return nil, err
	}
	x := chs[0]
	h.file, h.any = p.check, true
	var f hear.Found
	if p.marks != "" {
		f, err = marked(p.marks, x, r.Info().Rate)
	} else {
		f, err = hear.Check(x, r.Info().Rate)
	}
	if err != nil {
		if errors.Is(err, hear.ErrNoTalk) {
			return nil, cli.Usagef("--check: %s: %v; --marks talk=FROM-TO tells where it is", sounds.Shown(p.check), err)
		}
		return nil, err
	}
	h.talk = math.Inf(-1)
	for _, u := range f.Talk {
		h.found = append(h.found, found{"utterance", u})
		h.levels = append(h.levels, u.LevelDBFS)
		h.talk = max(h.talk, u.PeakDBFS)
	}
	for _, l := range f.Laughs {
		h.found = append(h.found, found{"laugh", l})
		h.laughs = append(h.laughs, l.PeakDBFS)
	}
	return h, nil
}

// marked reads --marks: talk=FROM-TO,laugh=FROM-TO, in seconds; each may repeat. What
// is marked as talk is cut into utterances.
func marked(s string, x []float64, rate int) (hear.Found, error) {
	var f hear.Found
	for _, part := range strings.Split(s, ",") {
		key, span, _ := strings.Cut(strings.TrimSpace(part), "=")
		a, b, ok := strings.Cut(span, "-")
		from, err1 := strconv.ParseFloat(a, 64)
		to, err2 := strconv.ParseFloat(b, 64)
		seconds := float64(len(x)) / float64(rate)
		if !ok || err1 != nil || err2 != nil || !(from >= 0 && from < to) || key != "talk" && key != "laugh" {
			return f, cli.Usagef("--marks: want talk=FROM-TO or laugh=FROM-TO in seconds, not %q", part)
		}
		if to > seconds {
			return f, cli.Usagef("--marks: %s: the recording ends at %.1f s", part, seconds)
		}
		if key == "laugh" {
			f.Laughs = append(f.Laughs, hear.Measure(x, rate, from, to))
			continue
		}
		talk, err := hear.Check(x[int(from*float64(rate)):int(to*float64(rate))], rate)
		if err != nil {
			return f, err
		}
		for _, u := range talk.Talk {
			u.FromS, u.ToS = u.FromS+from, u.ToS+from
			f.Talk = append(f.Talk, u)
		}
	}
	if len(f.Talk) == 0 {
		return f, hear.ErrNoTalk
	}
	return f, nil
}

// ifGain is the gain that the table of laughs is for.
func (p *planned) ifGain() float64 {
	if p.heard.any {
		return p.heard.gain
	}
	return p.suggest.GainDB
}
