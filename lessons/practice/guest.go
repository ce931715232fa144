package practice

import (
	"strconv"

	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/sim"
	"gainwright/sounds/scenario"
	"gainwright/sounds/voice"
)

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
	// Own is the name of the user's own voice, who sits there in place of the talker.
	Own string `json:"own,omitempty"`
}

// sits the next guest down.
func (p *Practice) sit() error {
	level := min(max(p.h.Level, 1), MaxLevel)
	p.h.Level = level
	number := 1
	if k := len(p.h.Played); k > 0 {
		number = p.h.Played[k-1].Number + 1
	}
	draw := func(n int, what string) int { return model.Pick(p.seed, n, "guest", strconv.Itoa(number), what) }
	hard := float64(level-1) / (MaxLevel - 1)
	talkers := voice.Talkers()
	t := talkers[draw(len(talkers), "talker")]
	rooms := []float64{26, 30, 34, 38 + 8*hard}
	distances := []float64{0.08, 0.12, 0.18, 0.18 + 0.15*hard}
	p.g = Guest{
		Number: number, Level: level, Talker: t.Name, Title: t.Title,
		DistanceM: names.Round(distances[draw(4, "distance")], 2), RoomDBA: names.Round(rooms[draw(4, "room")], 0),
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
	if p.you != nil {
		p.g.Own, p.g.Title, p.g.Says = p.you.Perf.Name, "You: "+p.you.Perf.Name, "talks and laughs as loudly as in the recording"
	}

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
	if p.own != nil {
		// At the lowest mark: the first thing to do is to turn it up.
		if err := s.Use(p.own); err != nil {
			return err
		}
		if k := s.Knob(); k != nil {
			s.Each(func(c *sim.Chain) { c.Preamp.GainDB, _ = k.Range(*c) })
		}
		p.g.Condenser = false
	}
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
	if p.you != nil {
		p.check = ownCheck(lines, at)
	}
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
	if p.you != nil {
		s[2].EffortTo = voice.Loud // which the call of a voice of one's own stands for
	}
	bout := voice.Event{Do: "laugh", Effort: voice.At(laugh)}
	whisper := voice.Event{Text: of(whispers, "whisper"), Effort: voice.Quiet, LevelDB: -6 * hard}
	close := names.Round(max(0.03, p.g.DistanceM*(0.7-0.3*hard)), 3)
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
