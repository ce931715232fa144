package plancmd

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"encoding/xml"
	"fmt"
	"image/png"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/clitest"
	"gainwright/sim"
	"gainwright/sim/plan"
	"gainwright/sounds/voice"
)

// planText runs plan with few sessions.
func planText(t *testing.T, dir string, args ...string) string {
	t.Helper()
	return must(t, dir, append([]string{"plan", "--sessions", "1000"}, args...)...)
}

type planWindow struct {
	Low   *float64 `json:"low_db"`
	High  *float64 `json:"high_db"`
	From  *float64 `json:"high_from_db"`
	To    *float64 `json:"high_to_db"`
	Empty bool
}

// windowAt is the upper end.
func windowAt(t *testing.T, p planJSON) float64 {
	t.Helper()
	if p.Window.High == nil {
		t.Fatal("the window has no upper end")
	}
	return *p.Window.High
}

type planJSON struct {
	Sessions  int
	Seed      uint64
	Window    planWindow
	Guest     string
	Suggested *struct {
		plan.Point
		Held     float64  `json:"held_peak_dbfs"`
		HeldLow  *float64 `json:"held_peak_low_dbfs"`
		HeldHigh *float64 `json:"held_peak_high_dbfs"`
		Pad      float64  `json:"pad_db"`
		NoKnob   bool     `json:"no_knob"`
	}
	If    []plan.IfLaugh `json:"if_the_laugh_reads"`
	Heard *struct {
		Laughs []float64 `json:"laugh_dbfs"`
		Found  []any
		Guest  struct {
			OpenLaugh float64 `json:"open_laugh_db"`
		}
	}
	Now      plan.Point `json:"at_the_gain_set"`
	Curve    []plan.Point
	Remedies []struct {
		Name   string
		Wider  *float64 `json:"wider_by_db"`
		Window map[string]any
	}
	Needs       []plan.Need
	Sensitivity []map[string]any
	Limits      []plan.Param
	Assumptions []plan.Param
	Settings    map[string]any
	Files       map[string]string
}

func planOf(t *testing.T, dir string, args ...string) (p planJSON) {
	t.Helper()
	text := planText(t, dir, append(args, "--json")...)
	clitest.ReadJSON(t, text)
	if err := json.Unmarshal([]byte(text), &p); err != nil {
		t.Fatal(err)
	}
	return p
}

func TestPlan(t *testing.T) {
	dir := t.TempDir()
	out := planText(t, dir)
	for _, want := range []string{"Let the guest talk for a minute, as they will talk.", "should be about −", "The meter goes before the knob.", "by more than 3 dB", "3 dB more headroom: ", "if the laugh reads",
		"a knock, pop or click", "The gain window reaches from ", "talk holds", "set in the scenario",
		"What would widen the window", "a safety track 12 dB lower", "laugh over ordinary talk", "second-hand", "Mind your ears", "local rules"} {
		if !strings.Contains(out, want) {
			t.Errorf("says nothing of %q:\n%s", want, out)
		}
	}
	for _, l := range strings.Split(out, "\n") {
		if strings.Contains(l, "NaN") || strings.Contains(l, "Inf") || strings.HasSuffix(l, " ") {
			t.Errorf("line %q", l)
		}
	}
	if got := clitest.Names(t, dir); got != "" {
		t.Errorf("wrote %s without being asked", got)
	}
	if again := planText(t, dir); again != out {
		t.Error("the same seed gives other numbers")
	}
	if other := planText(t, dir, "--seed", "2"); other == out {
		t.Error("another seed gives the same numbers")
	}
	if q := planText(t, dir, "--quiet"); q != "" {
		t.Errorf("--quiet says %q", q)
	}
}

