package scenario

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"gainwright/sim"
	"gainwright/sim/plan"
	"gainwright/sounds"
	"gainwright/sounds/codec"
)

// The example of the file format's contract.
const contract = `title: The captain laughs
seed: 7
room: {noise_dba: 32}
distance_m: 0.08
source:
  talker: captain
  script: [{text: "Well."}, {do: laugh, effort: loud, at_s: 2}]
microphone: {sensitivity_mv_per_pa: 1.8, source_ohm: 200, max_spl_db: 150, proximity: false}
strips:
  A:
    preamp: {gain_db: 46, pad_db: 0, ein_dbu: -127, output_noise_dbu: -100, rail_dbu: 20}
    input_limiter: {on: false, threshold_dbfs: -6, ratio: inf, attack_ms: 2, release_ms: 200}
    converter: {full_scale_dbu: 10, bits: 24, dynamic_range_dba: 112, dither: tpdf, dual_range_db: 0}
    limiter: {on: true, threshold_dbfs: -6, ratio: inf, knee_db: 0, look_ahead_ms: 0, attack_ms: 1, release_ms: 150}
    file: {format: pcm24}
  B: {preamp: {gain_db: 34}, limiter: {on: false}}
`

func TestContract(t *testing.T) {
	s, err := Parse("c.yaml", []byte(contract))
	if err != nil {
		t.Fatal(err)
	}
	a := sim.Default()
	a.Preamp.GainDB, a.Limiter.On = 46, true
	b := sim.Default()
	b.Preamp.GainDB = 34
	if s.Strips[0].Chain != a || s.Strips[1].Chain != b {
		t.Errorf("got %+v\nand %+v", s.Strips[0].Chain, s.Strips[1].Chain)
	}
	if s.Seed != 7 || s.Title != "The captain laughs" || len(s.Source.Script) != 2 || *s.Source.Script[1].AtS != 2 {
		t.Errorf("got %+v", s)
	}
	if r := float64(a.Limiter.Ratio); !math.IsInf(r, 1) {
		t.Errorf("ratio %v", r)
	}
}

// What stands above the strips holds for all, also when it is written below them.
func TestSharedAfterStrips(t *testing.T) {
	s, err := Parse("x", []byte("strips: {A: {}, B: {distance_m: 1}, C: }\ndistance_m: 0.3\nroom: {noise_dba: 50}\n"))
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []float64{0.3, 1, 0.3} {
		if c := s.Strips[i].Chain; c.DistanceM != want || c.Room.NoiseDBA != 50 {
			t.Errorf("strip %d: %v m, %v dBA", i, c.DistanceM, c.Room.NoiseDBA)
		}
	}
}

