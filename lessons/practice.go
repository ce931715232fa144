package lessons

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"time"

	"gainwright/sim"
	"gainwright/sounds/scenario"
	"gainwright/sounds/voice"
)

// Practice is guest after guest without end. Each sits down for a sound check of
// about 20 s; the gain is set by that; then the conversation happens, compressed
// to the moments that tell: talk that warms up, a laugh, a whisper, someone
// leaning in. The score counts what matters afterwards. The better it goes, the
// harder the guests become.
//
//	p, _ := lessons.NewPractice(seed, history, nil)
//	for {
//		g := p.Guest()                 // who, where, with what
//		m, _ := p.Check(ctx)           // readings of the sound check, as often as wanted
//		p.Apply("preamp.gain_db", 38)  // and "limiter_place"
//		o, _ := p.Talk(ctx)            // once; changes made while it rolled are counted
//		history = p.History()          // to be kept
//		p.Next()
//	}
//
// It is for one goroutine at a time. The same seed and history give the same
// guest.
type Practice struct {
	seed  uint64
	h     History
	bench *Bench
	g     Guest
	s     *scenario.Scenario
	check voice.Script
	talk  voice.Script
	last  *Performed
	out   *Outcomes
	now   func() time.Time
}

// MaxLevel is the hardest.
const MaxLevel = 10

// checkSeconds is about how long a sound check lasts.
const checkSeconds = 20

// A Guest is who sits down.
type Guest struct {
	Number    int     `json:"number"` // from 1
	Level     int     `json:"level"`  // 1 to MaxLevel
	Talker    string  `json:"talker"`
	Title     string  `json:"title"`
	Says      string  `json:"says"` // how the crew introduces them, a sentence
	DistanceM float64 `json:"distance_m"`
	RoomDBA   float64 `json:"room_dba"`
	Condenser bool    `json:"condenser"` // else a moving-coil microphone
}

// Played is one guest in the personal history.
type Played struct {
	At         time.Time `json:"at"`
	Number     int       `json:"number"`
	Level      int       `json:"level"`
	Talker     string    `json:"talker"`
	GainDB     float64   `json:"gain_db"`
	Score      float64   `json:"score"` // 0 to 100
	Overs      int       `json:"overs"`
	HeadroomDB Number    `json:"headroom_db"`
	NoiseDB    Number    `json:"noise_db"` // delivered noise above what a fitting gain gives
	Changes    int       `json:"changes"`
}

// History is what a person practised, oldest first; the zero value is a beginner's.
// It is plain data, to be kept as JSON and plotted.
type History struct {
	Level  int      `json:"level"` // of the next guest; 0 is 1
	Played []Played `json:"played"`
}

// Mean is the mean score of the last n guests, NaN if there were none.
func (h *History) Mean(n int) float64 {
	p := h.Played[max(0, len(h.Played)-n):]
	sum := 0.0
	for _, x := range p {
		sum += x.Score
	}
	return sum / float64(len(p))
}

// Part is one thing that counts.
type Part struct {
	Name   string  `json:"name"`
	Points float64 `json:"points"`
	Of     float64 `json:"of"`
}

// Outcomes is what came of a conversation.
type Outcomes struct {
	Score    float64  `json:"score"` // 0 to 100
	Parts    []Part   `json:"parts"`
	Advice   string   `json:"advice"` // one sentence
	Readings Measured `json:"readings"`
	// FittingGainDB would have kept 6 dB of headroom.
	FittingGainDB float64      `json:"fitting_gain_db"`
	Level         int          `json:"level"` // of the next guest
	Marks         []voice.Mark `json:"marks"` // what happened when
	Overs         []sim.Span   `json:"-"`
}

// NewPractice goes on where the history ends. bench may be nil.
func NewPractice(seed uint64, h History, b *Bench) (*Practice, error) {
	if seed > scenario.MaxSeed {
		return nil, fmt.Errorf("seed %d is out of range: 0 to %d", seed, uint64(scenario.MaxSeed))
	}
	if b == nil {
		b = NewBench()
	}
	h.Played = slices.Clone(h.Played)
	p := &Practice{seed: seed, h: h, bench: b, now: time.Now}
	return p, p.sit()
}

