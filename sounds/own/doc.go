// Package own is a learner's own voice as a performance: a quiet moment, a sentence twice,
// some lines read, a laugh, a "hey!". It is recorded once, kept, and performed again
// through any strips.
//
// A microphone gives samples, not pascals. What makes pressures of them is that the
// learner's own ordinary talk is ordinary: its active level (ITU-T P.56) is placed at
// OrdinaryDBSPL at 1 m (ISO 9921 and ANSI S3.5-1997 lie around it), more or less by what
// the learner says, or at what a sound level meter read. How far the laugh lies over
// the talk needs no such anchor.
package own

import (
	"errors"
	"fmt"
	"math"
	"unicode/utf8"

	"gainwright/sim/meter"
	"gainwright/sim/plan"
	"gainwright/sim/plan/hear"
	"gainwright/sim/processing"
	"gainwright/sounds"
)

// Rate is the sampling rate of every performance, Hz.
const Rate = 48000

// OrdinaryDBSPL is the active level of a guest's ordinary talk at 1 m.
const OrdinaryDBSPL = 60.0

// MostLouderDB bounds the slider: by how much somebody may say to talk louder or
// quieter than most.
const MostLouderDB = 10.0

// A Part is what was asked for at a time.
type Part uint8

// Parts, in the order in which they are asked for.
const (
	Quiet Part = iota // nobody speaks
	Talk              // a sentence
	Again             // the same sentence
	Read              // some lines
	Laugh
	Hey
	NumParts
)

var keys = [NumParts]string{"quiet", "talk", "again", "read", "laugh", "hey"}

// String is the part's key: in files.
func (p Part) String() string { return keys[p] }

// LeastS and MostS are how long a part lasts, seconds.
func (p Part) LeastS() float64 { return [NumParts]float64{1, 1, 1, 2, .3, .15}[p] }

// MostS is how long a part lasts at most, seconds.
func (p Part) MostS() float64 { return [NumParts]float64{5, 12, 12, 30, 15, 6}[p] }

// A Span is a stretch of frames, From up to but not To. An empty one is a part that is not there.
type Span struct{ From, To int }

// Len is how many frames it has.
func (s Span) Len() int { return s.To - s.From }

// Seconds is how long it is.
func (s Span) Seconds() float64 { return float64(s.Len()) / Rate }

// Told is what a browser said that it does to the sound: "on", "off", or "" where it did not say.
type Told struct {
	Echo  string `json:"echo,omitempty"`
	Noise string `json:"noise,omitempty"`
	Gain  string `json:"gain,omitempty"`
}

// On tells whether any of it is known to be on.
func (t Told) On() bool { return t.Echo == "on" || t.Noise == "on" || t.Gain == "on" }

// Off tells whether all of it is known to be off.
func (t Told) Off() bool { return t.Echo == "off" && t.Noise == "off" && t.Gain == "off" }

// A Performance is a voice of one's own. Samples are one channel at Rate, full scale ±1.
type Performance struct {
	Name    string
	Samples []float32
	Parts   [NumParts]Span
	Told    Told
	// LouderDB is by how much the learner says to talk louder than most, −MostLouderDB to MostLouderDB.
	LouderDB float64
	// MeasuredDBSPL is the level of ordinary talk at 1 m by a sound level meter; 0 where none was read.
	MeasuredDBSPL float64
}

// Faults of a performance.
var (
	ErrNoTalk = errors.New("there is no talk in it: read the lines as you would talk to a guest")
	ErrNoName = errors.New("a voice needs a name of 1 to 40 characters")
)

// Validate returns nil, or what is wrong.
func (p *Performance) Validate() error {
	if n := utf8.RuneCountInString(p.Name); n < 1 || n > 40 || !utf8.ValidString(p.Name) {
		return ErrNoName
	}
	last := 0
	for k, s := range p.Parts {
		if s == (Span{}) {
			continue
		}
		if s.From < last || s.To <= s.From || s.To > len(p.Samples) {
			return fmt.Errorf("the part %s lies where there is no sound of its own", Part(k))
		}
		last = s.To
	}
	if p.Parts[Read].Len() == 0 && p.Parts[Talk].Len() == 0 {
		return ErrNoTalk
	}
	if !(math.Abs(p.LouderDB) <= MostLouderDB) {
		return fmt.Errorf("louder than most by %g dB: %g at most", p.LouderDB, MostLouderDB)
	}
	if m := p.MeasuredDBSPL; m != 0 && !(m >= 30 && m <= 110) {
		return fmt.Errorf("a level of talk of %g dB SPL at 1 m: 30 to 110", m)
	}
	for i, v := range p.Samples {
		if !(v >= -8 && v <= 8) {
			return fmt.Errorf("sample %d is no sound", i)
		}
	}
	return nil
}

// Part gives the samples of a part, nil where it is not there.
func (p *Performance) Part(k Part) []float64 {
	s := p.Parts[k]
	if s.Len() <= 0 || s.To > len(p.Samples) {
		return nil
	}
	out := make([]float64, s.Len())
	for i, v := range p.Samples[s.From:s.To] {
		out[i] = float64(v)
	}
	return out
}

