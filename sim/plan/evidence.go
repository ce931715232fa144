package plan

import "math"

// How the gain is set, seen from what is known of the guest.
type How uint8

const (
	// ByMeter: nothing is known before, but the host sets the gain so that this guest's
	// own minute is held at the peak told. The guest's level then plays no part.
	ByMeter How = iota
	// ByKnob: nothing is known, and the knob is set without listening.
	ByKnob
	// ByCheck: a sound check was heard, and the guest's level and laugh are known as
	// well as it told them.
	ByCheck
)

// A Guest is what is known of this guest: the zero Guest is nothing yet, which is the
// model's own spread between guests.
type Guest struct {
	How         How     `json:"-"`
	TalkDB      float64 `json:"talk_db"`          // talk in the sound check, dB SPL at 1 m: mean
	TalkSDDB    float64 `json:"talk_sd_db"`       // and how well it is known
	SessionSDDB float64 `json:"session_sd_db"`    // of the session around it
	LaughDB     float64 `json:"open_laugh_db"`    // the guest's own open laughs over talk: mean
	LaughSDDB   float64 `json:"open_laugh_sd_db"` // and how well that is known, were talk known
	// Tied is by how much LaughDB is too high for each decibel by which TalkDB is too
	// low: laughs were told over talk as it was heard.
	Tied float64 `json:"laugh_tied_to_talk,omitempty"`
	// RateShape and RateHours are the Gamma distribution of the guest's laughs an hour;
	// with shape 0 it is the model's, known.
	RateShape float64 `json:"laugh_rate_shape,omitempty"`
	RateHours float64 `json:"laugh_rate_hours,omitempty"`
}

// Prior is a guest of whom nothing is known yet.
func (m Model) Prior() Guest {
	return Guest{TalkDB: m.TalkLevelDB, TalkSDDB: m.GuestSDDB, SessionSDDB: m.SessionSDDB, LaughDB: m.Open.LevelDB, LaughSDDB: m.OpenGuestSD}
}

// or fills the zero Guest.
func (g Guest) or(m *Model) Guest {
	if g == (Guest{How: g.How}) {
		p := m.Prior()
		p.How = g.How
		return p
	}
	return g
}

// Heard is what was heard of a guest: in a sound check, or in takes so far. Peaks are
// levels, 20·log10(peak/20 µPa), at 1 m if the planned distance were 1 m: what
// Setup.AtMouth makes of a meter's reading. The zero Heard is nothing.
type Heard struct {
	// Utterances is how many were listened to and LevelDB the mean of their levels, dB
	// SPL at 1 m. Without them HeldDB counts.
	Utterances int
	LevelDB    float64
	// HeldDB is the highest peak that a meter held in a minute of talk; 0 if nobody
	// looked.
	HeldDB float64
	// Laughs is how many open laughs came by themselves and LaughPeakDB the mean of
	// their peaks; Asked is how many came on request.
	Laughs      int
	LaughPeakDB float64
	Asked       int
	AskedPeakDB float64
	// Minutes is for how long laughs of all kinds were counted, and Counted how many
	// there were. A check in which a laugh was asked for tells nothing of the rate.
	Minutes float64
	Counted int
}

// Any tells whether anything was heard.
func (h Heard) Any() bool { return h != Heard{} }

// Talked tells whether talk was heard.
func (h Heard) Talked() bool { return h.Utterances > 0 || h.HeldDB != 0 }

// normal updates a normal belief by n readings of mean x that spread by sd each
// (conjugate, known variance).
func normal(mean, sd, x, n, each float64) (float64, float64) {
	if n <= 0 {
		return mean, sd
	}
	switch {
	case sd == 0:
		return mean, 0
	case each == 0:
		return x, 0
	}
	w := 1 / (1/(sd*sd) + n/(each*each))
	return mean + w*n/(each*each)*(x-mean), math.Sqrt(w)
}

// Learn returns the guest that c.Guest becomes by what was heard in the sound check:
// conjugate normal updating for the level of talk and of the guest's own open laugh,
// conjugate Gamma for how often the guest laughs.
func (c Conversation) Learn(h Heard) Guest { return c.learn(h, false) }

// LearnInTake is Learn by what was heard in the session itself: its level is then no
// longer that of the check within SessionSDDB, but what it was heard to be.
func (c Conversation) LearnInTake(h Heard) Guest { return c.learn(h, true) }

func (c Conversation) learn(h Heard, take bool) Guest {
	m := &c.Model
	g := c.Guest.or(m)
	if !h.Any() {
		return g
	}
	var talk, n, each float64
	switch {
	case h.Utterances > 0:
		talk, n, each = h.LevelDB, float64(h.Utterances), m.HeardSDDB
	case h.HeldDB != 0:
		over := c.heldOver()
		talk, n, each = h.HeldDB-over.mean, 1, max(over.sd, 0.1)
	}
	if n > 0 {
		g.How = ByCheck
		if take {
			g.TalkSDDB, g.SessionSDDB = math.Hypot(g.TalkSDDB, g.SessionSDDB), 0
		}
		g.TalkDB, g.TalkSDDB = normal(g.TalkDB, g.TalkSDDB, talk, n, each)
		// A laugh is told over the talk that was heard beside it. On its way it lost what
		// going away costs.
		over := func(peak float64) float64 { return peak - m.LaughCrest.MeanDB + m.LaughAwayDB - talk }
		laugh := func(peak float64, n int, each float64) {
			before := g.LaughSDDB
			g.LaughDB, g.LaughSDDB = normal(g.LaughDB, g.LaughSDDB, over(peak), float64(n), each)
			if before > 0 {
				g.Tied += (1 - g.LaughSDDB*g.LaughSDDB/(before*before)) * (1 - g.Tied)
			}
		}
		laugh(h.LaughPeakDB, h.Laughs, m.Open.SDDB)
		laugh(h.AskedPeakDB, h.Asked, m.AskedLaughSD)
	}
	if h.Minutes > 0 {
		if g.RateShape == 0 && m.LaughPerHour > 0 {
			g.RateShape, g.RateHours = m.RateShape, m.RateShape/m.LaughPerHour
		}
		if g.RateShape > 0 {
			g.RateShape += float64(h.Counted)
			g.RateHours += h.Minutes / 60
		}
	}
	return g
}
