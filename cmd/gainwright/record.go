package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
	"strconv"
	"strings"

	"gainwright/cmd/gainwright/internal/picture"
	"gainwright/sim"
	"gainwright/sounds"
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
	wav      *sounds.WAVWriter
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

// openOutputs prepares the directory; its parent must be there, so that a slip of
// the keyboard does not become a tree of directories.
func openOutputs(dir string, force bool) (*sounds.Outputs, error) {
	if parent := filepath.Dir(filepath.Clean(dir)); isMissing(parent) {
		return nil, usagef("--out %s: there is no directory %s", dir, parent)
	}
	return sounds.NewOutputs(dir, force)
}

// An outFile is a file of the set that says, when it cannot be written, where it
// was to appear rather than where it is staged.
type outFile struct {
	io.WriteSeeker
	path string
}

func (f *outFile) Write(p []byte) (int, error) {
	n, err := f.WriteSeeker.Write(p)
	if err != nil {
		cause := err
		var pe *fs.PathError
		if errors.As(err, &pe) {
			cause = pe.Err
		}
		err = &sounds.OutputError{Path: f.path, Msg: "cannot be written: " + cause.Error(), Err: err}
	}
	return n, err
}

// staged is where the file lies until the set is published.
func (f *outFile) staged() string {
	if n, ok := f.WriteSeeker.(interface{ Name() string }); ok {
		return n.Name()
	}
	return f.path
}

// create begins a file of the set.
func create(o *sounds.Outputs, name string) (*outFile, error) {
	w, err := o.Create(name)
	if err != nil {
		return nil, err
	}
	return &outFile{w, o.Path(name)}, nil
}

// freeDir is a name in the working directory that is not taken: stem-1, stem-2, …; one
// that holds only what a killed run left is not.
func freeDir(stem string) string {
	for i := 1; ; i++ {
		dir := stem + "-" + strconv.Itoa(i)
		sounds.ClearUnfinished(dir)
		if isMissing(dir) {
			return dir
		}
	}
}

// record runs the performance and writes each strip's file as recorded to the
// writer that has its name.
func record(ctx context.Context, sc *scenario.Scenario, files map[string]*outFile, w *watch) (_ *session, err error) {
	defer w.done()
	w.begin("finding the recording's level")
	perf, err := sc.Open(ctx, w.at)
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
		enc, err := sounds.ParseEncoding(string(st.Chain.File.Format))
		if err != nil {
			return nil, err
		}
		f := files[st.Name]
		r.staged = f.staged()
		if r.wav, err = sounds.NewWAVWriter(f, perf.Rate, 1, enc); err != nil {
			return nil, err
		}
		blocks[i] = make([][]float64, 1)
		s.strips = append(s.strips, r)
	}
	w.begin("recording")
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
			w.at(share)
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
	Strips  map[string]sim.Readings `json:"strips"`
	Chains  map[string]sim.Chain    `json:"settings,omitempty"`
	Files   map[string]string       `json:"files,omitempty"`
}

func (s *session) result() result {
	out := result{
		Title: s.sc.Title, Seed: s.sc.Seed, RateHz: s.rate, Seconds: s.seconds(), Notes: s.notes,
		Strips: map[string]sim.Readings{}, Chains: map[string]sim.Chain{},
	}
	for _, r := range s.strips {
		out.Strips[r.name], out.Chains[r.name] = r.readings, r.chain
	}
	return out
}

// writeJSON writes one object, laid out for eyes.
func writeJSON(w io.Writer, v any) error {
	b, err := json.MarshalIndent(v, "", "  ")
	if err != nil {
		return err
	}
	_, err = w.Write(append(b, '\n'))
	return err
}

// listFiles maps the names of the outputs to where they are.
func listFiles(o *sounds.Outputs) map[string]string {
	files := map[string]string{}
	for _, n := range o.Names() {
		files[n] = o.Path(n)
	}
	return files
}

// clipped names the strips that lost something.
func (s *session) clipped() []string {
	var out []string
	for _, r := range s.strips {
		if r.readings.Overs > 0 || r.readings.RailOvers > 0 {
			out = append(out, r.name)
		}
	}
	return out
}

// caution is said before clipped files are named.
func caution(names []string) string {
	what := "strip " + names[0] + " is"
	if len(names) > 1 {
		what = "strips " + strings.Join(names, ", ") + " are"
	}
	return fmt.Sprintf("Mind your ears: %s clipped, which sounds harsh. Turn the volume down before you play, and up slowly.", what)
}