// A Reading is what a performance tells. Levels are those of mean squares: dBFS re a
// sample of 1, dB SPL at 1 m. What was not there is NaN.
type Reading struct {
	TalkDBFS  float64 // active level of all talk, ITU-T P.56
	NoiseDBFS float64 // rms of the quiet part
	// TalkPeakDBFS, LaughPeakDBFS and HeyPeakDBFS are highest samples: what a meter holds.
	TalkPeakDBFS, LaughPeakDBFS, HeyPeakDBFS float64
	// LaughOverTalkDB is how far the peak that a meter holds of the laugh lies over the
	// one it holds of talk; LaughLevelDB the same of levels.
	LaughOverTalkDB, LaughLevelDB float64
	// TalkCrestDB and LaughCrestDB are peaks over levels.
	TalkCrestDB, LaughCrestDB float64
	TalkDBSPL                 float64 // where it is placed
	ScalePa                   float64 // pascals at 1 m of a sample of 1
	NoiseDBSPL                float64 // of the quiet part, were it to come from the mouth at 1 m
	Placed                    bool    // by a sound level meter, not by "if your talk is ordinary"
	Utterances                []hear.Part
	Laugh                     hear.Part
}

// talk gives all parts in which somebody talks, joined.
func (p *Performance) talk() []float64 {
	x := p.Part(Talk)
	x = append(x, p.Part(Again)...)
	return append(x, p.Part(Read)...)
}

// Look measures a performance.
func (p *Performance) Look() (*Reading, error) {
	talk := p.talk()
	a := meter.NewActiveLevel(Rate)
	a.Write(talk)
	nan := math.NaN()
	r := &Reading{TalkDBFS: a.Level(), NoiseDBFS: nan, LaughPeakDBFS: nan, HeyPeakDBFS: nan, LaughOverTalkDB: nan, LaughLevelDB: nan, LaughCrestDB: nan}
	if math.IsInf(r.TalkDBFS, 0) || math.IsNaN(r.TalkDBFS) {
		return nil, ErrNoTalk
	}
	whole := hear.Measure(talk, Rate, 0, float64(len(talk))/Rate)
	r.TalkPeakDBFS, r.TalkCrestDB = whole.PeakDBFS, whole.PeakDBFS-r.TalkDBFS
	// Utterances as the planner finds them in a check; where it finds hardly any, each
	// part is one.
	if f, err := hear.Check(talk, Rate); err == nil && len(f.Talk) > 0 {
		r.Utterances = f.Talk
	} else {
		for _, k := range []Part{Talk, Again, Read} {
			if x := p.Part(k); len(x) > 0 {
				r.Utterances = append(r.Utterances, hear.Measure(x, Rate, 0, float64(len(x))/Rate))
			}
		}
	}
	if q := p.Part(Quiet); len(q) > 0 {
		r.NoiseDBFS = meter.PowerDB(meter.MeanSquare(q))
	}
	if x := p.Part(Laugh); len(x) > 0 {
		r.Laugh = hear.Measure(x, Rate, 0, float64(len(x))/Rate)
		r.LaughPeakDBFS = r.Laugh.PeakDBFS
		r.LaughOverTalkDB = r.LaughPeakDBFS - r.TalkPeakDBFS
		r.LaughLevelDB = r.Laugh.LevelDBFS - r.TalkDBFS
		r.LaughCrestDB = r.Laugh.PeakDBFS - r.Laugh.LevelDBFS
	}
	if x := p.Part(Hey); len(x) > 0 {
		r.HeyPeakDBFS = hear.Measure(x, Rate, 0, float64(len(x))/Rate).PeakDBFS
	}
	r.Place(p)
	return r, nil
}

// Place places the levels anew by what p says of them: the rest stays as it was measured.
func (r *Reading) Place(p *Performance) {
	r.TalkDBSPL, r.Placed = OrdinaryDBSPL+p.LouderDB, false
	if p.MeasuredDBSPL != 0 {
		r.TalkDBSPL, r.Placed = p.MeasuredDBSPL, true
	}
	r.ScalePa = sounds.RefPressure * meter.FromDB(r.TalkDBSPL-r.TalkDBFS)
	r.NoiseDBSPL = r.atMouth(r.NoiseDBFS)
}

// atMouth is a level or a peak at 1 m, dB re 20 µPa.
func (r *Reading) atMouth(dbfs float64) float64 {
	return dbfs + dB(r.ScalePa/sounds.RefPressure)
}

func dB(x float64) float64 { return 20 * math.Log10(x) }

// Heard is the performance as evidence of a sound check in which this guest sat: talk
// by its utterances and its held peak, the laugh as a check in a file counts one,
// whatever brought it about.
func (r *Reading) Heard() plan.Heard {
	h := plan.Heard{HeldDB: r.atMouth(r.TalkPeakDBFS)}
	for _, u := range r.Utterances {
		h.LevelDB += r.atMouth(u.LevelDBFS) / float64(len(r.Utterances))
	}
	h.Utterances = len(r.Utterances)
	if !math.IsNaN(r.LaughPeakDBFS) {
		h.Laughs, h.LaughPeakDB = 1, r.atMouth(r.LaughPeakDBFS)
	}
	return h
}

// Card looks for what processed the sound on its way; parts that are not there are an error.
func (p *Performance) Card() (*processing.Card, error) {
	return processing.Look(processing.Take{Rate: Rate, Quiet: p.Part(Quiet), Talk: p.Part(Talk), Again: p.Part(Again), Loud: append(p.Part(Laugh), p.Part(Hey)...)})
}