// sits the next guest down.
func (p *Practice) sit() error {
	level := min(max(p.h.Level, 1), MaxLevel)
	p.h.Level = level
	number := 1
	if k := len(p.h.Played); k > 0 {
		number = p.h.Played[k-1].Number + 1
	}
	draw := func(n int, what string) int { return pick(p.seed, n, "guest", strconv.Itoa(number), what) }
	hard := float64(level-1) / (MaxLevel - 1)
	talkers := voice.Talkers()
	t := talkers[draw(len(talkers), "talker")]
	rooms := []float64{26, 30, 34, 38 + 8*hard}
	distances := []float64{0.08, 0.12, 0.18, 0.18 + 0.15*hard}
	p.g = Guest{
		Number: number, Level: level, Talker: t.Name, Title: t.Title,
		DistanceM: round(distances[draw(4, "distance")], 2), RoomDBA: round(rooms[draw(4, "room")], 0),
		Condenser: draw(3, "microphone") == 0,
	}
	// What the sound check does not show: how much the guest comes out of themselves.
	warm := 0.1 + 0.25*hard*float64(1+draw(3, "warm"))/3
	checkEffort := 0.25 - 0.15*hard*float64(draw(2, "shy"))
	laugh := min(1, 0.55+0.35*hard+0.1*float64(draw(2, "laugh")))
	says := []string{"likes a story", "has told this one before", "says there is not much to tell", "brought an old photograph"}
	if checkEffort < 0.2 {
		says = []string{"says hardly a word at first", "looks at the microphone as if it might bite"}
	}
	p.g.Says = says[draw(len(says), "says")]

	s := scenario.New()
	s.Title, s.Seed = t.Title, 1000+uint64(draw(1<<20, "seed"))
	s.Source.Talker = t.Name
	gain := 20.0
	s.Each(func(c *sim.Chain) {
		c.DistanceM, c.Room.NoiseDBA = p.g.DistanceM, p.g.RoomDBA
		if p.g.Condenser {
			c.Microphone = sim.Microphone{SensitivityMVPerPa: 12, SourceOhm: 150, SelfNoiseDBA: 16, MaxSPLDB: 134}
			gain = 4
		}
		c.Preamp.GainDB = gain
	})
	p.s = s

	p.check = voice.Script{{Do: "breath"}}
	lines := voice.Ordinary()
	at := draw(len(lines), "check")
	for i := 0; ; i++ {
		v, err := voice.New(p.check, t.Name, s.Seed)
		if err != nil {
			return err
		}
		if v.Seconds() >= checkSeconds-2 {
			break
		}
		p.check = append(p.check, voice.Event{Text: lines[(at+i)%len(lines)], Effort: voice.At(checkEffort)})
	}
	p.check = append(p.check, voice.Event{Do: "pause", OverS: 0.6})
	p.talk = p.moments(draw, hard, checkEffort, warm, laugh)
	p.last, p.out = nil, nil
	return nil
}

var (
	openings = []string{"The river was up to the third step that spring.", "My mother sold the first ticket I ever saw.", "There were two ferries then, and only one rope.", "You crossed at six, or you did not cross."}
	builds   = []string{"And the pilot said, that is not our landing!", "So there we were, with the cow in the middle!", "He jumped for the rope and took the lamp with him!", "Then the bell rang, and nobody was near the bell!"}
	whispers = []string{"I never told that to anyone.", "He kept the money in the lamp.", "She knew, of course."}
	leans    = []string{"Do you know what was in the box? Eels!", "And it was not even our boat!", "Guess who was steering! Nobody!"}
	endings  = []string{"That was the last crossing of the year.", "After that we always counted twice.", "I still have the ticket."}
)