func TestFaults(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"strips:\n  A:\n    preamp: {gain_db: 900}\n", "f.yaml:3:23: strips.A.preamp.gain_db: 900 dB is out of range: -20 to 80 dB"},
		{"strips:\n  A:\n    preamp: {gian_db: 9}\n", "f.yaml:3:14: strips.A.preamp.gian_db: unknown key: did you mean gain_db?"},
		{"strip: {}\n", "f.yaml:1:1: strip: unknown key: did you mean strips?"},
		{"preamp: {gain_db: 40}\n", "f.yaml:1:1: preamp: unknown key: preamp belongs under strips"},
		{"gain_db: 40\n", "f.yaml:1:1: gain_db: unknown key: gain_db belongs under preamp"},
		{"strips: {A: {gain_db: 40}}\n", "f.yaml:1:14: strips.A.gain_db: unknown key: gain_db belongs under preamp"},
		{"plan: {laughs_per_hour: 2000}\n", "f.yaml:1:25: plan.laughs_per_hour: 2000 an hour is out of range: 0 to 1000 an hour"},
		{"plan:\n  laughs_per_huor: 20\n", "f.yaml:2:3: plan.laughs_per_huor: unknown key: did you mean laughs_per_hour?"},
		{"plan: {laugh_crest: {mean_bd: 3}}\n", "f.yaml:1:22: plan.laugh_crest.mean_bd: unknown key: did you mean mean_db?"},
		{"plan: {laugh_crest: {mean_db: -3}}\n", "plan.laugh_crest.mean_db: -3 dB is out of range: 0 to 40 dB"},
		{"plan: {laugh_crest: 17}\n", "plan.laugh_crest: want assumptions (mean_db and sd_db), not 17"},
		{"plan: {talk_crest.mean_db: 17}\n", "f.yaml:1:8: plan.talk_crest.mean_db"},
		{"plan: [1]\n", "f.yaml:1:7: plan: want assumptions"},
		{"plan: {risk: 1}\n", "plan.risk: 1 is out of range: 0.0001 to 0.9999"},
		{"plan: {risk: low}\n", `plan.risk: want a number, 0.0001 to 0.9999, not "low"`},
		{"laughs_per_hour: 20\n", "f.yaml:1:1: laughs_per_hour: unknown key: laughs_per_hour belongs under plan"},
		{"wombat: 1\n", "f.yaml:1:1: wombat: unknown key: there are title, about, seed"},
		{"distance_m: 3\n", "f.yaml:1:13: distance_m: 3 m is out of range: 0.02 to 2 m"},
		{"distance_m: near\n", `f.yaml:1:13: distance_m: want a number, 0.02 to 2 m, not "near"`},
		{"distance_m: .nan\n", "f.yaml:1:13: distance_m: NaN m is out of range"},
		{"seed: -1\n", "f.yaml:1:7: seed: -1 is out of range"},
		{"seed: 1.5\n", "f.yaml:1:7: seed: want a whole number"},
		{"seed: 99999999999999999999\n", "f.yaml:1:7: seed: "},
		{"strips: {A: {converter: {bits: 16.5}}}", "want a whole number, 4 to 32"},
		{"strips: {A: {limiter: {on: yes}}}", `strips.A.limiter.on: want true or false, not "yes"`},
		{"strips: {A: {limiter: {ratio: 0.5}}}", "0.5:1 is out of range: 1 or more, or inf"},
		{"strips: {A: {file: {format: pcm42}}}", `there is no "pcm42": did you mean pcm24? There are pcm16, pcm24 and float32`},
		{"strips: {A: {file: pcm24}}", `strips.A.file: want settings (format and dither), not "pcm24"`},
		{"strips: {A: 3}", "strips.A: want settings"},
		{"strips: {}", "strips: 0 strips: want 1 to 16"},
		{"strips: {../A: {}}", "a strip's name becomes a file's"},
		{"strips: {nul: {}}", "a strip's name becomes a file's"},
		{"strips: {a: {}, A: {}}", "two strips of that name"},
		{"strips: [A, B]", "want named strips"},
		{"source: {talker: captian}", `there is no "captian": did you mean captain?`},
		{"source: {talker: captain, file: x.wav}", "either a file or a talker"},
		{"source: {talker: captain, level_db_spl: 70}", "is for a file"},
		{"source: {file: x.wav, level_db_spl: 700}", "700 dB SPL is out of range: 20 to 130 dB SPL"},
		{"source: {script: []}", "is empty: nothing would happen"},
		{"source: {script: [{do: laughs}]}", `source.script[1].do: "laughs" is not one of say, laugh`},
		{"source:\n  script:\n    - {text: hello}\n    - {text: hello, effort: screaming}\n", "f.yaml:4:29: source.script[2].effort: "},
		{"source: {script: [{txet: hello}]}", "source.script[1].txet: unknown key: did you mean text?"},
		{"source: {script: [{do: lean, talker: ilse, distance_m: 0.1}]}", "only the source's own talker"},
		{"a: 1\na: 2\n", `f.yaml:2:1: mapping key "a" already defined`},
		{"a: [\n", "f.yaml:1:4: "},
		{"", "f.yaml: is empty"},
		{"# nothing\n", "f.yaml: is empty"},
		{"just words", "want settings"},
		{"title: a\n---\ntitle: b\n", "a second document"},
		{"title: &x a\nabout: *x\n", "f.yaml:1:8: &: anchors, aliases"},
		{"distance_m: !!float 3\n", "anchors, aliases, tags"},
		{"<<: {title: a}\n", "merged or composite keys"},
		{"? a\n: b\n", "merged or composite keys"},
		{"[a]: b\n", "f.yaml:1:4: "},
		{"title: \"a\\u0007b\"\n", "cannot be printed"},
		{strings.Repeat("[", 1000), "brackets go more than 24 deep"},
		{"title: " + strings.Repeat("x", MaxBytes), "too long for a scenario"},
	} {
		_, err := Parse("f.yaml", []byte(c.text))
		var e *Error
		if !errors.As(err, &e) {
			t.Errorf("%.60q: got %v", c.text, err)
			continue
		}
		if !strings.Contains(err.Error(), c.want) {
			t.Errorf("%.60q:\n got %v\nwant %s", c.text, err, c.want)
		}
		for _, f := range e.Faults {
			if l := f.Error(); strings.ContainsAny(l, "\n\r") || len(l) > 600 {
				t.Errorf("%.60q: not one line: %q", c.text, l)
			}
		}
	}
}

