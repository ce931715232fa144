package lessons

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gainwright/lessons/builtin"
	"gainwright/lessons/format"
	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/practice"
	"gainwright/lessons/run"
	"gainwright/lessons/take"
	live "gainwright/scenes/bench"
	"gainwright/sim"
	"gainwright/sounds/scenario"
)

// A clock gives so many frames at once, and between two of its pulls the screen may
// stand still.
type clock struct {
	name  string
	block func(*rand.Rand) int
	stall func(*rand.Rand) int // pulls without the screen
}

var clocks = []clock{
	{"128 frames", func(*rand.Rand) int { return 128 }, func(*rand.Rand) int { return 6 }},
	{"800 frames", func(*rand.Rand) int { return 800 }, func(*rand.Rand) int { return 1 }},
	{"1 to 5000 frames, stalls of up to 6 s", func(r *rand.Rand) int { return 1 + r.IntN(5000) }, func(r *rand.Rand) int {
		if r.IntN(10) > 0 {
			return 1
		}
		return 1 + r.IntN(120)
	}},
}

// turning is a change that the screen makes when the take has come to a frame.
type turning struct {
	at  int64
	key string // below the strip, or shared
	v   any
}

// perform gives a take live and tells what it read, and what was changed when.
func perform(t testing.TB, k clock, rnd *rand.Rand, sp *take.Speech, strips []scenario.Strip, turns []turning) ([]names.Measured, [][]sim.Span, []model.Change) {
	t.Helper()
	s, err := live.NewSession("captain", 3)
	if err != nil {
		t.Fatal(err)
	}
	set := live.Setup{N: len(strips), Talker: "captain"}
	for i := range set.Chain {
		set.Chain[i] = strips[min(i, len(strips)-1)].Chain
	}
	if err := s.SetSetup(set); err != nil {
		t.Fatal(err)
	}
	// Whatever went on before is none of the take's.
	s.Run(rnd.IntN(9000))
	if err := s.Perform(sp.X, sp.Moves, sp.Seed); err != nil {
		t.Fatal(err)
	}
	tk := s.Take()
	var revs []uint64
	buf := make([][2]float64, 8192)
	for guard := 0; s.Mode() == live.ModeRecord; guard++ {
		if guard > 1<<20 {
			t.Fatal("the take does not end")
		}
		s.Tick()
		for s.Mode() == live.ModeRecord && len(revs) < len(turns) && tk.Frames() >= turns[len(revs)].at {
			put(t, s, turns[len(revs)])
			revs = append(revs, s.Turns())
		}
		for range k.stall(rnd) {
			s.Stream(buf[:k.block(rnd)])
		}
	}
	s.Run(4800)
	if !tk.Done || tk.Frames() != int64(len(sp.X)) {
		t.Fatalf("%s: %d of %d frames, done %v", k.name, tk.Frames(), len(sp.X), tk.Done)
	}
	var changes []model.Change
	for i, rev := range revs {
		if f, ok := tk.TurnedAt(rev); ok {
			changes = append(changes, model.Change{AtS: float64(f) / live.Rate, Key: turns[i].key, Value: turns[i].v})
		}
	}
	var out []names.Measured
	var overs [][]sim.Span
	for i := range strips {
		out, overs = append(out, names.Measure(tk.Readings[i])), append(overs, tk.Overs[i])
	}
	return out, overs, changes
}

func put(t testing.TB, s *live.Session, x turning) {
	t.Helper()
	sc := scenario.New()
	next := s.Setup()
	for i := range next.Chain {
		sc.Strips[0].Chain = next.Chain[i]
		if err := names.Put(sc, sc.Strips[0].Name+"."+x.key, x.v); err != nil {
			t.Fatal(err)
		}
		next.Chain[i] = sc.Strips[0].Chain
	}
	if err := s.SetSetup(next); err != nil {
		t.Fatal(err)
	}
}