func TestPlanJSON(t *testing.T) {
	dir := t.TempDir()
	base := planOf(t, dir)
	if base.Sessions != 1000 || base.Seed != 1 || base.Window.Empty || base.Window.Low == nil || base.Window.High == nil || base.Suggested == nil {
		t.Fatalf("%+v", base)
	}
	if g := base.Suggested.GainDB; g < *base.Window.Low || g > *base.Window.High || g != math.Floor(g) {
		t.Errorf("suggested %.2f of %.2f to %.2f", g, *base.Window.Low, *base.Window.High)
	}
	if s := base.Suggested; s.Held != math.Round(s.Held) || s.HeldLow == nil || s.HeldHigh == nil || *s.HeldLow > s.Held || *s.HeldHigh < s.Held {
		t.Errorf("the meter should hold %+v", s)
	}
	if s := base.Suggested; s.Risk > 0.05 || s.RiskMuch > s.Risk || s.RiskMuch == 0 {
		t.Errorf("risk %v, by 3 dB %v", s.Risk, s.RiskMuch)
	}
	if base.Guest != "ordinary" || len(base.If) == 0 {
		t.Errorf("guest %q, %v", base.Guest, base.If)
	}
	if !(*base.Window.From <= *base.Window.High && *base.Window.High <= *base.Window.To) {
		t.Errorf("interval of the upper end: %v %v %v", *base.Window.From, *base.Window.High, *base.Window.To)
	}
	if base.Now.GainDB != 40 || len(base.Curve) < 5 || len(base.Limits) != 3 || len(base.Assumptions) != len(plan.Default().Params()) || len(base.Sensitivity) == 0 {
		t.Errorf("%+v", base)
	}
	for _, a := range base.Assumptions {
		if a.Source == "" || a.Key == "" || a.Name == "" {
			t.Errorf("%+v", a)
		}
	}
	// What is changed shows, in the direction it must; the rest of the plan is left out.
	window := func(args ...string) plan.Window {
		t.Helper()
		p, cmd := planFlags{}, &cobra.Command{}
		p.addTo(cmd)
		if err := cmd.ParseFlags(append([]string{"--sessions", "1000"}, args...)); err != nil {
			t.Fatal(err)
		}
		sc, err := p.load("")
		if err != nil {
			t.Fatal(err)
		}
		st, err := p.apply(sc)
		if err != nil {
			t.Fatal(err)
		}
		s := plan.Setup{Chain: st.Chain, Model: sc.Plan.Model, Limits: sc.Plan.Limits}
		if err := s.Prepare(t.Context()); err != nil {
			t.Fatal(err)
		}
		r, err := plan.Simulate(t.Context(), s.Conversation(), p.sessions, sc.Seed, nil)
		if err != nil {
			t.Fatal(err)
		}
		return s.Window(r)
	}
	high := func(args ...string) float64 { t.Helper(); return window(args...).HighDB }
	h := *base.Window.High
	if v := high(); v != h {
		t.Fatalf("%.2f dB, the program has %.2f", v, h)
	}
	if v := high("--risk", "20%"); v <= h {
		t.Errorf("more risk accepted: %.2f dB, before %.2f", v, h)
	}
	if v := high("--risk", "0.2"); v != high("--risk", "20 %") {
		t.Errorf("a share and per cent differ: %.2f", v)
	}
	if v := high("--minutes", "240"); v >= h {
		t.Errorf("a longer session: %.2f dB, before %.2f", v, h)
	}
	if v := high("--set", "plan.laughs_per_hour=200"); v >= h {
		t.Errorf("more laughs: %.2f dB, before %.2f", v, h)
	}
	if v := high("--distance", "0.16"); v < h+20*math.Log10(2)+0.5 || v > h+9 { // people move less about, in decibels
		t.Errorf("twice the distance: %.2f dB, before %.2f", v, h)
	}
	// 12 mV/Pa instead of 1.8.
	if v := high("--mic", "condenser"); math.Abs(h-v-20*math.Log10(12/1.8)) > 0.02 {
		t.Errorf("a condenser: %.2f dB, before %.2f", v, h)
	}
	// The rail of 24 dBu comes before the second range's end, and full scale was 10.
	if v := high("--recorder", "float"); math.Abs(v-h-14) > 0.02 {
		t.Errorf("two ranges: %.2f dB, before %.2f", v, h)
	}
	if v := high("--limiter", "after"); v != h {
		t.Errorf("a limiter after the converter: %.2f dB, before %.2f", v, h)
	}
	if v := high("--limiter", "before", "--set", "input_limiter.attack_ms=0.1"); v <= h {
		t.Errorf("a fast limiter before it: %.2f dB, before %.2f", v, h)
	}
	if v := window("--noise", "-50").LowDB; v >= *base.Window.Low {
		t.Errorf("more noise accepted: from %.2f dB, before %.2f", v, *base.Window.Low)
	}
}