func TestAllFaultsAtOnce(t *testing.T) {
	_, err := Parse("f.yaml", []byte("strips:\n  A: {preamp: {gain_db: 900, pad: 3}}\n  B: {limiter: {on: 1}}\ndistance_m: 9\ntitel: x\n"))
	var e *Error
	if !errors.As(err, &e) || len(e.Faults) != 5 {
		t.Fatalf("got %v", err)
	}
	for i, want := range []int{2, 2, 3, 4, 5} {
		if e.Faults[i].Line != want {
			t.Errorf("fault %d: %v, want line %d", i, e.Faults[i], want)
		}
	}
}

func TestSet(t *testing.T) {
	s, err := LoadBuiltin(DefaultName)
	if err != nil {
		t.Fatal(err)
	}
	set := func(p, v string) {
		t.Helper()
		if err := s.Set(p, v); err != nil {
			t.Errorf("%s=%s: %v", p, v, err)
		}
	}
	set("strips.A.preamp.gain_db", "52")
	set("limiter.ratio", "4")
	set("room.noise_dba", "40.5")
	set("strips.B.file", "{format: float32}")
	set("source.talker", "ilse")
	set("seed", "99")
	set("plan.laughs_per_hour", "30")
	set("plan.talk_crest", "{sd_db: 2}")
	set("plan.noise_lufs", "-55")
	set("plan", "{minutes: 90}")
	set("title", "Another")
	a, b := s.Strips[0].Chain, s.Strips[1].Chain
	if a.Preamp.GainDB != 52 || b.Preamp.GainDB != 34 || a.Limiter.Ratio != 4 || b.Limiter.Ratio != 4 ||
		a.Room.NoiseDBA != 40.5 || b.Room.NoiseDBA != 40.5 || s.Base.Room.NoiseDBA != 40.5 ||
		b.File.Format != sim.Float32 || a.File.Format != sim.PCM24 || s.Seed != 99 || s.Source.Talker != "ilse" {
		t.Errorf("got %+v", s)
	}
	if p := s.Plan; p.Model.LaughPerHour != 30 || p.Model.TalkCrest.SDDB != 2 || p.Model.TalkCrest.MeanDB != plan.Default().TalkCrest.MeanDB || p.Limits.NoiseLUFS != -55 || p.Model.Minutes != 90 {
		t.Errorf("plan %+v", p)
	}
	set("source.file", "x.wav")
	if s.Source.Script != nil || s.Source.File != "x.wav" {
		t.Errorf("source %+v", s.Source)
	}
	before := s.Clone()
	for _, c := range []struct{ path, value, want string }{
		{"strips.A.preamp.gain_db", "900", "--set strips.A.preamp.gain_db: 900 dB is out of range: -20 to 80 dB"},
		{"preamp.gain_db", "loud", `--set preamp.gain_db: want a number, -20 to 80 dB, not "loud"`},
		{"strips.C.preamp.gain_db", "3", `there is no strip "C": there are A and B`},
		{"strips.A.preamp.gian_db", "3", "did you mean strips.A.preamp.gain_db?"},
		{"preampgain", "3", "there is no such setting"},
		{"gain_db", "3", "did you mean preamp.gain_db?"},
		{"", "3", "there is no such setting"},
		{"strips.A.", "3", "there is no such setting"},
		{"plan.laughs_per_hour", "-1", "--set plan.laughs_per_hour: -1 an hour is out of range: 0 to 1000 an hour"},
		{"plan.laughs", "3", "did you mean plan.laughs_per_hour?"},
		{"laughs_per_hour", "3", "did you mean plan.laughs_per_hour?"},
		{"plan.", "3", "there is no such setting"},
		{"plan.talk_crest.", "3", "there is no such setting"},
		{"preamp.gain_db", "", "is empty"},
		{"preamp", "{gain_db: 40, pad: 1}", "unknown key: did you mean pad_db?"},
		{"preamp.gain_db", "[", "--set preamp.gain_db: "},
	} {
		err := s.Set(c.path, c.value)
		if err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s=%s:\n got %v\nwant %s", c.path, c.value, err, c.want)
		}
	}
	if !reflect.DeepEqual(before, s.Clone()) {
		t.Error("a refused setting changed the scenario")
	}
}

