package scenes

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"image/png"
	"math"
	"strings"
	"testing"

	"gainwright/scenes/ui"
	"gainwright/sim"
	"gainwright/sim/plan"
	"gainwright/sounds"
)

func TestUndo(t *testing.T) {
	b := gainBench(t)
	first := b.p.Bench().Setup()
	for _, v := range []float64{50, 45, 41} { // one turn of the knob
		b.set("A.gain_db", v)
		b.wait(0.2)
	}
	b.wait(2)
	b.do("A.limiter.off")
	b.do("strips.safety")
	b.set("distance_m", 0.3)
	b.do("A.mic.condenser")
	last := b.p.Bench().Setup()
	for range 4 {
		b.do("undo")
	}
	if b.gain(0) != 41 || b.p.Bench().N() != 2 || b.p.Bench().Chain(0).Place() != sim.LimiterAfter {
		t.Errorf("four steps back: gain %v, %d strips", b.gain(0), b.p.Bench().N())
	}
	b.key("z") // and the turn of the knob
	if got := b.p.Bench().Setup(); got != first {
		t.Errorf("all undone: %+v, was %+v", got, first)
	}
	if err := b.p.Apply(Intent{ID: "undo", Do: ui.DoPress}); err == nil {
		t.Error("undid what never was")
	}
	for range 5 {
		b.do("redo")
	}
	if got := b.p.Bench().Setup(); got != last {
		t.Errorf("done again: %+v, want %+v", got, last)
	}
	b.do("undo")
	b.set("A.gain_db", 30) // another way on
	b.wait(0.1)
	if err := b.p.Apply(Intent{ID: "redo", Do: ui.DoPress}); err == nil {
		t.Error("did again what another change has replaced")
	}
}

func TestStrips(t *testing.T) {
	b := gainBench(t)
	b.do("show.A")
	b.do("strips.safety")
	if n := b.p.Bench().N(); n != 3 {
		t.Fatalf("%d strips", n)
	}
	b.set("A.gain_db", 46)
	if b.gain(2) != 34 {
		t.Errorf("the safety track has %v dB, want 12 less than 46", b.gain(2))
	}
	if err := b.p.Apply(Intent{ID: "C.gain_db", Do: "set", Value: 50}); err == nil {
		t.Error("a safety track was turned by itself")
	}
	b.do("A.limiter.off")
	tk := b.take(2)
	// The same noise and the same voice, through gains 12 dB apart.
	var ab, bb float64
	for i, v := range tk.File[0] {
		ab += float64(v) * float64(tk.File[2][i])
		bb += float64(tk.File[2][i]) * float64(tk.File[2][i])
	}
	if got := 20 * math.Log10(ab/bb); math.Abs(got-12) > 0.01 {
		t.Errorf("the safety track is %.3f dB lower", got)
	}
	b.do("check")
	b.do("B.lock")
	if err := b.p.Apply(Intent{ID: "B.gain_db", Do: "set", Value: 10}); err == nil {
		t.Error("a locked strip was turned")
	}
	was := b.p.Bench().Chain(1)
	b.do("show.A")
	b.do("strips.add")
	b.set("D.converter.bits", 12)
	b.do("copy.strip")
	if got := b.p.Bench().Chain(0); got != b.p.Bench().Chain(3) || got.Converter.Bits != 12 {
		t.Errorf("copied %+v", got)
	}
	if b.p.Bench().Chain(1) != was {
		t.Error("copied over a locked strip")
	}
	if b.gain(2) != b.gain(0)-12 {
		t.Error("the safety track does not follow what was copied")
	}
	if err := b.p.Apply(Intent{ID: "strips.add", Do: "press"}); err == nil {
		t.Error("a fifth strip")
	}
	b.do("listen.D")
	b.do("strips.remove")
	b.do("strips.remove")
	if b.p.Bench().N() != 2 || b.p.Bench().Listening() != ListenA {
		t.Errorf("%d strips, listening to %d", b.p.Bench().N(), b.p.Bench().Listening())
	}
	if err := b.p.Apply(Intent{ID: "strips.remove", Do: "press"}); err == nil {
		t.Error("fewer than two strips")
	}
	b.wait(0.2)
}

