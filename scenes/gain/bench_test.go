package gain

import (
	"bytes"
	"errors"
	"fmt"
	"image/png"
	"math"
	"strings"
	"testing"

	"gainwright/scenes/bench"
	"gainwright/scenes/gain/blind"
	"gainwright/scenes/gain/drawer"
	"gainwright/scenes/gain/result"
	"gainwright/scenes/kit"
	"gainwright/scenes/scenetest"
	"gainwright/scenes/ui"
	"gainwright/sim"
	"gainwright/sim/plan"
	"gainwright/sounds"
)

func TestUndo(t *testing.T) {
	b := gainBench(t)
	first := b.P.Bench().Setup()
	for _, v := range []float64{50, 45, 41} { // one turn of the knob
		b.Set("A.gain_db", v)
		b.Wait(0.2)
	}
	b.Wait(2)
	b.Do("A.limiter.off")
	b.Do("strips.safety")
	b.Set("distance_m", 0.3)
	b.Do("A.mic.condenser")
	last := b.P.Bench().Setup()
	for range 4 {
		b.Do("undo")
	}
	if b.Gain(0) != 41 || b.P.Bench().N() != 2 || b.P.Bench().Chain(0).Place() != sim.LimiterAfter {
		t.Errorf("four steps back: gain %v, %d strips", b.Gain(0), b.P.Bench().N())
	}
	b.Key("z") // and the turn of the knob
	if got := b.P.Bench().Setup(); got != first {
		t.Errorf("all undone: %+v, was %+v", got, first)
	}
	if err := b.P.Apply(ui.Intent{ID: "undo", Do: ui.DoPress}); err == nil {
		t.Error("undid what never was")
	}
	for range 5 {
		b.Do("redo")
	}
	if got := b.P.Bench().Setup(); got != last {
		t.Errorf("done again: %+v, want %+v", got, last)
	}
	b.Do("undo")
	b.Set("A.gain_db", 30) // another way on
	b.Wait(0.1)
	if err := b.P.Apply(ui.Intent{ID: "redo", Do: ui.DoPress}); err == nil {
		t.Error("did again what another change has replaced")
	}
}

func TestStrips(t *testing.T) {
	b := gainBench(t)
	b.Do("show.A")
	b.Do("strips.safety")
	if n := b.P.Bench().N(); n != 3 {
		t.Fatalf("%d strips", n)
	}
	b.Set("A.gain_db", 46)
	if b.Gain(2) != 34 {
		t.Errorf("the safety track has %v dB, want 12 less than 46", b.Gain(2))
	}
	if err := b.P.Apply(ui.Intent{ID: "C.gain_db", Do: "set", Value: 50}); err == nil {
		t.Error("a safety track was turned by itself")
	}
	b.Do("A.limiter.off")
	tk := b.Take(2)
	// The same noise and the same voice, through gains 12 dB apart.
	var ab, bb float64
	for i, v := range tk.File[0] {
		ab += float64(v) * float64(tk.File[2][i])
		bb += float64(tk.File[2][i]) * float64(tk.File[2][i])
	}
	if got := 20 * math.Log10(ab/bb); math.Abs(got-12) > 0.01 {
		t.Errorf("the safety track is %.3f dB lower", got)
	}
	b.Do("check")
	b.Do("B.lock")
	if err := b.P.Apply(ui.Intent{ID: "B.gain_db", Do: "set", Value: 10}); err == nil {
		t.Error("a locked strip was turned")
	}
	was := b.P.Bench().Chain(1)
	b.Do("show.A")
	b.Do("strips.add")
	b.Set("D.converter.bits", 12)
	b.Do("copy.strip")
	if got := b.P.Bench().Chain(0); got != b.P.Bench().Chain(3) || got.Converter.Bits != 12 {
		t.Errorf("copied %+v", got)
	}
	if b.P.Bench().Chain(1) != was {
		t.Error("copied over a locked strip")
	}
	if b.Gain(2) != b.Gain(0)-12 {
		t.Error("the safety track does not follow what was copied")
	}
	if err := b.P.Apply(ui.Intent{ID: "strips.add", Do: "press"}); err == nil {
		t.Error("a fifth strip")
	}
	b.Do("listen.D")
	b.Do("strips.remove")
	b.Do("strips.remove")
	if b.P.Bench().N() != 2 || b.P.Bench().Listening() != bench.ListenA {
		t.Errorf("%d strips, listening to %d", b.P.Bench().N(), b.P.Bench().Listening())
	}
	if err := b.P.Apply(ui.Intent{ID: "strips.remove", Do: "press"}); err == nil {
		t.Error("fewer than two strips")
	}
	b.Wait(0.2)
}

