package cli

import (
	"errors"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"gainwright/sim"
	"gainwright/sounds"
	"gainwright/sounds/equipment"
	"gainwright/sounds/scenario"
)

// Settings are the flags that change a scenario. Values are kept as text: the
// scenario checks them, so that a flag and a file are told the same.
type Settings struct {
	Sets                         []string
	talker, Distance, level      string
	Seed, gain, limiter, wordLen string
	Recording                    string
	Recorder, Mark               string // an equipment file; where its knob stands
}

// AddTo adds the flags that make sense for any number of strips.
func (s *Settings) AddTo(cmd *cobra.Command) {
	f := cmd.Flags()
	f.StringArrayVar(&s.Sets, "set", nil, "change any setting: `PATH=VALUE` (see gainwright help settings); repeat at will")
	f.StringVar(&s.talker, "talker", "", "who talks: the `NAME` of a built-in talker")
	f.StringVar(&s.Distance, "distance", "", "from the talker to the microphone: `M`, "+rangeOf("distance_m"))
	f.StringVar(&s.level, "level", "", "level of a recording's loudest second, `DB` SPL at 1 m from the talker")
	f.StringVar(&s.Seed, "seed", "", "`N` of the talker's accidents and of all noise: the same seed, the same file")
	f.StringVar(&s.wordLen, "format", "", "`FORMAT` of the file: "+rangeOf("file.format"))
	s.AddRecorder(cmd)
}

// AddRecorder adds the flags of a recorder of one's own.
func (s *Settings) AddRecorder(cmd *cobra.Command) {
	f := cmd.Flags()
	f.StringVar(&s.Recorder, "recorder", "", "your own recorder: the equipment `FILE.yaml` that \"recorder learn\" wrote")
	s.AddMark(cmd)
}

// AddMark adds the flag of its knob.
func (s *Settings) AddMark(cmd *cobra.Command) {
	f := cmd.Flags()
	f.StringVar(&s.Mark, "mark", "", "set the knob of your recorder to `MARK`, as in 4.5")
}

// AddStrip adds the flags for a single strip.
func (s *Settings) AddStrip(cmd *cobra.Command) {
	f := cmd.Flags()
	f.StringVar(&s.gain, "gain", "", "preamp gain: `DB`, "+rangeOf("preamp.gain_db"))
	f.StringVar(&s.limiter, "limiter", "", "`PLACE` of the limiter: off, before or after the converter")
}

// LoadRecorder reads an equipment file that a chain can be fitted to; "" is none.
func LoadRecorder(path string) (*equipment.Recorder, error) {
	if path == "" {
		return nil, nil
	}
	r, err := equipment.Load(path)
	if err != nil {
		return nil, err
	}
	if _, err := r.On(sim.Default()); err != nil {
		return nil, &sounds.InputError{Path: path, Msg: err.Error(), Err: err}
	}
	return r, nil
}

// Load finds a scenario by the name of a built-in one or as a file, "" for one of
// defaults, on the recorder that the flags name.
func (s *Settings) Load(name string) (*scenario.Scenario, error) {
	r, err := LoadRecorder(s.Recorder)
	if err != nil {
		return nil, err
	}
	if name == "" && r == nil {
		return scenario.New(), nil
	}
	if name == "" {
		return scenario.NewOn(r)
	}
	return loadScenario(r, name)
}

func loadScenario(r *equipment.Recorder, name string) (*scenario.Scenario, error) {
	file := strings.ContainsAny(name, `/\`) || strings.EqualFold(filepath.Ext(name), ".yaml") || strings.EqualFold(filepath.Ext(name), ".yml")
	if !file {
		for _, b := range scenario.BuiltinNames() {
			if b == name {
				return scenario.LoadBuiltinOn(r, name)
			}
		}
		if st, err := os.Stat(name); err != nil || st.IsDir() {
			return scenario.LoadBuiltinOn(r, name) // whose error lists what there is
		}
	}
	return scenario.LoadOn(r, name)
}

// setMark turns the knob of the user's recorder.
func (s *Settings) setMark(sc *scenario.Scenario) ([]scenario.Fault, error) {
	if s.Mark == "" {
		return nil, nil
	}
	if s.gain != "" {
		return nil, Usagef("--mark and --gain both set the gain: either of them")
	}
	v, err := strconv.ParseFloat(s.Mark, 64)
	if err != nil {
		return nil, Usagef("--mark: %q is no mark of a knob, as in 4.5", s.Mark)
	}
	err = sc.SetMark(v)
	var e *scenario.Error
	if errors.As(err, &e) {
		e.Faults[0].Name = "--mark"
		return e.Faults, nil
	}
	return nil, err
}

// Apply changes sc by the flags, --set first.
func (s *Settings) Apply(sc *scenario.Scenario) error {
	var faults []scenario.Fault
	set := func(flag, path, value string) error {
		err := sc.Set(path, value)
		var e *scenario.Error
		if !errors.As(err, &e) {
			return err
		}
		for _, f := range e.Faults {
			if flag != "" {
				f.Name = flag
			}
			faults = append(faults, f)
		}
		return nil
	}
	if s.Recording != "" {
		if s.talker != "" {
			return Usagef("--talker %s: %s is a recording, and talks for itself", s.talker, s.Recording)
		}
		path, err := filepath.Abs(s.Recording)
		if err != nil {
			return err
		}
		// Known by the name the caller gave, from whatever directory.
		if s.Recording == "-" || sc.Dir == "" || filepath.IsAbs(s.Recording) {
			path = s.Recording
		}
		sc.Source.File, sc.Source.Talker, sc.Source.Script = path, "", nil
	}
	for _, kv := range s.Sets {
		path, value, ok := strings.Cut(kv, "=")
		if !ok || path == "" {
			return Usagef("--set %s: want PATH=VALUE, as in --set preamp.gain_db=52", kv)
		}
		if path == "source.file" && sc.Dir != "" && !filepath.IsAbs(value) {
			// On a command line a path counts from where one stands.
			abs, err := filepath.Abs(value)
			if err != nil {
				return err
			}
			value = strconv.Quote(abs)
		}
		if err := set("", path, value); err != nil {
			return err
		}
	}
	for _, f := range []struct{ flag, path, value string }{
		{"--talker", "source.talker", s.talker},
		{"--distance", "distance_m", s.Distance},
		{"--level", "source.level_db_spl", s.level},
		{"--seed", "seed", s.Seed},
		{"--format", "file.format", s.wordLen},
		{"--gain", "preamp.gain_db", s.gain},
	} {
		if f.value == "" {
			continue
		}
		if err := set(f.flag, f.path, f.value); err != nil {
			return err
		}
	}
	marks, err := s.setMark(sc)
	if err != nil {
		return err
	}
	faults = append(faults, marks...)
	if len(faults) > 0 {
		return &scenario.Error{Faults: faults}
	}
	if s.level != "" && sc.Source.File == "" {
		return Usagef("--level is for a recording; how loud a talker is, the script's efforts say")
	}
	if s.limiter != "" {
		place := sim.LimiterPlace(s.limiter)
		switch place {
		case sim.LimiterOff, sim.LimiterBefore, sim.LimiterAfter:
		default:
			return Usagef("--limiter: there is no %q: there are off, before and after", s.limiter)
		}
		sc.Each(func(c *sim.Chain) { *c = c.WithPlace(place) })
	}
	return nil
}