func text(t testing.TB, v any) string {
	t.Helper()
	b, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// lessonTakes calls each at every take of a lesson, with the settings that the model
// answers make and the take recorded offline.
func lessonTakes(t *testing.T, name string, seed uint64, each func(step string, sp *take.Speech, strips []scenario.Strip, want map[string]names.Measured)) {
	t.Helper()
	l, answers := withAnswers(t, name)
	r, err := run.NewRunner(l, run.Options{Seed: seed})
	if err != nil {
		t.Fatal(err)
	}
	must := func(err error) {
		if err != nil {
			t.Fatalf("%s, seed %d, step %d: %v", name, seed, r.Progress().At, err)
		}
	}
	for r.State() != run.Finished {
		st := l.Steps[r.Progress().At]
		must(r.Work(t.Context()))
		switch r.State() {
		case run.Answering:
			reply := "1"
			if st.Kind == model.Explain {
				reply = strings.Repeat("Nobody could have known before how loud it would get. ", 3)
			}
			if len(r.View().Choices) > 0 {
				reply = "a"
			}
			for r.State() == run.Answering {
				_, err := r.Answer(reply)
				must(err)
			}
		case run.Recording:
			settings, err := r.Worked(answers.Steps[st.ID].Settings)
			must(err)
			for _, set := range settings {
				must(r.Apply(set.Key, set.Value))
			}
			sp, err := r.Speech(t.Context())
			must(err)
			strips := r.Bench().Strips
			must(r.Record(t.Context(), nil))
			each(st.ID, sp, strips, r.Progress().Steps[r.Progress().At].Take.Readings)
		case run.Listening:
			for len(r.Progress().Steps[r.Progress().At].Answers) < st.Trials {
				_, err := r.Answer(st.Strips[0])
				must(err)
			}
			for r.Asked() {
				_, err := r.Answer("a")
				must(err)
			}
		}
		must(r.Advance())
	}
}

// liveIsOffline performs every take of the lessons live and wants it to read what it
// reads offline, to the last bit.
func liveIsOffline(t *testing.T, lessons []string, seeds []uint64) {
	takes := 0
	for _, name := range lessons {
		for _, seed := range seeds {
			lessonTakes(t, name, seed, func(step string, sp *take.Speech, strips []scenario.Strip, want map[string]names.Measured) {
				strips = strips[:min(len(strips), live.MaxStrips)]
				k := clocks[takes%len(clocks)]
				takes++
				got, _, _ := perform(t, k, rand.New(rand.NewPCG(seed, uint64(takes))), sp, strips, nil)
				for i, st := range strips {
					if g, w := text(t, got[i]), text(t, want[st.Name]); g != w {
						t.Errorf("%s, seed %d, step %s, strip %s, %s: live reads\n%s\noffline\n%s", name, seed, step, st.Name, k.name, g, w)
					}
				}
			})
		}
	}
	t.Logf("%d takes", takes)
}

// guestsTurned lets guests talk to their end live, with hands on gain and limiter, and
// wants the outcome that package lessons has of the same changes.
func guestsTurned(t *testing.T, seeds []uint64) {
	for n, seed := range seeds {
		for _, level := range []int{1, practice.MaxLevel} {
			p, err := practice.New(seed, practice.History{Level: level}, nil)
			if err != nil {
				t.Fatal(err)
			}
			sp, err := p.Speech(t.Context(), true)
			if err != nil {
				t.Fatal(err)
			}
			rnd := rand.New(rand.NewPCG(seed, uint64(level)))
			var turns []turning
			for f := int64(0); f < int64(len(sp.X))+live.Rate; f += rnd.Int64N(2 * live.Rate) {
				if rnd.IntN(3) > 0 {
					turns = append(turns, turning{f, "preamp.gain_db", float64(10 + rnd.IntN(50))})
				} else {
					turns = append(turns, turning{f, "limiter_place", []string{"off", "before", "after"}[rnd.IntN(3)]})
				}
			}
			if n == 0 {
				turns = nil
			}
			k := clocks[n%len(clocks)]
			got, overs, changes := perform(t, k, rnd, sp, p.Bench().Strips, turns)
			q, err := practice.New(seed, practice.History{Level: level}, nil)
			if err != nil {
				t.Fatal(err)
			}
			want, err := q.Talk(t.Context(), changes...)
			if err != nil {
				t.Fatal(err)
			}
			heard, err := p.Talked(t.Context(), got[0], overs[0], changes...)
			if err != nil {
				t.Fatal(err)
			}
			if g, w := text(t, heard), text(t, want); g != w {
				t.Errorf("seed %d, level %d, %d changes, %s: live\n%s\noffline\n%s", seed, level, len(changes), k.name, g, w)
			}
			if !slices.Equal(heard.Overs, want.Overs) {
				t.Errorf("seed %d, level %d: overs at %v live, %v offline", seed, level, heard.Overs, want.Overs)
			}
		}
	}
}

// A few here; every lesson and more seeds with the tag full.
func TestLiveIsOffline(t *testing.T) {
	liveIsOffline(t, []string{"gain-and-headroom", "before-or-after", "whole-session"}, []uint64{5})
}

func TestGuestsLiveAreOffline(t *testing.T) { guestsTurned(t, []uint64{1, 2}) }

// Whatever may be turned in a lesson of one's own, while the mouth moves and while it
// does not: what the take read live it reads offline.
func TestRiddenLiveIsOffline(t *testing.T) {
	for _, name := range []string{"lean-in", "captain-laughs"} {
		s, err := scenario.LoadBuiltin(name)
		if err != nil {
			t.Fatal(err)
		}
		b := take.NewBench()
		p := &take.Performed{Talker: s.Source.Talker, Script: s.Source.Script, Seed: s.Seed, Strips: s.Strips}
		sp, err := b.Speech(t.Context(), p)
		if err != nil {
			t.Fatal(err)
		}
		for i, k := range clocks {
			rnd := rand.New(rand.NewPCG(7, uint64(i)))
			all := []turning{
				{0, "preamp.gain_db", 30.0}, {0, "limiter_place", "after"}, {9000, "limiter.look_ahead_ms", 2.0}, {30000, "limiter_place", "before"},
				{40001, "converter.full_scale_dbu", 12.0}, {60000, "preamp.pad_db", 20.0}, {61000, "room.noise_dba", 50.0},
				{80000, "limiter_place", "off"}, {81000, "limiter_place", "after"}, {100000, "distance_m", 0.3}, {120000, "preamp.gain_db", 55.0},
				{int64(len(sp.X)) - 100, "preamp.gain_db", 20.0},
			}
			got, _, changes := perform(t, k, rnd, sp, s.Strips[:min(len(s.Strips), live.MaxStrips)], all)
			var keyed []model.Change
			for _, c := range changes {
				for _, st := range s.Strips {
					c := c
					c.Key = fmt.Sprintf("%s.%s", st.Name, c.Key)
					keyed = append(keyed, c)
				}
			}
			q := *p
			q.Changes = keyed
			want, err := b.Record(t.Context(), &q, nil)
			if err != nil {
				t.Fatal(err)
			}
			for i := range got {
				if g, w := text(t, got[i]), text(t, want[s.Strips[i].Name]); g != w {
					t.Errorf("%s, %s, strip %d: live reads\n%s\noffline\n%s", name, k.name, i, g, w)
				}
			}
		}
	}
}

// withAnswers loads a built-in lesson and its model answers.
func withAnswers(t *testing.T, name string) (*model.Lesson, *model.Answers) {
	t.Helper()
	l, err := builtin.Load(name)
	if err != nil {
		t.Fatal(err)
	}
	data, err := builtin.ModelAnswers(name)
	if err != nil {
		t.Fatal(err)
	}
	a, err := format.ParseAnswers(name, data, l)
	if err != nil {
		t.Fatal(err)
	}
	return l, a
}