// TestStations turns every setting through its control.
func TestStations(t *testing.T) {
	b := gainBench(t)
	b.Do("A.limiter.after")
	for st := range sim.NumStations {
		if st == sim.AtInputLimiter {
			b.Do("A.limiter.before")
		}
		if st == sim.AtLimiter {
			b.Do("A.limiter.after")
		}
		b.Do("show.A")
		b.Do(drawer.IDs[st])
		b.Wait(0.05)
		for _, f := range sim.Settings() {
			if f.Station != st || f.ByPlace {
				continue
			}
			if f.Kind != sim.Number {
				turn(b, f)
				continue
			}
			id := "A." + f.Key
			if st == sim.AtMicrophone {
				id = f.Key
			}
			n := b.Node(id)
			v := n.Min + (n.Max-n.Min)*0.6
			if f.Key == "converter.bits" {
				v = 12
			}
			b.Set(id, v)
			c := b.P.Bench().Chain(0)
			if got := f.Get(&c); math.Abs(got-v) > 1e-9 {
				t.Errorf("%s: set %v, got %v", id, v, got)
			}
			if st == sim.AtMicrophone {
				if c := b.P.Bench().Chain(1); math.Abs(f.Get(&c)-v) > 1e-9 {
					t.Errorf("%s: strip B has %v", id, f.Get(&c))
				}
			}
			for _, bad := range []float64{f.Min - 1, math.NaN()} {
				if err := b.P.Apply(ui.Intent{ID: id, Do: "set", Value: bad}); err == nil {
					t.Errorf("%s: took %v", id, bad)
				}
			}
			if err := b.P.Apply(ui.Intent{ID: id, Do: "default"}); err != nil {
				t.Error(err)
			}
		}
	}
	b.Set("A.limiter.ratio", kit.RatioTop)
	if r := b.P.Bench().Chain(0).Limiter.Ratio; !math.IsInf(float64(r), 1) {
		t.Errorf("a ratio of %v", r)
	}
	for _, r := range plan.Recorders() {
		b.Do("A.recorder." + r.Name)
		c := b.P.Bench().Chain(0)
		if c.Converter != r.Converter || c.InputLimiter.On != r.InputLimiter || c.InputLimiter.On && c.Limiter.On {
			t.Errorf("%s: %+v", r.Name, c)
		}
		b.Wait(0.05)
	}
	b.Do("A.file.pcm16")
	if f := b.P.Bench().Chain(0).File.Format; f != sim.PCM16 {
		t.Errorf("file %s", f)
	}
	b.Key("Escape")
	b.Wait(0.05)
}

// turn presses the controls of a setting that is no number.
func turn(b *scenetest.Driver, f *sim.Setting) {
	b.Helper()
	get := func() any {
		c := b.P.Bench().Chain(0)
		return f.Value(&c)
	}
	if f.Kind == sim.Choice && f.Switch == "" {
		was := get()
		for _, w := range append(f.WordList(), was.(string)) {
			b.Do("A." + f.ID + "." + w)
			if get() != w {
				b.Errorf("%s: %v after %s was pressed", f.Key, get(), w)
			}
		}
		return
	}
	was := get()
	b.Do("A." + f.ID)
	if get() == was {
		b.Errorf("%s did not change", f.Key)
	}
	b.Do("A." + f.ID)
	if get() != was {
		b.Errorf("%s did not change back", f.Key)
	}
}

