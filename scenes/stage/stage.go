package stage

import (
	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/take"
	"gainwright/scenes/bench"
	"gainwright/scenes/gain"
	"gainwright/scenes/kit"
	"gainwright/sim"
	"gainwright/sounds/voice"
)

// Stage lends the bench to a lesson or to practice, and gives it back as it was.
// A take is performed on it as it happens, for everybody to see and hear, and what it
// reads is what counts: it is the take, to the last bit, that package lessons/take makes
// of the same settings and changes.
type Stage struct {
	shell kit.Shell
	g     *gain.Scene
	loan  *bench.Loan // while the bench is borrowed
	Visit int         // counts how often the bench was borrowed

	// The take that is performed.
	Speech *take.Speech
	Now    *bench.Take
	marks  int // of speech.Marks, how many have come
	words  []string
	last   *bench.Take // the last one that was performed
	rev    uint64      // of the bench's settings, as last noted
	noted  []noted
}

// noted is a change made while the take rolls, which holds with the bench's settings
// of that count; 0 is a change of what is not on the bench.
type noted struct {
	rev    uint64
	change model.Change
}

// NewStage is ready to borrow the bench behind g.
func NewStage(p kit.Shell, g *gain.Scene) *Stage { return &Stage{shell: p, g: g} }

// Lent reports whether the bench is borrowed.
func (st *Stage) Lent() bool { return st.loan != nil }

// Enter borrows the bench.
func (st *Stage) Enter() {
	if st.Lent() {
		return
	}
	st.Visit++
	st.g.Lend()
	st.loan = st.shell.Bench().Lend()
	st.g.MarkAnnounced()
}

// Leave gives the bench back.
func (st *Stage) Leave() {
	if !st.Lent() {
		return
	}
	st.shell.Bench().Return(st.loan)
	st.g.MarkAnnounced()
	st.g.Restore()
	st.Now, st.last, st.Speech, st.loan = nil, nil, nil, nil
	st.noted = nil
	st.shell.Relayout()
}

// Show makes a finished take, or none, the one that can be played.
func (st *Stage) Show(t *bench.Take) {
	st.shell.Bench().Show(t)
	st.g.MarkAnnounced()
}

// Put puts settings on the strips and a talker before them.
func (st *Stage) Put(chains []sim.Chain, talker string) error {
	s := st.shell.Bench()
	next := bench.Setup{N: min(len(chains), bench.MaxStrips), Talker: talker}
	if st.loan != nil {
		next.Seed = st.loan.Seed()
	}
	for i := range next.Chain {
		next.Chain[i] = chains[min(i, len(chains)-1)]
	}
	if s.File() != nil {
		if err := s.SetTalker(talker); err != nil {
			return err
		}
	}
	if s.N() != next.N {
		st.shell.Relayout()
	}
	if t, err := voice.Find(talker); err == nil {
		st.g.Say("Sound check: " + t.Title + " talks.")
	}
	return s.SetSetup(next)
}

// Perform starts a take of what is spoken.
func (st *Stage) Perform(sp *take.Speech) error {
	s := st.shell.Bench()
	if err := s.Perform(sp.X, sp.Moves, sp.Seed); err != nil {
		return err
	}
	st.Speech, st.Now, st.marks, st.noted = sp, s.Take(), 0, nil
	st.last, st.rev = st.Now, s.Turns()
	st.words = Moments(sp.Marks, sp.Moves, s.Chain(0).DistanceM)
	return nil
}

// Abort gives up the take that rolls.
func (st *Stage) Abort() {
	st.shell.Bench().Stop()
	st.Now = nil
}

// Rolling reports whether a take is being performed.
func (st *Stage) Rolling() bool {
	return st.Now != nil && st.shell.Bench().Mode() == bench.ModeRecord
}

// Note remembers a change that the bench was just told of while the take rolls.
func (st *Stage) Note(key string, v any) {
	n := noted{change: model.Change{AtS: st.last.Seconds(), Key: key, Value: v}}
	if rev := st.shell.Bench().Turns(); rev != st.rev {
		n.rev, st.rev = rev, rev
	}
	st.noted = append(st.noted, n)
}

// Changes are those made while the last take rolled, at the moments at which they took
// hold. One that came too late for that is none of a take performed to its end; one that
// was broken off would have gone on with it.
func (st *Stage) Changes() []model.Change {
	var out []model.Change
	for _, n := range st.noted {
		c := n.change
		if n.rev > 0 {
			if f, ok := st.last.TurnedAt(n.rev); ok {
				c.AtS = float64(f) / bench.Rate
			} else if st.whole() {
				continue
			}
		}
		if n := len(out); n > 0 {
			c.AtS = max(c.AtS, out[n-1].AtS) // what is recorded lags a little behind what is performed
		}
		out = append(out, c)
	}
	return out
}

func (st *Stage) whole() bool { return st.last.Frames() >= int64(len(st.Speech.X)) }

// Readings are what the last take read, strip by strip, if it was performed to its end;
// ok is false else.
func (st *Stage) Readings() (out []names.Measured, overs [][]sim.Span, ok bool) {
	t := st.last
	if t == nil || !t.Done || !st.whole() {
		return nil, nil, false
	}
	for i := range t.N {
		out, overs = append(out, names.Measure(t.Readings[i])), append(overs, t.Overs[i])
	}
	return out, overs, true
}

// Update marks what has happened, and reports once that the take
// has ended; whole tells whether it was performed to its end.
func (st *Stage) Update() (ended, whole bool) {
	t := st.Now
	if t == nil {
		return false, false
	}
	s := st.shell.Bench()
	if s.Mode() == bench.ModeRecord {
		for m := st.Speech.Marks; st.marks < len(m) && m[st.marks].StartS <= t.Seconds(); st.marks++ {
			if w := st.words[st.marks]; w != "" {
				t.Mark(m[st.marks].StartS, w)
			}
		}
		return false, false
	}
	if !t.Done {
		return false, false
	}
	st.Now = nil
	return true, st.whole()
}

// Moments names what happened, where it is more than talk; "" elsewhere. The mouth
// begins at base metres.
func Moments(marks []voice.Mark, moves []sim.Move, base float64) []string {
	out := make([]string, len(marks))
	leans := 0
	for i, m := range marks {
		switch m.Kind {
		case "laugh", "cough", "clap", "shout", "pop", "chair":
			out[i] = m.Kind
		case "lean":
			out[i] = "leans"
			if leans < len(moves) {
				out[i] = "leans in"
				if moves[leans].DistanceM > base {
					out[i] = "leans back"
				}
				base = moves[leans].DistanceM
				leans++
			}
		}
	}
	return out
}