func TestPlanEmptyWindow(t *testing.T) {
	dir := t.TempDir()
	args := []string{"--set", "distance_m=0.6", "--set", "room.noise_dba=40"}
	p := planOf(t, dir, args...)
	if !p.Window.Empty || p.Suggested != nil || len(p.Needs) == 0 || p.Window.Low != nil {
		t.Fatalf("%+v", p)
	}
	out := planText(t, dir, append(args, "--out", "empty")...)
	for _, want := range []string{"There is no gain for", "Any one of these alone would open the window:", "come nearer: ", "instead of 60 cm", "quietest safe noise"} {
		if !strings.Contains(out, want) {
			t.Errorf("says nothing of %q:\n%s", want, out)
		}
	}
	card, err := os.ReadFile(filepath.Join(dir, "empty", "card.html"))
	if err != nil || !strings.Contains(string(card), "There is no gain for") || !strings.Contains(string(card), "come nearer") {
		t.Errorf("the card: %v", err)
	}
	// What is proposed works from the command line, too.
	for _, n := range p.Needs {
		if n.Key != "distance_m" {
			continue // the others are tried in sim/plan
		}
		q := planOf(t, dir, append(args, "--set", n.Key+"="+jsonNumber(n.To))...)
		if q.Window.Empty {
			t.Errorf("%s = %v does not open the window", n.Key, n.To)
		}
	}
	// A microphone too weak for anything.
	out = planText(t, dir, "--set", "microphone.max_spl_db=85")
	if !strings.Contains(out, "The microphone itself is too weak") || strings.Contains(out, "NaN") || strings.Contains(out, "Inf") {
		t.Errorf("a weak microphone:\n%s", out)
	}
	// Nobody says anything.
	still := []string{"--set", "plan.utterances_per_minute=0", "--set", "plan.laughs_per_hour=0", "--set", "plan.outbursts_per_hour=0", "--set", "plan.coughs_per_hour=0"}
	if out = planText(t, dir, append(still, "--out", "still")...); strings.Contains(out, "NaN") || strings.Contains(out, "Inf") {
		t.Errorf("an hour of silence:\n%s", out)
	}
}

func jsonNumber(v float64) string {
	b, _ := json.Marshal(v)
	return string(b)
}

func TestPlanFiles(t *testing.T) {
	dir := t.TempDir()
	for _, kind := range []string{"png", "svg"} {
		files := planOf(t, dir, "captain-laughs", "--strip", "B", "--out", kind, "--picture", kind).Files
		if got, want := clitest.Names(t, filepath.Join(dir, kind)), "assumptions."+kind+" card.html plan.json plan."+kind; got != want {
			t.Fatalf("%s holds %s, want %s", kind, got, want)
		}
		if len(files) != 4 {
			t.Errorf("files %v", files)
		}
		for _, n := range []string{"plan.", "assumptions."} {
			b, err := os.ReadFile(filepath.Join(dir, kind, n+kind))
			if err != nil {
				t.Fatal(err)
			}
			if kind == "png" {
				if img, err := png.Decode(bytes.NewReader(b)); err != nil || img.Bounds().Dx() < 1000 {
					t.Errorf("%s: %v", n, err)
				}
				continue
			}
			d := xml.NewDecoder(bytes.NewReader(b))
			for {
				if _, err := d.Token(); err == io.EOF {
					break
				} else if err != nil {
					t.Fatal(err)
				}
			}
			if bytes.Contains(b, []byte("NaN")) {
				t.Errorf("%s draws at no place", n)
			}
		}
	}
	page, err := os.ReadFile(filepath.Join(dir, "png", "card.html"))
	if err != nil {
		t.Fatal(err)
	}
	// The card needs nothing else: no address, no script.
	if m := regexp.MustCompile(`(?i)(src|href)=|https?:|<script|url\(`).Find(page); m != nil {
		t.Errorf("the card refers to %q", m)
	}
	for _, want := range []string{"The captain laughs", "What to do if", "Mind your ears", "Guest"} {
		if !strings.Contains(string(page), want) {
			t.Errorf("the card says nothing of %q", want)
		}
	}
	// Nothing is overwritten unasked, and what is there stays.
	status, _, errs := call(t, dir, "plan", "--sessions", "1000", "--out", "png")
	if status != cli.ExitUsage || !strings.Contains(errs, "png") {
		t.Errorf("status %d: %s", status, errs)
	}
	after, _ := os.ReadFile(filepath.Join(dir, "png", "card.html"))
	if !bytes.Equal(page, after) {
		t.Error("the card was changed")
	}
	planText(t, dir, "--out", "png", "--force")
}