// TestBlind: all right is told with its p-value, nothing on the picture or in the
// semantics gives X away, and what was set before comes back.
func TestBlind(t *testing.T) {
	b := gainBench(t)
	b.Set("A.gain_db", 30)
	b.Take(2)
	g := gainOf(b.P)
	x := 0
	g.blind.Coin = func() int { return x }
	if g.Bench.Matched() {
		b.Do("listen.matched")
	}
	b.Do("blind.start")
	for g.blind.Trials != 8 {
		b.Do("blind.trials")
	}
	b.Do("blind.second") // A against what was spoken
	if g.blind.Pair[1] != bench.ListenSpoken {
		t.Fatalf("the second sound is %v", g.blind.Pair[1])
	}
	b.Do("blind.start")
	b.Wait(0.1)
	if !g.Bench.Matched() || !g.Bench.Playing() {
		t.Error("not matched, or not playing")
	}
	if err := b.P.Apply(ui.Intent{ID: "blind.trials", Do: "press"}); err == nil {
		t.Error("the number of trials changed after the first was heard")
	}
	look := func() string {
		var s strings.Builder
		for _, n := range b.P.Semantics() {
			if n.ID != "take.at_s" {
				fmt.Fprintln(&s, n.ID, n.Name, n.Value, n.Checked)
			}
		}
		return s.String()
	}
	b.Do("blind.hear_x")
	b.Wait(0.05)
	was := look()
	g.blind.X = 1
	b.Do("blind.hear_x")
	b.Wait(0.05)
	if g.Bench.Listening() != bench.ListenSpoken {
		t.Error("X is not what is heard")
	}
	if now := look(); now != was {
		t.Errorf("X shows:\n%s\nwas\n%s", now, was)
	}
	for i := range 8 {
		x = i % 2 // of the next trial
		id := "blind.is_first"
		if g.blind.X == 1 {
			id = "blind.is_second"
		}
		b.Do("blind.hear_first")
		b.Do("blind.hear_second")
		b.Do(id)
		b.Wait(0.05)
	}
	// 8 of 8 by guessing: 1/2^8 = 0.0039 (binomial theorem).
	if s := b.P.Announce(); !strings.HasPrefix(s, "8 of 8 right, strip A against what was spoken.") || !strings.Contains(s, "p = 0.004") {
		t.Errorf("result: %q", s)
	}
	if g.Bench.Matched() || g.Bench.Playing() || g.blind.Open {
		t.Error("things are not as they were")
	}
	for _, c := range []struct {
		k, n int
		want string
	}{{6, 12, "no better than guessing"}, {8, 12, "shows nothing yet"}, {11, 12, "most likely heard"}} {
		if s := blind.BlindResult(c.k, c.n, "a", "b"); !strings.Contains(s, c.want) {
			t.Errorf("%d of %d: %q", c.k, c.n, s)
		}
	}
}

// TestCautionOnSwitching: going over to a clipped strip while a clean one plays
// asks first.
func TestCautionOnSwitching(t *testing.T) {
	b := gainBench(t)
	b.Set("A.gain_db", 66)
	b.Set("B.gain_db", 20)
	b.Do("listen.B")
	b.Take(2)
	b.Do("play")
	b.Wait(0.1)
	if !b.P.Bench().Playing() {
		t.Fatal("the clean strip does not play")
	}
	b.Do("listen.A")
	b.Wait(0.1)
	if b.P.Bench().Playing() || !strings.Contains(b.P.Announce(), "clipped") {
		t.Errorf("clipped sound came unannounced; %q", b.P.Announce())
	}
	b.Key("Escape")
	if strings.Contains(b.P.Announce(), "Caution") {
		t.Error("the caution stays")
	}
}