func TestBuiltin(t *testing.T) {
	all := Builtin()
	if len(all) < 5 {
		t.Fatalf("%d built-in scenarios", len(all))
	}
	for i, s := range all {
		name := BuiltinNames()[i]
		if s.Title == "" || s.About == "" {
			t.Errorf("%s: no title or nothing about it", name)
		}
		roundTrip(t, s)
		p, err := s.Open(context.Background(), nil)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if p.Seconds() < 5 || p.Seconds() > 60 || p.Rate != 48000 || len(p.Marks) == 0 {
			t.Errorf("%s: %.1f s at %d Hz, %d marks", name, p.Seconds(), p.Rate, len(p.Marks))
		}
		if name == "lean-in" && len(p.Moves) != 2 {
			t.Errorf("%s: moves %v", name, p.Moves)
		}
	}
	if _, err := LoadBuiltin("captain-laugh"); err == nil || !strings.Contains(err.Error(), "did you mean captain-laughs?") {
		t.Errorf("got %v", err)
	}
	if _, err := LoadBuiltin("../builtin/captain-laughs"); err == nil {
		t.Error("a path was taken for a name")
	}
}

func roundTrip(t *testing.T, s *Scenario) {
	t.Helper()
	text, err := s.Marshal()
	if err != nil {
		t.Fatal(err)
	}
	back, err := Parse("back", text)
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	back.Dir = s.Dir
	if !reflect.DeepEqual(normal(s), normal(back)) {
		t.Fatalf("not the same again:\n%+v\n%+v\n%s", s, back, text)
	}
}

// normal makes equal what is equal: +0 and −0, absent and default levels.
func normal(s *Scenario) string {
	script := ""
	for _, e := range s.Source.Script {
		at := ""
		if e.AtS != nil {
			at = fmt.Sprint(*e.AtS + 0)
		}
		e.AtS = nil
		script += fmt.Sprintf("%s %+v\n", at, e)
	}
	n := *s
	n.Source.Script = nil
	if n.Source.File == "" {
		n.Source.LevelDBSPL = 0
	}
	// What strips start from is not kept beyond what they share.
	shared := sim.Default()
	shared.Room, shared.DistanceM, shared.Microphone = n.Base.Room, n.Base.DistanceM, n.Base.Microphone
	n.Base = shared
	return strings.ReplaceAll(fmt.Sprintf("%+v %s", n, script), "-0 ", "0 ")
}