// moments is the conversation, compressed.
func (p *Practice) moments(draw func(int, string) int, hard, quiet, warm, laugh float64) voice.Script {
	of := func(list []string, what string) string { return list[draw(len(list), what)] }
	normal := voice.At(quiet + warm)
	s := voice.Script{
		{Do: "breath"},
		{Text: of(openings, "opening"), Effort: normal},
		{Text: of(builds, "build"), Effort: voice.At(quiet + warm + 0.1), EffortTo: voice.At(min(1, 0.4+0.35*hard))},
	}
	bout := voice.Event{Do: "laugh", Effort: voice.At(laugh)}
	whisper := voice.Event{Text: of(whispers, "whisper"), Effort: voice.Quiet, LevelDB: -6 * hard}
	close := round(max(0.03, p.g.DistanceM*(0.7-0.3*hard)), 3)
	lean := voice.Script{
		{Do: "lean", DistanceM: close, OverS: 0.8},
		{Text: of(leans, "lean"), Effort: voice.At(0.3 + 0.3*hard)},
		{Do: "lean", DistanceM: p.g.DistanceM, OverS: 0.8},
	}
	switch draw(3, "order") {
	case 0:
		s = append(append(append(s, bout, voice.Event{Do: "pause", OverS: 0.5}, whisper), lean...), voice.Event{Do: "laugh", Effort: voice.At(laugh * 0.6)})
	case 1:
		s = append(append(append(s, whisper), lean...), bout)
	default:
		s = append(append(s, lean...), bout, voice.Event{Do: "pause", OverS: 0.4}, whisper)
	}
	if hard > 0.6 && draw(2, "clap") == 0 {
		s = append(s, voice.Event{Do: "clap"})
	}
	return append(s, voice.Event{Text: of(endings, "ending"), Effort: normal})
}

// Guest is who sits there now.
func (p *Practice) Guest() Guest { return p.g }

// History is what was practised so far.
func (p *Practice) History() History {
	h := p.h
	h.Played = slices.Clone(h.Played)
	return h
}

// Bench gives the settings as they stand.
func (p *Practice) Bench() *scenario.Scenario { return cloneScenario(p.s) }

// Controls lists what may be set: the gain and the limiter's place. The guest, the
// microphone and its stand are as they are.
func (p *Practice) Controls() []Control {
	var out []Control
	for _, k := range []string{"preamp.gain_db", placeKey} {
		c := controlFor(p.s, p.s.Strips[0].Name+"."+k)
		c.Key = k
		c.Label = settingByKey[k].Label
		if c.Unit == "dB" {
			c.Min, c.Max = 0, 65
		}
		out = append(out, c)
	}
	return out
}

// Apply changes a setting.
func (p *Practice) Apply(key string, v any) error {
	for _, c := range p.Controls() {
		if c.Key != key {
			continue
		}
		if x, ok := number(v); ok && c.Choices == nil {
			if !(x >= c.Min && x <= c.Max) {
				return &AnswerError{fmt.Sprintf("%s: %v is out of range: %v to %v %s", key, v, c.Min, c.Max, c.Unit)}
			}
			v = x
		}
		if err := put(p.s, p.s.Strips[0].Name+"."+key, v); err != nil {
			return &AnswerError{key + ": " + faultText(err)}
		}
		return nil
	}
	return &LockedError{key, "the guest, the microphone and its stand are as they are: only the gain and the limiter are yours"}
}

func (p *Practice) performed(script voice.Script, changes []Change) *Performed {
	return &Performed{Talker: p.g.Talker, Script: script, Seed: p.s.Seed, Strips: slices.Clone(p.s.Strips), Changes: changes}
}

// Check gives the readings of the sound check with the settings as they stand.
func (p *Practice) Check(ctx context.Context) (Measured, error) {
	p.last = p.performed(p.check, nil)
	m, err := p.bench.Record(ctx, p.last, nil)
	if err != nil {
		return nil, err
	}
	return m[p.s.Strips[0].Name], nil
}

// ErrTalked is returned when the guest has had their say already.
var ErrTalked = errors.New("this conversation has happened: a guest says it once")