// TestMadeAgain: a take is made again from who did what, to the sample, and after
// a reload.
func TestMadeAgain(t *testing.T) {
	h := &scenetest.Memory{M: map[string]string{}}
	p := scenetest.Build(t, h, gainScenes)
	b := &scenetest.Driver{TB: t, P: p}
	b.Size.X, b.Size.Y = 1280, 720
	b.Wait(0.5)
	b.Do("surprises")
	b.Do("strips.add")
	b.Set("A.gain_db", 58)
	b.Do("record")
	b.Wait(1)
	b.Do("event.laugh")
	b.Wait(5)
	b.Do("event.lean_in")
	b.Wait(1.5)
	b.Do("record")
	b.Wait(0.5)
	first := p.Bench().Take()
	if len(first.Marks) < 2 {
		t.Errorf("marks %v", first.Marks)
	}
	b.Wait(1)

	q := scenetest.Build(t, h, gainScenes)
	if q.Bench().Setup() != p.Bench().Setup() {
		t.Errorf("after a reload: %+v", q.Bench().Setup())
	}
	c := &scenetest.Driver{TB: t, P: q, Size: b.Size}
	for range 1200 {
		c.Wait(1.0 / 60)
		if _, _, ok := q.Bench().Remaking(); !ok {
			break
		}
	}
	second := q.Bench().Take()
	if second == nil || !second.Done || second.Number != first.Number || second.N != 3 {
		t.Fatalf("made again: %+v", second)
	}
	for k, v := range first.Spoken {
		if second.Spoken[k] != v {
			t.Fatalf("the performance differs at %d of %d", k, len(first.Spoken))
		}
	}
	// Before anybody leaned in, nothing depends on when the screen looked.
	end := 5 * bench.Rate
	for s := range 3 {
		for k, v := range first.File[s][:end] {
			if second.File[s][k] != v {
				t.Fatalf("strip %s differs at %d", bench.StripNames[s], k)
			}
		}
	}
	if a, z := first.Readings[0], second.Readings[0]; a.Overs == 0 || z.Overs == 0 || math.Abs(float64(a.HeadroomDB-z.HeadroomDB)) > 0.5 {
		t.Errorf("readings: %+v, again %+v", a, z)
	}
	if fmt.Sprint(first.Marks) != fmt.Sprint(second.Marks) {
		t.Errorf("marks %v, again %v", first.Marks, second.Marks)
	}
	// Memory that is damaged is as none.
	for _, bad := range []string{"{", "[1]", `{"v":2}`, `{"v":1,"talker":"captain","strips":[{},{"chain":{"preamp":{"gain_db":900}}}]}`} {
		h.M["setup"], h.M["takes"] = bad, bad
		r := scenetest.Build(t, h, gainScenes)
		if r.Bench().Chain(0).Preamp.GainDB != bench.GainDefault[0] {
			t.Errorf("%s was taken over", bad)
		}
	}
}