// A conversation is made from the seed, wherever the seed stands and whenever it
// changes; a script of one's own ends it.
func TestConversation(t *testing.T) {
	text := "source: {talker: joss, conversation: {minutes: 3, with: [maren]}}\nseed: 5\nstrips: {A: {}}\n"
	s, err := Parse("c.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	roundTrip(t, s)
	said := map[string]int{}
	laughs := 0
	for _, e := range s.Source.Script {
		switch e.Do {
		case "say":
			said[e.Talker]++
		case "laugh":
			laughs++
		}
	}
	if len(said) != 2 || said["joss"] < 5 || said["maren"] < 2 {
		t.Errorf("who says how much: %v", said)
	}
	p, err := s.Open(t.Context(), nil)
	if err != nil {
		t.Fatal(err)
	}
	if min := float64(p.Frames) / float64(p.Rate) / 60; min < 3 || min > 3.5 {
		t.Errorf("%.2f min, want 3", min)
	}
	p.Close()
	again, err := Parse("c.yaml", []byte(text))
	if err != nil || !reflect.DeepEqual(s.Source, again.Source) {
		t.Errorf("another conversation from the same seed (%v)", err)
	}
	if err := again.Set("seed", "6"); err != nil || reflect.DeepEqual(s.Source.Script, again.Source.Script) {
		t.Errorf("the same conversation from another seed (%v)", err)
	}
	if err := again.Set("source.talker", "ilse"); err != nil || again.Source.Script[0].Talker != "ilse" {
		t.Errorf("not led by another talker (%v)", err)
	}
	if err := again.Set("source.talker", "maren"); err == nil {
		t.Error("maren talks with herself")
	}
	if err := again.Set("source.script", "[{do: laugh}]"); err != nil || len(again.Source.Script) != 1 || again.Source.Conversation.Minutes != 0 {
		t.Errorf("a script of one's own: %v", err)
	}
	for _, bad := range []string{
		"{conversation: 3}", "{conversation: {minutes: 0}}", "{conversation: {minutes: 181}}", "{conversation: {with: maren}}",
		"{conversation: {with: [nobody]}}", "{conversation: {with: [pip, pip]}}", "{conversation: {minute: 3}}",
		"{conversation: {minutes: 3}, script: [{do: laugh}]}", "{conversation: {minutes: 3}, file: a.wav}", "{talker: pip, conversation: {with: [pip]}}",
	} {
		if _, err := Parse("f", []byte("source: "+bad+"\nstrips: {A: {}}\n")); err == nil {
			t.Errorf("accepted: %s", bad)
		}
	}
}

func FuzzParse(f *testing.F) {
	f.Add(contract)
	for _, n := range BuiltinNames() {
		text, _ := BuiltinText(n)
		f.Add(string(text))
	}
	for _, s := range []string{"", "[", "? a\n: b", "a: |\n  x", "<<: *a", "strips: {A: {limiter: {ratio: .inf}}}",
		"title: \"inf\"", "title: ' #x'", "title: \"- a: b\"", "source: {file: \"~\", level_db_spl: 1e2}", "--- !!map\n{}", "source: {conversation: {minutes: 2, with: [pip]}}", "%YAML 1.2\n---\na: b"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		t0 := time.Now()
		s, err := Parse("f", []byte(text))
		if d := time.Since(t0); d > 5*time.Second {
			t.Fatalf("%v for %d bytes", d, len(text))
		}
		if err != nil {
			var e *Error
			if !errors.As(err, &e) || len(e.Faults) == 0 {
				t.Fatalf("not an *Error: %v", err)
			}
			return
		}
		for _, st := range s.Strips {
			if err := st.Chain.Validate(); err != nil {
				t.Fatal(err)
			}
		}
		roundTrip(t, s)
	})
}

func FuzzSet(f *testing.F) {
	f.Add("strips.A.preamp.gain_db", "52")
	f.Add("source.script", "[{do: laugh}]")
	f.Add("", "x")
	f.Add("strips", "{A: {}}")
	f.Add("..", ":")
	f.Fuzz(func(t *testing.T, path, value string) {
		s, err := LoadBuiltin(DefaultName)
		if err != nil {
			t.Fatal(err)
		}
		if err := s.Set(path, value); err == nil {
			roundTrip(t, s)
		}
	})
}