// TestStations turns every setting through its control.
func TestStations(t *testing.T) {
	b := gainBench(t)
	b.do("A.limiter.after")
	for st := range sim.NumStations {
		if st == sim.AtInputLimiter {
			b.do("A.limiter.before")
		}
		if st == sim.AtLimiter {
			b.do("A.limiter.after")
		}
		b.do("show.A")
		b.do(drawerIDs[st])
		b.wait(0.05)
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
			n := b.node(id)
			v := n.Min + (n.Max-n.Min)*0.6
			if f.Key == "converter.bits" {
				v = 12
			}
			b.set(id, v)
			c := b.p.Bench().Chain(0)
			if got := f.Get(&c); math.Abs(got-v) > 1e-9 {
				t.Errorf("%s: set %v, got %v", id, v, got)
			}
			if st == sim.AtMicrophone {
				if c := b.p.Bench().Chain(1); math.Abs(f.Get(&c)-v) > 1e-9 {
					t.Errorf("%s: strip B has %v", id, f.Get(&c))
				}
			}
			for _, bad := range []float64{f.Min - 1, math.NaN()} {
				if err := b.p.Apply(Intent{ID: id, Do: "set", Value: bad}); err == nil {
					t.Errorf("%s: took %v", id, bad)
				}
			}
			if err := b.p.Apply(Intent{ID: id, Do: "default"}); err != nil {
				t.Error(err)
			}
		}
	}
	b.set("A.limiter.ratio", ratioTop)
	if r := b.p.Bench().Chain(0).Limiter.Ratio; !math.IsInf(float64(r), 1) {
		t.Errorf("a ratio of %v", r)
	}
	for _, r := range plan.Recorders() {
		b.do("A.recorder." + r.Name)
		c := b.p.Bench().Chain(0)
		if c.Converter != r.Converter || c.InputLimiter.On != r.InputLimiter || c.InputLimiter.On && c.Limiter.On {
			t.Errorf("%s: %+v", r.Name, c)
		}
		b.wait(0.05)
	}
	b.do("A.file.pcm16")
	if f := b.p.Bench().Chain(0).File.Format; f != sim.PCM16 {
		t.Errorf("file %s", f)
	}
	b.key("Escape")
	b.wait(0.05)
}

// turn presses the controls of a setting that is no number.
func turn(b *bench, f *sim.Setting) {
	b.Helper()
	get := func() any {
		c := b.p.Bench().Chain(0)
		return f.Value(&c)
	}
	if f.Kind == sim.Choice && f.Switch == "" {
		was := get()
		for _, w := range append(f.WordList(), was.(string)) {
			b.do("A." + f.ID + "." + w)
			if get() != w {
				b.Errorf("%s: %v after %s was pressed", f.Key, get(), w)
			}
		}
		return
	}
	was := get()
	b.do("A." + f.ID)
	if get() == was {
		b.Errorf("%s did not change", f.Key)
	}
	b.do("A." + f.ID)
	if get() != was {
		b.Errorf("%s did not change back", f.Key)
	}
}

// TestBlind: all right is told with its p-value, nothing on the picture or in the
// semantics gives X away, and what was set before comes back.
func TestBlind(t *testing.T) {
	b := gainBench(t)
	b.set("A.gain_db", 30)
	b.take(2)
	g := gainOf(b.p)
	x := 0
	g.blind.coin = func() int { return x }
	if g.s.Matched() {
		b.do("listen.matched")
	}
	b.do("blind.start")
	for g.blind.trials != 8 {
		b.do("blind.trials")
	}
	b.do("blind.second") // A against what was spoken
	if g.blind.pair[1] != ListenSpoken {
		t.Fatalf("the second sound is %v", g.blind.pair[1])
	}
	b.do("blind.start")
	b.wait(0.1)
	if !g.s.Matched() || !g.s.Playing() {
		t.Error("not matched, or not playing")
	}
	if err := b.p.Apply(Intent{ID: "blind.trials", Do: "press"}); err == nil {
		t.Error("the number of trials changed after the first was heard")
	}
	look := func() string {
		var s strings.Builder
		for _, n := range b.p.Semantics() {
			if n.ID != "take.at_s" {
				fmt.Fprintln(&s, n.ID, n.Name, n.Value, n.Checked)
			}
		}
		return s.String()
	}
	b.do("blind.hear_x")
	b.wait(0.05)
	was := look()
	g.blind.x = 1
	b.do("blind.hear_x")
	b.wait(0.05)
	if g.s.Listening() != ListenSpoken {
		t.Error("X is not what is heard")
	}
	if now := look(); now != was {
		t.Errorf("X shows:\n%s\nwas\n%s", now, was)
	}
	for i := range 8 {
		x = i % 2 // of the next trial
		id := "blind.is_first"
		if g.blind.x == 1 {
			id = "blind.is_second"
		}
		b.do("blind.hear_first")
		b.do("blind.hear_second")
		b.do(id)
		b.wait(0.05)
	}
	// 8 of 8 by guessing: 1/2^8 = 0.0039 (binomial theorem).
	if s := b.p.Announce(); !strings.HasPrefix(s, "8 of 8 right, strip A against what was spoken.") || !strings.Contains(s, "p = 0.004") {
		t.Errorf("result: %q", s)
	}
	if g.s.Matched() || g.s.Playing() || g.blind.open {
		t.Error("things are not as they were")
	}
	for _, c := range []struct {
		k, n int
		want string
	}{{6, 12, "no better than guessing"}, {8, 12, "shows nothing yet"}, {11, 12, "most likely heard"}} {
		if s := BlindResult(c.k, c.n, "a", "b"); !strings.Contains(s, c.want) {
			t.Errorf("%d of %d: %q", c.k, c.n, s)
		}
	}
}