func TestLink(t *testing.T) {
	h := &scenetest.Memory{M: map[string]string{}}
	p := scenetest.Build(t, h, gainScenes)
	b := &scenetest.Driver{TB: t, P: p}
	b.Size.X, b.Size.Y = 1280, 720
	b.Wait(0.1)
	b.Set("B.gain_db", 33.5)
	b.Do("talker.ilse")
	b.Do("B.limiter.before")
	b.Set("B.input_limiter.ratio", 4)
	b.Do("show.B")
	b.Do("strips.safety")
	b.Do("A.lock")
	h.Refuses = errors.New("no hands free")
	b.Do("setup.link")
	b.Wait(0.1)
	if a := p.Announce(); !strings.Contains(a, "no hands free") {
		t.Errorf("a clipboard that refuses: %q", a)
	}
	h.Refuses = nil
	b.Do("setup.link")
	b.Wait(0.1)
	if a := p.Announce(); !strings.Contains(a, "on the clipboard") {
		t.Errorf("copied: %q", a)
	}
	if !strings.HasPrefix(h.Copied, "http://127.0.0.1:8080/#setup=") || len(h.Copied) > 2000 {
		t.Fatalf("link of %d characters: %.60s", len(h.Copied), h.Copied)
	}
	q := scenetest.Build(t, &scenetest.Memory{M: map[string]string{}, Link: h.Copied[strings.IndexByte(h.Copied, '#'):]}, gainScenes)
	if got, want := q.Bench().Setup(), p.Bench().Setup(); got != want {
		t.Errorf("carried %+v\nwant %+v", got, want)
	}
	if q.Bench().Talker() != "ilse" {
		t.Errorf("%s talks", q.Bench().Talker())
	}
	q = scenetest.Build(t, &scenetest.Memory{M: map[string]string{}, Link: h.Copied[strings.IndexByte(h.Copied, '#') : len(h.Copied)-9]}, gainScenes)
	if !strings.Contains(q.Announce(), "not taken over") {
		t.Errorf("a link cut short: %q", q.Announce())
	}
	// A file does the same but for locks and following.
	b.Do("setup.save")
	name, data, ok := p.NextSave()
	if !ok || name != "gainwright-setup.yaml" {
		t.Fatalf("saved %q", name)
	}
	c := gainBench(t)
	c.Now += 0.1
	c.P.Frame(ui.Input{Size: c.Size, Seconds: c.Now, Drops: []ui.Drop{{Name: name, Data: data}}})
	got, want := c.P.Bench().Setup(), p.Bench().Setup()
	if got.N != 3 || got.Talker != "ilse" {
		t.Errorf("from the file: %d strips, %s", got.N, got.Talker)
	}
	for i := range got.N {
		if got.Chain[i] != want.Chain[i] {
			t.Errorf("strip %s: %+v\nwant %+v", bench.StripNames[i], got.Chain[i], want.Chain[i])
		}
	}
	c.P.Frame(ui.Input{Size: c.Size, Seconds: c.Now + 0.1, Drops: []ui.Drop{{Name: "bad.yaml", Data: []byte("strips: {A: {preamp: {gain_db: 900}}}")}}})
	if !strings.Contains(c.P.Announce(), "bad.yaml:1:") {
		t.Errorf("no place in %q", c.P.Announce())
	}
	if c.P.Bench().Setup() != got {
		t.Error("a bad file changed the set-up")
	}
}

// TestAdvice records the same performance again with the gain advised: then what
// was promised is there.
func TestAdvice(t *testing.T) {
	b := gainBench(t)
	b.Set("A.gain_db", 60)
	b.Set("B.gain_db", 20)
	b.Do("A.limiter.off")
	b.Do("record")
	b.Wait(0.5)
	b.Do("event.laugh")
	b.Wait(3)
	b.Do("record")
	b.Wait(0.2)
	tk := b.P.Bench().Take()
	over := advice(tk, 0, bench.Told{})
	// An hour whose window is above strip B: the noise is then what speaks.
	hour := bench.Told{Known: true, LowDB: 26, HighDB: 30, SuggestDB: 30}
	low := advice(tk, 1, hour)
	t.Logf("A: %s\nB: %s", over.Words, low.Words)
	if !(over.GainDB < 60) || !(over.NoiseDB >= 0) || over.Verdict != "too hot" {
		t.Fatalf("strip A: %+v", over)
	}
	if low.GainDB <= 20 || low.NoiseDB > 0 || low.Verdict != "very low" {
		t.Errorf("strip B: %+v", low)
	}
	noise := float64(tk.Readings[1].DeliveredNoiseLUFS)
	b.Do("again")
	b.Set("A.gain_db", over.GainDB)
	b.Set("B.gain_db", low.GainDB)
	b.Do("record")
	b.Wait(4)
	tk = b.P.Bench().Take()
	// The most that the take allowed, in whole decibels.
	if h := float64(tk.Readings[0].HeadroomDB); tk.Readings[0].Overs != 0 || h < -0.2 || h > 1.2 {
		t.Errorf("%v dB left %.2f dB, promised less than one", over.GainDB, h)
	}
	if got := float64(tk.Readings[1].DeliveredNoiseLUFS) - noise; math.Abs(got-low.NoiseDB) > 1 {
		t.Errorf("noise went by %.2f dB, promised %.2f", got, low.NoiseDB)
	}
}

func advice(t *bench.Take, i int, hour bench.Told) result.Advice {
	return result.Advise(t.End[i], t.Readings[i], t.Levels[i][sim.AtMicOut].Peak, hour)
}