func TestPlanMisuse(t *testing.T) {
	dir := t.TempDir()
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"--risk", "2"}, "--risk: 2 is out of range: 0.0001 to 0.9999"},
		{[]string{"--risk", "much"}, `--risk: want a number, 0.0001 to 0.9999, not "much"`},
		{[]string{"--risk", "x%"}, "--risk: want a share, as 0.05 or 5%"},
		{[]string{"--noise", "10"}, "--noise: 10 LUFS is out of range: -120 to 0 LUFS"},
		{[]string{"--minutes", "0"}, "--minutes: 0 min is out of range: 0.1 to 1440 min"},
		{[]string{"--sessions", "10"}, "--sessions: 10 is out of range: 1000 to 2000000"},
		{[]string{"--mic", "ribbon"}, `--mic: there is no "ribbon": there are dynamic, condenser, clip-on`},
		{[]string{"--recorder", "tape"}, `--recorder: there is no "tape": there are portable, handheld`},
		{[]string{"--set", "plan.laughs=3"}, "did you mean plan.laughs_per_hour?"},
		{[]string{"--strip", "Z"}, `--strip: there is no strip "Z"`},
		{[]string{"--picture", "gif"}, `--picture: there is no "gif"`},
		{[]string{"--out", "no/such/place"}, "there is no directory"},
		{[]string{"captain-laugh"}, "did you mean captain-laughs?"},
		{[]string{"a", "b"}, "takes one scenario at most"},
	} {
		status, out, errs := call(t, dir, append([]string{"plan"}, c.args...)...)
		if status != cli.ExitUsage || out != "" || !strings.Contains(errs, c.want) || strings.Count(errs, "\n") != 1 {
			t.Errorf("%v: status %d, stdout %q, stderr %q", c.args, status, out, errs)
		}
	}
	if got := clitest.Names(t, dir); got != "" {
		t.Errorf("left behind %s", got)
	}
	help := must(t, dir, "plan", "--help")
	for _, want := range []string{"Examples:", "gainwright plan --distance", "--mic condenser", "--recorder float", "--risk", "card.html"} {
		if !strings.Contains(help, want) {
			t.Errorf("--help says nothing of %q", want)
		}
	}
}

