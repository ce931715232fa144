// Package recordcmd has the commands that perform: take, compare and twin record a
// scenario through strips, talk lets a talker speak.
package recordcmd

import (
	"context"
	"io"
	"strings"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/picture"
	"gainwright/sim"
	"gainwright/sounds/codec"
	"gainwright/sounds/scenario"
	"gainwright/sounds/voice"
)

// A recorded strip: its file is written, its readings are taken.
type recorded struct {
	name     string
	chain    sim.Chain
	readout  *sim.Readout
	gather   *picture.Gather
	readings sim.Readings
	wav      *codec.WAVWriter
	staged   string // where the file lies until it is published
}

// A session is one performance through the strips of a scenario.
type session struct {
	sc     *scenario.Scenario
	rate   int
	frames int64
	notes  []string
	marks  []picture.Mark
	strips []*recorded
}

// seconds is how long the performance was.
func (s *session) seconds() float64 { return float64(s.frames) / float64(s.rate) }

// record runs the performance and writes each strip's file as recorded to the
// writer that has its name.
func record(ctx context.Context, sc *scenario.Scenario, files map[string]*cli.OutFile, w *cli.Watch) (_ *session, err error) {
	defer w.Done()
	w.Begin("finding the recording's level")
	perf, err := sc.Open(ctx, w.At)
	if err != nil {
		return nil, err
	}
	defer perf.Close()
	strips, err := sc.NewStrips(perf.Rate)
	if err != nil {
		return nil, err
	}
	s := &session{sc: sc, rate: perf.Rate, notes: perf.Notes, marks: pictureMarks(perf.Marks)}
	blocks := make([][][]float64, len(strips))
	for i, st := range sc.Strips {
		r := &recorded{name: st.Name, chain: st.Chain, gather: picture.NewGather(perf.Rate)}
		if r.readout, err = sim.NewReadout(perf.Rate); err != nil {
			return nil, err
		}
		enc, err := codec.ParseEncoding(string(st.Chain.File.Format))
		if err != nil {
			return nil, err
		}
		f := files[st.Name]
		r.staged = f.Staged()
		if r.wav, err = codec.NewWAVWriter(f, perf.Rate, 1, enc); err != nil {
			return nil, err
		}
		blocks[i] = make([][]float64, 1)
		s.strips = append(s.strips, r)
	}
	w.Begin("recording")
	s.frames, err = sim.Run(ctx, perf, strips, sim.RunOptions{
		Moves: perf.Moves,
		Sink: func(i int, t *sim.Taps) error {
			r := s.strips[i]
			r.readout.Write(t)
			r.gather.Write(t)
			blocks[i][0] = t.Wave[sim.AtFile]
			return r.wav.Write(blocks[i])
		},
		Progress: func(done int64) {
			share := -1.0
			if perf.Frames > 0 {
				share = float64(done) / float64(perf.Frames)
			}
			w.At(share)
		},
	})
	if err != nil {
		return nil, err
	}
	for _, r := range s.strips {
		if err := r.wav.Close(); err != nil {
			return nil, err
		}
		// Moves end elsewhere; the settings are those of the scenario.
		r.readout.Settings(r.chain)
		r.readings = r.readout.Readings()
	}
	return s, nil
}

// pictureMarks are the events worth a word below the take: what is not talk, and
// the first words of what is.
func pictureMarks(marks []voice.Mark) []picture.Mark {
	var out []picture.Mark
	for _, m := range marks {
		label := m.Label
		switch m.Kind {
		case "pause", "breath":
			continue
		case "say":
			words := strings.Fields(m.Label)
			if label = strings.Join(words[:min(3, len(words))], " "); len(words) > 3 {
				label += " …"
			}
			label = "“" + label + "”"
		case "lean":
			label = "moves"
		}
		out = append(out, picture.Mark{AtS: m.StartS, Label: label})
	}
	return out
}

// sheet is what a picture of the strip shows.
func (s *session) sheet(r *recorded) *picture.Sheet {
	return &picture.Sheet{
		Title: s.sc.Title, Strip: r.name, Chain: r.chain, Readings: r.readings,
		Levels: r.readout.Levels(), Gather: r.gather, Marks: s.marks,
	}
}

// result is the JSON of take and compare.
type result struct {
	Title   string                  `json:"title"`
	Seed    uint64                  `json:"seed"`
	RateHz  int                     `json:"rate_hz"`
	Seconds float64                 `json:"seconds"`
	Notes   []string                `json:"notes,omitempty"`
	Gear    *cli.Recorder           `json:"recorder,omitempty"`
	Strips  map[string]sim.Readings `json:"strips"`
	Chains  map[string]sim.Chain    `json:"settings,omitempty"`
	Files   map[string]string       `json:"files,omitempty"`
}

func (s *session) result() result {
	out := result{
		Title: s.sc.Title, Seed: s.sc.Seed, RateHz: s.rate, Seconds: s.seconds(), Notes: s.notes,
		Strips: map[string]sim.Readings{}, Chains: map[string]sim.Chain{}, Gear: cli.NewRecorder(s.sc),
	}
	for _, r := range s.strips {
		out.Strips[r.name], out.Chains[r.name] = r.readings, r.chain
	}
	return out
}

func writeMono(ctx context.Context, f io.WriteSeeker, rate int, enc codec.Encoding, x []float64, scale float64) error {
	wav, err := codec.NewWAVWriter(f, rate, 1, enc)
	if err != nil {
		return err
	}
	buf := make([]float64, 4096)
	for i := 0; i < len(x); i += len(buf) {
		if err := ctx.Err(); err != nil {
			return err
		}
		n := copy(buf, x[i:])
		for k := range buf[:n] {
			buf[k] *= scale
		}
		if err := wav.Write([][]float64{buf[:n]}); err != nil {
			return err
		}
	}
	return wav.Close()
}