// The slowest things a file of the allowed size can hold.
func TestBoundedTime(t *testing.T) {
	for _, unit := range []string{"[", "- ", "? ", "a: 1\n", "'\n", "|\n", "&a ", "!a ", ":", "x\n", "\"", "{a: ", " a:\n", "- a:\n", "#\n", "\t", "*a ", "<<: ", "%", "---\n"} {
		text := strings.Repeat(unit, MaxBytes/len(unit))
		done := make(chan bool, 1)
		t0 := time.Now()
		go func() {
			defer func() { done <- recover() == nil }()
			Parse("f", []byte(text))
		}()
		select {
		case ok := <-done:
			if !ok {
				t.Errorf("%q: panic", unit)
			}
			if d := time.Since(t0); d > time.Second {
				t.Logf("%q: %v", unit, d)
			}
		case <-time.After(60 * time.Second):
			t.Fatalf("%q: still going after a minute", unit)
		}
	}
	indent := "" // deeper and deeper blocks
	var b strings.Builder
	for i := 0; b.Len() < MaxBytes-1000; i++ {
		b.WriteString(indent + "a:\n")
		indent += " "
	}
	t0 := time.Now()
	Parse("f", []byte(b.String()))
	t.Logf("nested blocks: %v", time.Since(t0))
}

func TestLoad(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "s.yaml")
	if err := os.WriteFile(path, []byte("source: {file: sub/voice.wav}\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	s, err := Load(path)
	if err != nil {
		t.Fatal(err)
	}
	if want := filepath.Join(dir, "sub", "voice.wav"); s.Path() != want {
		t.Errorf("path %s, want %s", s.Path(), want)
	}
	_, err = s.Open(context.Background(), nil)
	var ie *sounds.InputError
	if !errors.As(err, &ie) {
		t.Errorf("a file that is not there: %v", err)
	}
	for _, p := range []string{dir, filepath.Join(dir, "none.yaml")} {
		if _, err := Load(p); !errors.As(err, &ie) {
			t.Errorf("%s: %v", p, err)
		}
	}
}

// A recording keeps its rate, becomes mono and gets its level; its loudest second
// is where the level is taken.
func TestRecording(t *testing.T) {
	const rate = 44100
	x := make([][]float64, 2)
	for c := range x {
		x[c] = make([]float64, 3*rate)
		for i := range x[c] {
			a := 0.01
			if i >= rate && i < 2*rate {
				a = 0.5
			}
			x[c][i] = a * math.Sin(2*math.Pi*441*float64(i)/rate)
		}
	}
	data, err := codec.WAVBytes(rate, x, codec.Float32)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "v.wav"), data, 0o666); err != nil {
		t.Fatal(err)
	}
	s := New()
	s.Dir, s.Source.File, s.Source.LevelDBSPL = dir, "v.wav", 80
	last := -1.0
	p, err := s.Open(context.Background(), func(share float64) { last = share })
	if err != nil {
		t.Fatal(err)
	}
	defer p.Close()
	if p.Rate != rate || p.Frames != 3*rate || len(p.Notes) != 1 || last != 1 {
		t.Errorf("%d Hz, %d frames, notes %q, progress ended at %v", p.Rate, p.Frames, p.Notes, last)
	}
	var all []float64
	buf := make([]float64, 1000)
	for {
		n, err := p.Read(buf)
		all = append(all, buf[:n]...)
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	e := 0.0
	for _, v := range all[rate : 2*rate] {
		e += v * v
	}
	if db := float64(sim.Pascal(math.Sqrt(e / rate)).SPL()); math.Abs(db-80) > 0.01 {
		t.Errorf("loudest second has %.3f dB SPL, want 80", db)
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := s.Open(ctx, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
}

// Strips of equal settings give equal samples.
func TestStripsShareNoise(t *testing.T) {
	s := New()
	s.Strips = append(s.Strips, Strip{"B", s.Strips[0].Chain})
	p, err := s.Open(context.Background(), nil)
	if err != nil {
		t.Fatal(err)
	}
	strips, err := s.NewStrips(p.Rate)
	if err != nil {
		t.Fatal(err)
	}
	var a []float64
	n := 0
	_, err = sim.Run(context.Background(), p, strips, sim.RunOptions{Sink: func(i int, tp *sim.Taps) error {
		if i == 0 {
			a = append(a[:0], tp.Wave[sim.AtFile]...)
			return nil
		}
		for k, v := range tp.Wave[sim.AtFile] {
			if v != a[k] {
				return fmt.Errorf("sample %d differs", n+k)
			}
		}
		n += tp.Len()
		return nil
	}})
	if err != nil || int64(n) != p.Frames {
		t.Errorf("%d of %d samples: %v", n, p.Frames, err)
	}
}
