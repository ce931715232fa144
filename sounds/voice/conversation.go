package voice

import "math"

// writer appends events to a script and knows what time it is there.
type writer struct {
	script Script
	seed   uint64
	k      keeper
}

func newWriter(seed uint64) *writer {
	return &writer{seed: seed, k: keeper{free: map[string]float64{}}}
}

func (w *writer) now() float64 { return w.k.prevEnd }

func (w *writer) add(e Event) {
	if t, err := Find(e.Talker); err == nil {
		w.k.place(&t, &e, w.seed, len(w.script))
		w.script = append(w.script, e)
	}
}

// GenerateConversation makes a script of about that many minutes for the given
// talkers (the captain and a ticket clerk when none are named): one tells, the
// others ask; turns change, people laugh now and then, cough, lean in, and all
// speak up as the talk warms. It is performed with the same seed. Unknown
// talkers are replaced by those two; minutes are limited to 0.1..180.
func GenerateConversation(seed uint64, minutes float64, who ...string) Script {
	if math.IsNaN(minutes) {
		minutes = 1
	}
	total := 60 * min(180, max(.1, minutes))
	var names []string
	for _, n := range who {
		if t, err := Find(n); err == nil {
			names = append(names, t.Name)
		}
	}
	if len(names) == 0 {
		names = []string{"captain", "maren"}
	}
	rnd := newRNG(seed, 4242)
	w := newWriter(seed)
	add := func(e Event) {
		if e.Talker == "" {
			e.Talker = names[0]
		}
		if w.now() < total {
			w.add(e)
		}
	}
	order := shuffled(len(ordinary), rnd)
	nextLine := func() string {
		if len(order) == 0 {
			order = shuffled(len(ordinary), rnd)
		}
		l := ordinary[order[0]]
		order = order[1:]
		return l
	}
	pick := func(l []string) string { return l[rnd.index(len(l))] }
	// Conversations warm up: some 4 dB from the first minutes to the last,
	// with waves of their own. (That they do is common experience; no source.)
	phase := rnd.between(0, 6)
	warmth := func() float64 {
		x := w.now() / total
		return Normal.value + .12*x + .05*math.Sin(phase+w.now()/95) + .03*rnd.normal()
	}
	teller := 0
	for w.now() < total {
		// a turn of the teller: two to six sentences
		for range 2 + rnd.index(5) {
			add(Event{Do: "say", Talker: names[teller], Text: nextLine(), Effort: At(round3(warmth()))})
			add(Event{Do: "pause", OverS: round3(rnd.between(.2, 1.4))})
			if len(names) > 1 && rnd.unit() < .25 {
				other := names[(teller+1+rnd.index(len(names)-1))%len(names)]
				add(Event{Do: "say", Talker: other, Text: pick(nods), Effort: At(round3(warmth() - .06))})
			}
		}
		switch u := rnd.unit(); {
		case u < .22: // something funny
			add(Event{Do: "say", Talker: names[teller], Text: pick(lively), Effort: At(round3(warmth() + .25))})
			for _, n := range names {
				if rnd.unit() < .8 {
					e := Event{Do: "laugh", Talker: n, Effort: At(round3(rnd.between(.3, .95)))}
					if n != names[teller] { // both at once
						e.AtS = Seconds(round3(max(0, w.now()-rnd.between(.3, 1.2))))
					}
					add(e)
				}
			}
			add(Event{Do: "pause", OverS: round3(rnd.between(1, 2))})
		case u < .29:
			add(Event{Do: "cough", Talker: names[rnd.index(len(names))], Effort: Normal})
		case u < .36:
			add(Event{Do: "chair", Talker: names[rnd.index(len(names))]})
		case u < .46:
			n := names[rnd.index(len(names))]
			add(Event{Do: "lean", Talker: n, DistanceM: round3(rnd.between(.06, .35)), OverS: .6})
		case u < .50:
			add(Event{Do: "say", Talker: names[teller], Text: pick(calls), Effort: At(round3(rnd.between(.8, 1)))})
		case u < .60:
			add(Event{Do: "breath", Talker: names[teller]})
		}
		if len(names) > 1 {
			asker := (teller + 1 + rnd.index(len(names)-1)) % len(names)
			if rnd.unit() < .75 {
				add(Event{Do: "say", Talker: names[asker], Text: pick(questions), Effort: At(round3(warmth()))})
				add(Event{Do: "pause", OverS: round3(rnd.between(.3, 1.2))})
			} else {
				teller = asker
			}
		} else {
			add(Event{Do: "pause", OverS: round3(rnd.between(.8, 2))})
		}
	}
	return w.script
}

// Guest makes a performance of 20 to 40 s for one talker whose events nobody
// knows beforehand: talk, and then perhaps a laugh, a shout, a lean, a cough.
// It is performed with the same seed.
func Guest(seed uint64, talker string) Script {
	t, err := Find(talker)
	if err != nil {
		t = talkers[newRNG(seed, 5).index(len(talkers))]
	}
	rnd := newRNG(seed, 777)
	w := newWriter(seed)
	add := func(e Event) {
		e.Talker = t.Name
		w.add(e)
	}
	base := rnd.between(.12, .45)
	order := shuffled(len(ordinary), rnd)
	line := func(up float64) {
		add(Event{Do: "say", Text: ordinary[order[0]], Effort: At(round3(base + up + .04*rnd.normal()))})
		order = order[1:]
	}
	length := rnd.between(22, 34)
	quietFor := rnd.between(6, 12) // long enough to set a gain by
	for w.now() < quietFor {
		line(0)
	}
	for w.now() < length {
		switch u := rnd.unit(); {
		case u < .30:
			add(Event{Do: "say", Text: lively[rnd.index(len(lively))], Effort: At(round3(base + rnd.between(.15, .4)))})
			add(Event{Do: "laugh", Effort: At(round3(rnd.between(.4, 1)))})
		case u < .42:
			add(Event{Do: "say", Text: calls[rnd.index(len(calls))], Effort: At(round3(rnd.between(.75, 1)))})
		case u < .54:
			add(Event{Do: "lean", DistanceM: round3(rnd.between(.04, .12)), OverS: .5})
			line(.05)
		case u < .62:
			add(Event{Do: "cough", Effort: At(round3(rnd.between(.2, .7)))})
		default:
			line(.05)
		}
	}
	return w.script
}

func shuffled(n int, rnd *rng) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	for i := n - 1; i > 0; i-- {
		k := rnd.index(i + 1)
		out[i], out[k] = out[k], out[i]
	}
	return out
}

func round3(x float64) float64 { return math.Round(x*1000) / 1000 }