// TestAdviceOnTheHour: what is said of a take names its own most and the hour's, and where
// they differ why; a gain in the window is well set whatever the take would have borne.
func TestAdviceOnTheHour(t *testing.T) {
	c := sim.Default()
	at := func(gain, head float64, high float64) result.Advice {
		c.Preamp.GainDB = gain
		r := sim.Readings{GainDB: sim.Level(gain), HeadroomDB: sim.Level(head)}
		if head < 0 {
			r.Overs = 1
		}
		return result.Advise(c, r, 0.01, bench.Told{Known: true, LowDB: 14, HighDB: high, EdgeDB: 0.2, SuggestDB: math.Floor(high)})
	}
	for _, tc := range []struct {
		gain, head, high float64
		verdict          string
		has              []string
	}{
		{36, 12.4, 36.1, "well set", []string{"needed at most 48 dB", "hour at most 36 dB", plan.OneLaugh}},
		{20, 28.4, 36.1, "well set", []string{"needed at most 48 dB", "hour at most 36 dB"}},
		{45, 3.4, 36.1, "too hot for an hour", []string{"needed at most 48 dB", "36 dB", plan.OneLaugh}},
		{56, -7.6, 36.1, "too hot", []string{"needed at most 48 dB", "For the hour 36 dB", plan.OneLaugh}},
		{36, -3.5, 36.1, "too hot", []string{"needed at most 32 dB, less than an hour asks for"}},
		{30, 2.5, 36.1, "well set", []string{"needed at most 32 dB", "hour at most 36 dB"}},
		{36, 0.5, 36.1, "well set", []string{"both allow 36 dB"}},
		{2, 40, 36.1, "very low", []string{"36 dB", "right for the hour"}},
	} {
		a := at(tc.gain, tc.head, tc.high)
		if a.Verdict != tc.verdict {
			t.Errorf("%v dB with %v dB left is %q, want %q", tc.gain, tc.head, a.Verdict, tc.verdict)
		}
		for _, w := range tc.has {
			if !strings.Contains(a.Words, w) {
				t.Errorf("%v dB with %v dB left: %q lacks %q", tc.gain, tc.head, a.Words, w)
			}
		}
	}
}

// TestZoom: the waves show from a millisecond to the whole take.
func TestZoom(t *testing.T) {
	b := gainBench(t)
	b.Set("scope.span_ms", 1)
	b.Take(2)
	for range 40 {
		b.P.Apply(ui.Intent{ID: "scope.farther", Do: "press"})
	}
	if w := gainOf(b.P).wave; math.Abs(w.Span()-b.P.Bench().Take().Seconds()*1000) > 1 {
		t.Errorf("the farthest shows %v ms", w.Span())
	}
	for range 40 {
		b.P.Apply(ui.Intent{ID: "scope.nearer", Do: "press"})
	}
	if w := gainOf(b.P).wave; w.Span() != 1 {
		t.Errorf("the nearest shows %v ms", w.Span())
	}
	b.Wait(0.1)
}

func TestPresent(t *testing.T) {
	b := gainBench(t)
	b.Do("present")
	b.Wait(0.1)
	g := gainOf(b.P)
	if g.idea != ideaDiagram || b.P.Theme().Text < 1.4 {
		t.Fatalf("idea %d, text %v", g.idea, b.P.Theme().Text)
	}
	for i := range numIdeas - 1 {
		if g.idea != i+1 {
			t.Errorf("at idea %d, want %d", g.idea, i+1)
		}
		b.Key("ArrowRight")
	}
	if g.idea != ideaDiagram {
		t.Error("the ideas do not go round")
	}
	b.Key("ArrowLeft")
	if g.idea != ideaResult {
		t.Errorf("back at %d", g.idea)
	}
	was := b.Gain(g.Shown)
	b.Key("ArrowUp")
	if b.Gain(g.Shown) != was+1 {
		t.Error("the arrow does not turn the gain")
	}
	b.Key("r")
	b.Wait(0.5)
	b.Key("h")
	b.Wait(1)
	b.Key("r")
	b.Wait(0.3)
	if tk := b.P.Bench().Take(); tk == nil || !tk.Done || len(tk.Marks) == 0 {
		t.Error("no take by the keys alone")
	}
	b.Key("Escape")
	b.Wait(0.1)
	if b.P.Presenting() || g.idea != ideaAll || b.P.Theme().Text != 1 {
		t.Error("the presentation does not end")
	}
}

