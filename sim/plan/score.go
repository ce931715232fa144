package plan

import (
	"context"
	"fmt"
)

// An IfLaugh says what to set if the laugh in a sound check reads so much.
type IfLaugh struct {
	OverTalkDB float64 `json:"laugh_over_talk_db"` // its level over that of talk
	ReadsDBFS  float64 `json:"laugh_reads_dbfs"`   // its peak on the meter
	GainDB     float64 `json:"gain_db"`            // the gain to set then
	HeldDBFS   float64 `json:"held_peak_dbfs"`     // what a minute of talk reads at it
	Risk       float64 `json:"risk"`
}

// laughsOver are the laughs that IfLaughs tells of, dB over talk: from a chuckle to as
// loud as they were ever posed.
var laughsOver = []float64{4, 8, 11, 14, 18}

// IfLaughs tells, for a sound check at gainDB in which the meter held heldDBFS of talk,
// what to set after one laugh of each loudness. Laughs already in s.Check are left out.
func (s *Setup) IfLaughs(ctx context.Context, gainDB, heldDBFS float64, rerun Rerun) ([]IfLaugh, error) {
	var out []IfLaugh
	m := &s.Model
	held := s.AtMouth(gainDB, heldDBFS)
	for _, over := range laughsOver {
		t := *s
		t.Check = Heard{HeldDB: held, Laughs: 1, LaughPeakDB: held - s.held.mean + over + m.LaughCrest.MeanDB - m.LaughAwayDB}
		if err := t.Prepare(ctx); err != nil {
			return nil, err
		}
		r, err := rerun(t.conv)
		if err != nil {
			return nil, err
		}
		row := IfLaugh{OverTalkDB: over, ReadsDBFS: s.dbfs(gainDB, t.Check.LaughPeakDB)}
		if a, ok := t.Advise(r); ok && a.PadDB == 0 {
			row.GainDB, row.HeldDBFS, row.Risk = a.GainDB, a.HeldDBFS, a.Risk
			out = append(out, row)
		}
	}
	return out, nil
}

// A Setting is one gain after the session: what it would have meant.
type Setting struct {
	Name      string  `json:"name"`
	GainDB    float64 `json:"gain_db"`
	OverDB    float64 `json:"over_db"` // how far the loudest moment lay over the ceiling; negative is headroom
	NoiseLUFS float64 `json:"delivered_noise_lufs"`
	Loss      float64 `json:"loss"`
}

// What an over and a decibel of noise above the target weigh in Loss (assumed).
const (
	OverLoss  = 1.0
	NoiseLoss = 0.05
)

// Loss is what a gain cost: OverLoss if anything went over, and NoiseLoss for each
// decibel of noise above the limit.
func (l Limits) Loss(over bool, noiseLUFS float64) float64 {
	loss := NoiseLoss * max(0, noiseLUFS-l.NoiseLUFS)
	if over {
		loss += OverLoss
	}
	return loss
}

// FixedDBFS are rules that set the gain by the held peak of talk alone (common
// practice, no source).
var FixedDBFS = []float64{-12, -18, -20}

// Score tells after a session what the gain that was set was worth, beside the fixed
// rules: gainDB was set, the loudest moment left headroomDB (negative: missing), and the
// meter had held heldDBFS of talk at that gain.
func (s *Setup) Score(gainDB, headroomDB, heldDBFS float64) []Setting {
	at := func(name string, g float64) Setting {
		x := Setting{Name: name, GainDB: g, OverDB: g - gainDB - headroomDB, NoiseLUFS: s.noise(g)}
		x.Loss = s.Limits.Loss(x.OverDB > 0, x.NoiseLUFS)
		return x
	}
	out := []Setting{at("as set", gainDB)}
	for _, rule := range FixedDBFS {
		out = append(out, at(fmt.Sprintf("talk held at −%g dBFS", -rule), gainDB+rule-heldDBFS))
	}
	return out
}