// TestCautionOnSwitching: going over to a clipped strip while a clean one plays
// asks first.
func TestCautionOnSwitching(t *testing.T) {
	b := gainBench(t)
	b.set("A.gain_db", 66)
	b.set("B.gain_db", 20)
	b.do("listen.B")
	b.take(2)
	b.do("play")
	b.wait(0.1)
	if !b.p.Bench().Playing() {
		t.Fatal("the clean strip does not play")
	}
	b.do("listen.A")
	b.wait(0.1)
	if b.p.Bench().Playing() || !strings.Contains(b.p.Announce(), "clipped") {
		t.Errorf("clipped sound came unannounced; %q", b.p.Announce())
	}
	b.key("Escape")
	if strings.Contains(b.p.Announce(), "Caution") {
		t.Error("the caution stays")
	}
}

// TestMadeAgain: a take is made again from who did what, to the sample, and after
// a reload.
func TestMadeAgain(t *testing.T) {
	h := &memory{m: map[string]string{}}
	p := build(t, h, gainScenes)
	b := &bench{TB: t, p: p}
	b.size.X, b.size.Y = 1280, 720
	b.wait(0.5)
	b.do("surprises")
	b.do("strips.add")
	b.set("A.gain_db", 58)
	b.do("record")
	b.wait(1)
	b.do("event.laugh")
	b.wait(5)
	b.do("event.lean_in")
	b.wait(1.5)
	b.do("record")
	b.wait(0.5)
	first := p.Bench().Take()
	if len(first.Marks) < 2 {
		t.Errorf("marks %v", first.Marks)
	}
	b.wait(1)

	q := build(t, h, gainScenes)
	if q.Bench().Setup() != p.Bench().Setup() {
		t.Errorf("after a reload: %+v", q.Bench().Setup())
	}
	c := &bench{TB: t, p: q, size: b.size}
	for range 1200 {
		c.wait(1.0 / 60)
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
	end := 5 * Rate
	for s := range 3 {
		for k, v := range first.File[s][:end] {
			if second.File[s][k] != v {
				t.Fatalf("strip %s differs at %d", stripNames[s], k)
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
		h.m["setup"], h.m["takes"] = bad, bad
		r := build(t, h, gainScenes)
		if r.Bench().Chain(0).Preamp.GainDB != gainDefault[0] {
			t.Errorf("%s was taken over", bad)
		}
	}
}

func TestSurprises(t *testing.T) {
	seen := map[string]int{}
	for seed := range uint64(200) {
		d := surprises(seed)
		last, laugh := int64(0), false
		for _, e := range d {
			if e.At < last || e.At > maxFrames {
				t.Fatalf("seed %d: %v", seed, d)
			}
			last = e.At
			laugh = laugh || e.What == "laugh" && e.At < 25*Rate
			seen[e.What]++
		}
		if !laugh || d[0].At < 2*Rate {
			t.Errorf("seed %d: %v", seed, d[:3])
		}
	}
	for _, e := range Events {
		if seen[e] == 0 {
			t.Errorf("nobody ever did %q", e)
		}
	}
}

func TestLink(t *testing.T) {
	h := &memory{m: map[string]string{}}
	p := build(t, h, gainScenes)
	b := &bench{TB: t, p: p}
	b.size.X, b.size.Y = 1280, 720
	b.wait(0.1)
	b.set("B.gain_db", 33.5)
	b.do("talker.ilse")
	b.do("B.limiter.before")
	b.set("B.input_limiter.ratio", 4)
	b.do("show.B")
	b.do("strips.safety")
	b.do("A.lock")
	h.refuses = errors.New("no hands free")
	b.do("setup.link")
	b.wait(0.1)
	if a := p.Announce(); !strings.Contains(a, "no hands free") {
		t.Errorf("a clipboard that refuses: %q", a)
	}
	h.refuses = nil
	b.do("setup.link")
	b.wait(0.1)
	if a := p.Announce(); !strings.Contains(a, "on the clipboard") {
		t.Errorf("copied: %q", a)
	}
	if !strings.HasPrefix(h.copied, "http://127.0.0.1:8080/#setup=") || len(h.copied) > 2000 {
		t.Fatalf("link of %d characters: %.60s", len(h.copied), h.copied)
	}
	q := build(t, &memory{m: map[string]string{}, carried: h.copied[strings.IndexByte(h.copied, '#'):]}, gainScenes)
	if got, want := q.Bench().Setup(), p.Bench().Setup(); got != want {
		t.Errorf("carried %+v\nwant %+v", got, want)
	}
	if q.Bench().Talker() != "ilse" {
		t.Errorf("%s talks", q.Bench().Talker())
	}
	q = build(t, &memory{m: map[string]string{}, carried: h.copied[strings.IndexByte(h.copied, '#') : len(h.copied)-9]}, gainScenes)
	if !strings.Contains(q.Announce(), "not taken over") {
		t.Errorf("a link cut short: %q", q.Announce())
	}
	// A file does the same but for locks and following.
	b.do("setup.save")
	name, data, ok := p.NextSave()
	if !ok || name != "gainwright-setup.yaml" {
		t.Fatalf("saved %q", name)
	}
	c := gainBench(t)
	c.now += 0.1
	c.p.Frame(Input{Size: c.size, Seconds: c.now, Drops: []Drop{{Name: name, Data: data}}})
	got, want := c.p.Bench().Setup(), p.Bench().Setup()
	if got.N != 3 || got.Talker != "ilse" {
		t.Errorf("from the file: %d strips, %s", got.N, got.Talker)
	}
	for i := range got.N {
		if got.Chain[i] != want.Chain[i] {
			t.Errorf("strip %s: %+v\nwant %+v", stripNames[i], got.Chain[i], want.Chain[i])
		}
	}
	c.p.Frame(Input{Size: c.size, Seconds: c.now + 0.1, Drops: []Drop{{Name: "bad.yaml", Data: []byte("strips: {A: {preamp: {gain_db: 900}}}")}}})
	if !strings.Contains(c.p.Announce(), "bad.yaml:1:") {
		t.Errorf("no place in %q", c.p.Announce())
	}
	if c.p.Bench().Setup() != got {
		t.Error("a bad file changed the set-up")
	}
}

func FuzzUnpack(f *testing.F) {
	s, err := startSetup("captain").Pack()
	if err != nil {
		f.Fatal(err)
	}
	f.Add(s)
	f.Add("")
	f.Add("AAAA")
	f.Fuzz(func(t *testing.T, s string) {
		p, err := Unpack(s)
		if err != nil {
			return
		}
		if err := p.Validate(); err != nil {
			t.Fatalf("%q gave a set-up that could not be: %v", s, err)
		}
		again, err := p.Pack()
		if err != nil {
			t.Fatal(err)
		}
		if q, err := Unpack(again); err != nil || q != p {
			t.Fatalf("%+v became %+v, %v", p, q, err)
		}
	})
}

func FuzzSetupJSON(f *testing.F) {
	b, err := json.Marshal(startSetup("pip"))
	if err != nil {
		f.Fatal(err)
	}
	f.Add(b)
	f.Fuzz(func(t *testing.T, b []byte) {
		var p Setup
		if json.Unmarshal(b, &p) == nil && p.Validate() != nil {
			t.Fatalf("%q gave a set-up that could not be", b)
		}
	})
}

// TestAdvice records the same performance again with the gain advised: then what
// was promised is there.
func TestAdvice(t *testing.T) {
	b := gainBench(t)
	b.set("A.gain_db", 60)
	b.set("B.gain_db", 20)
	b.do("A.limiter.off")
	b.do("record")
	b.wait(0.5)
	b.do("event.laugh")
	b.wait(3)
	b.do("record")
	b.wait(0.2)
	tk := b.p.Bench().Take()
	over, low := Advise(tk.end[0], tk.Readings[0], tk.Levels[0][sim.AtMicOut].Peak), Advise(tk.end[1], tk.Readings[1], tk.Levels[1][sim.AtMicOut].Peak)
	t.Logf("A: %s\nB: %s", over.Words, low.Words)
	if !(over.GainDB < 60) || !(over.NoiseDB >= 0) {
		t.Fatalf("strip A: %+v", over)
	}
	if low.GainDB <= 20 || low.NoiseDB > 0 {
		t.Errorf("strip B: %+v", low)
	}
	noise := float64(tk.Readings[1].DeliveredNoiseLUFS)
	b.do("again")
	b.set("A.gain_db", over.GainDB)
	if !math.IsNaN(low.GainDB) {
		b.set("B.gain_db", low.GainDB)
	}
	b.do("record")
	b.wait(4)
	tk = b.p.Bench().Take()
	if h := float64(tk.Readings[0].HeadroomDB); tk.Readings[0].Overs != 0 || h < keepDB-0.2 || h > keepDB+1.2 {
		t.Errorf("%v dB left %.2f dB, promised %d", over.GainDB, h, keepDB)
	}
	if !math.IsNaN(low.GainDB) {
		if got := float64(tk.Readings[1].DeliveredNoiseLUFS) - noise; math.Abs(got-low.NoiseDB) > 1 {
			t.Errorf("noise went by %.2f dB, promised %.2f", got, low.NoiseDB)
		}
	}
}

// TestSpectrumOfClippedSine: symmetric clipping adds odd harmonics only, and the
// third has the size that Fourier's integral gives: for a sine cut at sin α of its
// peak, c₃/c₁ in closed form.
func TestSpectrumOfClippedSine(t *testing.T) {
	const bin = 36 // 600 Hz: whole periods in the window
	spoken, file := make([]float64, WindowFrames), make([]float64, WindowFrames)
	cut := 0.5
	for i := range spoken {
		v := math.Sin(2 * math.Pi * bin * float64(i) / WindowFrames)
		spoken[i], file[i] = v, min(max(v, -cut), cut)
	}
	s := newSpectrum()
	s.compare(spoken, file, sim.Default())
	if !s.ok {
		t.Fatal("nothing found")
	}
	a := math.Asin(cut)
	c1 := 2 / math.Pi * (a + math.Sin(2*a)/2)
	// b₃ = (4/π)[∫₀^α sin θ sin 3θ dθ + cut ∫_α^{π/2} sin 3θ dθ]
	i1 := math.Sin(2*a)/4 - math.Sin(4*a)/8
	b3 := 4 / math.Pi * (i1 + cut*math.Cos(3*a)/3)
	want := 20 * math.Log10(math.Abs(b3/c1))
	if got := s.file[3*bin] - s.file[bin]; math.Abs(got-want) > 0.05 {
		t.Errorf("third harmonic %.2f dB, want %.2f", got, want)
	}
	if even := s.file[2*bin]; even > -100 {
		t.Errorf("second harmonic %.1f dB", even)
	}
	if s.spoken[3*bin] > -100 {
		t.Errorf("spoken has a third harmonic of %.1f dB", s.spoken[3*bin])
	}
	if math.Abs(s.file[bin]) > 0.1 {
		t.Errorf("the levels are not matched: %.2f dB", s.file[bin])
	}
}

func TestColumns(t *testing.T) {
	s := newSession(t)
	setGain(t, s, 0, 60)
	tk := record(t, s, false, 3)
	for _, span := range []int64{200, 4000, 48000, tk.Frames()} {
		var e envelope
		from := tk.Loudest - span/2
		n := 97
		tk.Columns(&e, 0, from, span, n)
		top, want := float32(0), float32(0)
		for i := range n {
			top = max(top, e.hi[tapFile][i], -e.lo[tapFile][i])
		}
		for f := max(from, 0); f < min(from+span, tk.Frames()); f++ {
			want = max(want, tk.File[0][f], -tk.File[0][f])
		}
		if math.Abs(float64(top-want)) > 1e-6 {
			t.Errorf("%d frames: peak %v, want %v", span, top, want)
		}
	}
}

// TestZoom: the waves show from a millisecond to the whole take.
func TestZoom(t *testing.T) {
	b := gainBench(t)
	b.set("scope.span_ms", 1)
	b.take(2)
	for range 40 {
		b.p.Apply(Intent{ID: "scope.farther", Do: "press"})
	}
	if w := gainOf(b.p).wave; math.Abs(w.span()-b.p.Bench().Take().Seconds()*1000) > 1 {
		t.Errorf("the farthest shows %v ms", w.span())
	}
	for range 40 {
		b.p.Apply(Intent{ID: "scope.nearer", Do: "press"})
	}
	if w := gainOf(b.p).wave; w.span() != 1 {
		t.Errorf("the nearest shows %v ms", w.span())
	}
	b.wait(0.1)
}

func TestPresent(t *testing.T) {
	b := gainBench(t)
	b.do("present")
	b.wait(0.1)
	g := gainOf(b.p)
	if g.idea != ideaDiagram || b.p.Theme().Text < 1.4 {
		t.Fatalf("idea %d, text %v", g.idea, b.p.Theme().Text)
	}
	for i := range numIdeas - 1 {
		if g.idea != i+1 {
			t.Errorf("at idea %d, want %d", g.idea, i+1)
		}
		b.key("ArrowRight")
	}
	if g.idea != ideaDiagram {
		t.Error("the ideas do not go round")
	}
	b.key("ArrowLeft")
	if g.idea != ideaResult {
		t.Errorf("back at %d", g.idea)
	}
	was := b.gain(g.shown)
	b.key("ArrowUp")
	if b.gain(g.shown) != was+1 {
		t.Error("the arrow does not turn the gain")
	}
	b.key("r")
	b.wait(0.5)
	b.key("h")
	b.wait(1)
	b.key("r")
	b.wait(0.3)
	if tk := b.p.Bench().Take(); tk == nil || !tk.Done || len(tk.Marks) == 0 {
		t.Error("no take by the keys alone")
	}
	b.key("Escape")
	b.wait(0.1)
	if b.p.Presenting() || g.idea != ideaAll || b.p.Theme().Text != 1 {
		t.Error("the presentation does not end")
	}
}

func TestHandOut(t *testing.T) {
	b := gainBench(t)
	tk := b.take(1.5)
	b.do("more")
	b.wait(0.1)
	next := func(want string) []byte {
		t.Helper()
		name, data, ok := b.p.NextSave()
		if !ok || name != want {
			t.Fatalf("saved %q, want %q; %s", name, want, b.p.Announce())
		}
		return data
	}
	b.do("save.png")
	m, err := png.Decode(bytes.NewReader(next("gainwright-all.png")))
	if err != nil || m.Bounds().Dx() != 2560 || m.Bounds().Dy() != 1440 {
		t.Errorf("%v, %v", m.Bounds(), err)
	}
	b.do("picture.diagram")
	b.do("save.svg")
	if s := string(next("gainwright-diagram.svg")); !strings.Contains(s, "Where the level sits") || !strings.Contains(s, "<svg") || !strings.Contains(s, "converter") {
		t.Errorf("SVG: %.200s", s)
	}
	b.do("save.png")
	m, err = png.Decode(bytes.NewReader(next("gainwright-diagram.png")))
	if d := gainOf(b.p).d.box; err != nil || m.Bounds().Dx() != int(2*d.W) {
		t.Errorf("%v of %v, %v", m.Bounds(), d, err)
	}
	b.do("save.B")
	r, err := sounds.OpenBytes("B.wav", next("gainwright-take-1-B.wav"))
	if err != nil {
		t.Fatal(err)
	}
	if in := r.Info(); in.Frames != tk.Frames() || in.Rate != Rate {
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
	if err := b.p.Apply(Intent{ID: "save.C", Do: "press"}); err == nil {
		t.Error("a strip that there is not was handed out")
	}
	b.wait(0.1)
	b.key("Escape")
	if _, on := b.p.HandingOut(); on {
		t.Error("Escape does not close the page")
	}
}

func BenchmarkFramePlaying(b *testing.B) {
	s := gainBench(b)
	s.take(3)
	s.do("loop")
	s.do("listen.spoken")
	s.do("play")
	s.wait(0.2)
	if !s.p.Bench().Playing() {
		b.Fatal("does not play")
	}
	b.ReportAllocs()
	for b.Loop() {
		s.now += 1.0 / 60
		s.p.Frame(Input{Size: s.size, Scale: 1, Seconds: s.now})
	}
}