func TestHandOut(t *testing.T) {
	b := gainBench(t)
	tk := b.Take(1.5)
	b.Do("more")
	b.Wait(0.1)
	next := func(want string) []byte {
		t.Helper()
		name, data, ok := b.P.NextSave()
		if !ok || name != want {
			t.Fatalf("saved %q, want %q; %s", name, want, b.P.Announce())
		}
		return data
	}
	b.Do("save.png")
	m, err := png.Decode(bytes.NewReader(next("gainwright-all.png")))
	if want := int(2 * (gainOf(b.P).transport.Y - gainOf(b.P).area.Y)); err != nil || m.Bounds().Dx() != 2560 || m.Bounds().Dy() != want || want > 1300 {
		t.Errorf("%v, want 2560 by %d, %v", m.Bounds(), want, err)
	}
	b.Do("save.svg")
	all := string(next("gainwright-all.svg"))
	if i := strings.Index(all, "</desc>"); i > 0 {
		all = all[i:] // what it shows is told, too
	}
	for words, in := range map[string]bool{
		"Where the level sits": true, "preamp gain": true, ">A<": true, // the picture
		"Gainwright": false, "Plan the session": false, "Listening": false, "Take 1, ": false, "WHO": false, "Record": false, // header and foot
	} {
		if strings.Contains(all, words) != in {
			t.Errorf("the picture has %q: %v", words, !in)
		}
	}
	b.Do("picture.diagram")
	b.Do("save.svg")
	if s := string(next("gainwright-diagram.svg")); !strings.Contains(s, "Where the level sits") || !strings.Contains(s, "<svg") || !strings.Contains(s, "converter") {
		t.Errorf("SVG: %.200s", s)
	}
	b.Do("save.png")
	m, err = png.Decode(bytes.NewReader(next("gainwright-diagram.png")))
	if d := gainOf(b.P).d.Box; err != nil || m.Bounds().Dx() != int(2*d.W) {
		t.Errorf("%v of %v, %v", m.Bounds(), d, err)
	}
	b.Do("save.B")
	r, err := sounds.OpenBytes("B.wav", next("gainwright-take-1-B.wav"))
	if err != nil {
		t.Fatal(err)
	}
	if in := r.Info(); in.Frames != tk.Frames() || in.Rate != bench.Rate {
		t.Errorf("%+v, the take has %d frames", in, tk.Frames())
	}
	blk := sounds.NewBlock(1, int(tk.Frames()))
	for at := 0; at < len(tk.File[1]); {
		n, err := r.Read(blk)
		for i, v := range blk[0][:n] {
			if float32(v) != tk.File[1][at+i] {
				t.Fatalf("sample %d is %v, was %v", at+i, v, tk.File[1][at+i])
			}
		}
		if at += n; err != nil {
			break
		}
	}
	if err := b.P.Apply(ui.Intent{ID: "save.C", Do: "press"}); err == nil {
		t.Error("a strip that there is not was handed out")
	}
	b.Wait(0.1)
	b.Key("Escape")
	if _, on := b.P.ShowingSheet(); on {
		t.Error("Escape does not close the page")
	}
}

func BenchmarkFramePlaying(b *testing.B) {
	s := gainBench(b)
	s.Take(3)
	s.Do("loop")
	s.Do("listen.spoken")
	s.Do("play")
	s.Wait(0.2)
	if !s.P.Bench().Playing() {
		b.Fatal("does not play")
	}
	b.ReportAllocs()
	for b.Loop() {
		s.Now += 1.0 / 60
		s.P.Frame(ui.Input{Size: s.Size, Scale: 1, Seconds: s.Now})
	}
}