// Talk lets the conversation happen, once for each guest. Changes are settings
// turned while it rolls, by the keys of Controls.
func (p *Practice) Talk(ctx context.Context, changes ...Change) (*Outcomes, error) {
	if p.out != nil {
		return nil, ErrTalked
	}
	name := p.s.Strips[0].Name
	for i := range changes {
		trial := &Practice{s: cloneScenario(p.s)}
		if err := trial.Apply(changes[i].Key, changes[i].Value); err != nil {
			return nil, err
		}
		if i > 0 && changes[i].AtS < changes[i-1].AtS {
			return nil, errors.New("changes are in the order of time")
		}
	}
	keyed := make([]Change, len(changes))
	for i, c := range changes {
		keyed[i] = Change{c.AtS, name + "." + c.Key, c.Value}
	}
	take := p.performed(p.talk, keyed)
	wave, err := p.bench.listen(ctx, take, name)
	if err != nil {
		return nil, err
	}
	m := wave.Measured
	o := &Outcomes{Readings: m, Overs: wave.Overs}
	start := p.s.Strips[0].Chain.Preamp.GainDB
	// Headroom moves with the gain, dB for dB; changes on the way blur that a little.
	o.FittingGainDB = round(min(65, max(0, float64(m["gain_db"])+float64(m["headroom_db"])-6)), 0)
	fit := p.performed(p.talk, nil)
	fit.Strips[0].Chain.Preamp.GainDB = o.FittingGainDB
	fit.Strips[0].Chain = fit.Strips[0].Chain.WithPlace(sim.LimiterOff)
	best, err := p.bench.Record(ctx, fit, nil)
	if err != nil {
		return nil, err
	}
	v, err := voice.New(p.talk, p.g.Talker, p.s.Seed)
	if err != nil {
		return nil, err
	}
	o.Marks = v.Marks()
	noise := float64(m["delivered_noise_lufs"]) - float64(best[name]["delivered_noise_lufs"])
	o.score(m, noise, len(changes))
	p.last, p.out = take, o
	p.h.Played = append(p.h.Played, Played{
		At: p.now().UTC().Truncate(time.Second), Number: p.g.Number, Level: p.g.Level, Talker: p.g.Talker, GainDB: start,
		Score: o.Score, Overs: int(m["overs"]), HeadroomDB: m["headroom_db"], NoiseDB: Number(round(noise, 1)), Changes: len(changes),
	})
	switch {
	case o.Score >= 80:
		p.h.Level = min(MaxLevel, p.h.Level+1)
	case o.Score < 50:
		p.h.Level = max(1, p.h.Level-1)
	}
	o.Level = p.h.Level
	return o, nil
}

// score counts what matters, and says the one thing that would have helped most.
func (o *Outcomes) score(m Measured, noise float64, changes int) {
	overs, room := float64(m["overs"]), float64(m["headroom_db"])
	ramp := func(x, none, full float64) float64 { return min(1, max(0, (x-none)/(full-none))) }
	o.Parts = []Part{
		{"nothing lost at the ceiling", 40 * (1 - min(1, math.Log2(1+overs)/6)), 40},
		{"headroom kept", 25 * min(ramp(room, 0, 3), ramp(room, 26, 12)), 25},
		{"noise when delivered", 25 * ramp(noise, 7, 1), 25},
		{"hands off while it rolls", 10 * ramp(float64(changes), 4, 0), 10},
	}
	if math.IsNaN(noise) {
		o.Parts[2].Points = 0
	}
	worst, most := -1, 2.0
	for i := range o.Parts {
		p := &o.Parts[i]
		p.Points = round(p.Points, 1)
		o.Score += p.Points
		if lost := p.Of - p.Points; lost > most {
			worst, most = i, lost
		}
	}
	o.Score = round(o.Score, 1)
	fit := format(o.FittingGainDB, "dB")
	switch {
	case worst == -1:
		o.Advice = "Nothing to mend: leave it like this and listen to the guest."
	case worst == 0 || worst == 1 && room < 3:
		o.Advice = fmt.Sprintf("The loudest moment needed %s more room than there was: after a sound check leave more above ordinary talk (%s of gain would have kept 6 dB).", format(max(0, 6-room), "dB"), fit)
	case worst == 1 || worst == 2:
		o.Advice = fmt.Sprintf("There were %s of headroom that nobody used; with %s the recording would have needed less lifting afterwards.", format(room, "dB"), fit)
	default:
		o.Advice = fmt.Sprintf("The %s made while it rolled can be heard in the recording: decide before, then leave it.", plural(changes, "change", "changes"))
	}
}

// Sound gives the file that was recorded last, of the check or the conversation.
func (p *Practice) Sound(ctx context.Context) (*Wave, error) {
	if p.last == nil {
		return nil, errors.New("nothing has been recorded yet")
	}
	w, err := p.bench.listen(ctx, p.last, p.s.Strips[0].Name)
	if err == nil {
		w.Caution = cautionFor("The recording", w.Measured)
		trim([]*Wave{w})
	}
	return w, err
}

// Next shows the next guest in, once this one has talked.
func (p *Practice) Next() error {
	if p.out == nil {
		return errors.New("the guest has not talked yet")
	}
	return p.sit()
}
