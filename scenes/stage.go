package scenes

import (
	"gainwright/lessons/model"
	"gainwright/lessons/take"
	"gainwright/sim"
	"gainwright/sounds/voice"
)

// stage lends the bench to a lesson or to practice, and gives it back as it was.
// A take is performed on it as it happens, for everybody to see and hear; what
// counts is the same take recorded by package lessons.
type stage struct {
	p     Shell
	g     *gainScene
	loan  *Loan // while the bench is borrowed
	visit int   // counts how often the bench was borrowed

	// The take that is performed.
	speech  *take.Speech
	now     *Take
	marks   int // of speech.Marks, how many have come
	words   []string
	changes []model.Change
}

func newStage(p Shell, g *gainScene) *stage { return &stage{p: p, g: g} }

// lent reports whether the bench is borrowed.
func (st *stage) lent() bool { return st.loan != nil }

// enter borrows the bench.
func (st *stage) enter() {
	if st.lent() {
		return
	}
	st.visit++
	st.g.lend()
	st.loan = st.p.Bench().Lend()
	st.g.told()
}

// leave gives the bench back.
func (st *stage) leave() {
	if !st.lent() {
		return
	}
	st.p.Bench().Return(st.loan)
	st.g.told()
	st.g.restore()
	st.now, st.speech, st.loan = nil, nil, nil
	st.p.Relayout()
}

// show makes a finished take, or none, the one that can be played.
func (st *stage) show(t *Take) {
	st.p.Bench().Show(t)
	st.g.told()
}

// put puts settings on the strips and a talker before them.
func (st *stage) put(chains []sim.Chain, talker string) error {
	s := st.p.Bench()
	next := Setup{N: min(len(chains), MaxStrips), Talker: talker}
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
		st.p.Relayout()
	}
	if t, err := voice.Find(talker); err == nil {
		st.g.say("Sound check: " + t.Title + " talks.")
	}
	return s.SetSetup(next)
}

// perform starts a take of what is spoken.
func (st *stage) perform(sp *take.Speech) error {
	s := st.p.Bench()
	if err := s.Perform(sp.X, sp.Seed); err != nil {
		return err
	}
	st.speech, st.now, st.marks, st.changes = sp, s.Take(), 0, nil
	st.words = moments(sp.Marks, sp.Moves, s.Chain(0).DistanceM)
	return nil
}

// drop gives up the take that rolls.
func (st *stage) drop() {
	st.p.Bench().Stop()
	st.now = nil
}

// rolling reports whether a take is being performed.
func (st *stage) rolling() bool {
	return st.now != nil && st.p.Bench().Mode() == ModeRecord
}

// note remembers a change made while the take rolls.
func (st *stage) note(key string, v any) {
	st.changes = append(st.changes, model.Change{AtS: st.now.Seconds(), Key: key, Value: v})
}

// follow moves the mouth, marks what has happened, and reports once that the take
// has ended; whole tells whether it was performed to its end.
func (st *stage) follow() (ended, whole bool) {
	t := st.now
	if t == nil {
		return false, false
	}
	s := st.p.Bench()
	if s.Mode() == ModeRecord {
		if len(st.speech.Moves) > 0 {
			s.Lean(st.speech.Moves, t.Seconds())
		}
		for m := st.speech.Marks; st.marks < len(m) && m[st.marks].StartS <= t.Seconds(); st.marks++ {
			if w := st.words[st.marks]; w != "" {
				t.mark(m[st.marks].StartS, w)
			}
		}
		return false, false
	}
	if !t.Done {
		return false, false
	}
	st.now = nil
	s.Settle()
	return true, t.Frames() >= int64(len(st.speech.X))
}

// moments names what happened, where it is more than talk; "" elsewhere. The mouth
// begins at base metres.
func moments(marks []voice.Mark, moves []sim.Move, base float64) []string {
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