// TestPlanGuest: the kind of conversation, by flag and in a scenario, and what is said
// of its own has the last word.
func TestPlanGuest(t *testing.T) {
	dir := t.TempDir()
	held := func(args ...string) float64 {
		t.Helper()
		p := planOf(t, dir, args...)
		if p.Suggested == nil {
			t.Fatalf("%v: no suggestion", args)
		}
		return p.Suggested.Point.GainDB
	}
	calm, ordinary, lively := held("--guest", "calm"), held("--guest", "ordinary"), held("--guest", "lively")
	if !(calm > ordinary+1 && ordinary > lively+1) {
		t.Errorf("calm %.0f dB, ordinary %.0f, lively %.0f", calm, ordinary, lively)
	}
	if g := held("--set", "plan.preset=lively"); g != lively {
		t.Errorf("as a setting %.0f dB, as a flag %.0f", g, lively)
	}
	file := filepath.Join(dir, "s.yaml")
	if err := os.WriteFile(file, []byte("plan: {outbursts_per_hour: 0.2, preset: lively}\nsource: {talker: ilse, script: [{text: Good morning.}]}\nstrips: {A: {}}\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	p := planOf(t, dir, file)
	for _, a := range p.Assumptions {
		switch {
		case a.Key == "laughs_per_hour" && a.Value != 60, a.Key == "outbursts_per_hour" && a.Value != 0.2:
			t.Errorf("%s is %g", a.Key, a.Value)
		}
	}
	if p.Guest != "" {
		t.Errorf("a preset with a figure of its own is called %q", p.Guest)
	}
}

// TestPlanKnobs: advice stays within what knobs offer.
func TestPlanKnobs(t *testing.T) {
	dir := t.TempDir()
	hot := []string{"--set", "microphone.sensitivity_mv_per_pa=150", "--distance", "0.05"}
	p := planOf(t, dir, hot...)
	if p.Suggested == nil || p.Suggested.Pad != 20 || p.Suggested.Point.GainDB < 0 {
		t.Errorf("a hot microphone: %+v", p.Suggested)
	}
	if out := planText(t, dir, hot...); !strings.Contains(out, "with a pad of 20 dB switched in") {
		t.Errorf("no word of the pad:\n%s", out)
	}
	if out := planText(t, dir, "--recorder", "float"); !strings.Contains(out, "no knob to set") || strings.Contains(out, "The meter goes before the knob") {
		t.Errorf("a float recorder:\n%s", out)
	}
}

// TestPlanHeard: what the meter held in a check moves the plan, the way it must.
func TestPlanHeard(t *testing.T) {
	dir := t.TempDir()
	gain := func(what string) float64 {
		t.Helper()
		p := planOf(t, dir, "--heard", what)
		if p.Suggested == nil {
			t.Fatalf("%s: no suggestion", what)
		}
		return p.Suggested.Point.GainDB
	}
	if a, b := gain("talk=-22,laugh=-18,gain=40"), gain("talk=-22,laugh=-8,gain=40"); a < b+1 {
		t.Errorf("a laugh of −18 dBFS: %.0f dB of gain; of −8 dBFS: %.0f", a, b)
	}
	if a, b := gain("talk=-22,laugh=-8,gain=40"), gain("talk=-22,asked=-8,gain=40"); b < a {
		t.Errorf("a laugh by itself: %.0f dB of gain; on request, which tells less: %.0f", a, b)
	}
	// The same check at another gain is the same guest.
	if a, b := gain("talk=-22,laugh=-8,gain=40"), gain("talk=-32,laugh=-18,gain=30"); a != b {
		t.Errorf("at 40 dB %.0f, at 30 dB %.0f", a, b)
	}
	out := planText(t, dir, "--heard", "talk=-22,gain=40")
	for _, want := range []string{"What is missing is a laugh", "if the laugh reads", "Set the gain to "} {
		if !strings.Contains(out, want) {
			t.Errorf("says nothing of %q:\n%s", want, out)
		}
	}
	if out := planText(t, dir, "--heard", "talk=-10,laugh=0"); !strings.Contains(out, "full scale in the check") {
		t.Errorf("no word of the laugh that was cut:\n%s", out)
	}
	for arg, want := range map[string]string{
		"laugh=-9": "talk is missing", "talk=3": "out of range: -90 to 0", "talk=-20,cough=-3": `there is no "cough"`, "talk": "want talk=DBFS", "talk=-20,gain=99": "out of range: -20 to 80",
	} {
		if status, out, errs := call(t, dir, "plan", "--heard", arg); status != cli.ExitUsage || out != "" || !strings.Contains(errs, want) {
			t.Errorf("%s: status %d, %q, %q", arg, status, out, errs)
		}
	}
}

// recordCheck records a sound check of a talker, half a minute of talk and then a laugh
// if laughDB says how much louder than usual, through the engine at 8 cm and 30 dB of
// gain, and returns its path.
func recordCheck(t *testing.T, dir, name, talker string, laugh bool, laughDB float64) string {
	t.Helper()
	var s voice.Script
	for _, text := range voice.Ordinary()[:8] {
		s = append(s, voice.Event{Text: text, Effort: voice.Normal})
	}
	if laugh {
		s = append(s, voice.Event{Do: "pause", OverS: 1}, voice.Event{Do: "laugh", LevelDB: laughDB})
	}
	s = append(s, voice.Event{Do: "pause", OverS: 1})
	p, err := voice.New(s, talker, 4)
	if err != nil {
		t.Fatal(err)
	}
	x := make([]float64, p.Length())
	for at := 0; at < len(x); {
		n, err := p.Read(x[at:])
		if at += n; err == io.EOF {
			break
		} else if err != nil {
			t.Fatal(err)
		}
	}
	c := sim.Default()
	c.Preamp.GainDB = 30
	strip, err := sim.NewStrip(voice.Rate, c, 1)
	if err != nil {
		t.Fatal(err)
	}
	data := []byte("RIFF\x00\x00\x00\x00WAVEfmt \x10\x00\x00\x00\x01\x00\x01\x00")
	le := binary.LittleEndian
	data = le.AppendUint32(data, voice.Rate)
	data = le.AppendUint32(data, 2*voice.Rate)
	data = append(data, 2, 0, 16, 0, 'd', 'a', 't', 'a', 0, 0, 0, 0)
	head := len(data)
	if _, err := sim.Run(t.Context(), &sim.Samples{X: x}, []*sim.Strip{strip}, sim.RunOptions{Sink: func(_ int, b *sim.Taps) error {
		for _, v := range b.Wave[sim.AtFile][:b.Len()] {
			data = le.AppendUint16(data, uint16(int16(math.Round(v*32767))))
		}
		return nil
	}}); err != nil {
		t.Fatal(err)
	}
	le.PutUint32(data[4:], uint32(len(data)-8))
	le.PutUint32(data[head-4:], uint32(len(data)-head))
	path := filepath.Join(dir, name)
	if err := os.WriteFile(path, data, 0o666); err != nil {
		t.Fatal(err)
	}
	return path
}

// TestPlanCheck: a spoken check is found out about by itself: a louder laugh asks for
// less gain, by about what the closed form says, and without one it is said what is
// missing.
func TestPlanCheck(t *testing.T) {
	dir := t.TempDir()
	plans := map[float64]planJSON{}
	for _, db := range []float64{-6, 0, 4} {
		file := recordCheck(t, dir, fmt.Sprintf("laugh%g.wav", db), "captain", true, db)
		p := planOf(t, dir, "--check", file, "--gain", "30", "--sessions", "4000")
		if p.Heard == nil || len(p.Heard.Laughs) != 1 || p.Suggested == nil {
			t.Fatalf("%+g dB: heard %+v", db, p.Heard)
		}
		plans[db] = p
	}
	louder := plans[4].Heard.Laughs[0] - plans[-6].Heard.Laughs[0]
	if math.Abs(louder-10) > 0.5 {
		t.Errorf("a laugh 10 dB louder reads %.1f dB more", louder)
	}
	// The guest's own laugh moves by w/σ² of it: w = 1/(1/3.5² + 1/4²).
	own := plans[4].Heard.Guest.OpenLaugh - plans[-6].Heard.Guest.OpenLaugh
	if want := louder / 16 / (1/(3.5*3.5) + 1.0/16); math.Abs(own-want) > 0.15 { // that talk reads a little otherwise beside another laugh
		t.Errorf("the guest's own laugh moves by %.2f dB, want %.2f", own, want)
	}
	// The setting follows, less what talk, coughs and outbursts need anyway.
	if d := windowAt(t, plans[-6]) - windowAt(t, plans[4]); d < own/3 || d > own+0.3 {
		t.Errorf("the setting moves by %.1f dB, the laugh by %.1f", d, own)
	}
	out := planText(t, dir, "--check", recordCheck(t, dir, "none.wav", "joss", false, 0), "--gain", "30")
	if !strings.Contains(out, "What is missing is a laugh") || !strings.Contains(out, "found in ") {
		t.Errorf("a check without a laugh:\n%s", out)
	}
	// Marks have the last word.
	p := planOf(t, dir, "--check", filepath.Join(dir, "none.wav"), "--marks", "talk=0-15,laugh=16-17")
	if len(p.Heard.Laughs) != 1 {
		t.Errorf("marked: %+v", p.Heard)
	}
	silent := filepath.Join(dir, "silent.wav")
	if b, err := os.ReadFile(filepath.Join(dir, "none.wav")); err != nil {
		t.Fatal(err)
	} else {
		clear(b[44:])
		if err := os.WriteFile(silent, b, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	for want, args := range map[string][]string{
		"hardly any talk in it": {"--check", silent}, "there is no recording": {"--marks", "talk=0-3"},
		"one or the other": {"--check", silent, "--heard", "talk=-3"}, "the recording ends": {"--check", silent, "--marks", "talk=0-300"},
		"want talk=FROM-TO": {"--check", silent, "--marks", "hum=0-1"}, "no such file": {"--check", "nowhere.wav"},
	} {
		if status, out, errs := call(t, dir, append([]string{"plan"}, args...)...); status == cli.ExitOK || out != "" || !strings.Contains(errs, want) {
			t.Errorf("%v: status %d, %q, %q", args, status, out, errs)
		}
	}
}
