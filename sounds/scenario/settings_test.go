package scenario_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"strconv"
	"strings"
	"testing"

	"gainwright/sim"
	"gainwright/sim/simtest"
	"gainwright/sounds/scenario"
)

// TestTruePeakKept: what the scene saves as a scenario holds the limiter's watch
// between samples, too, and --set knows it.
func TestTruePeakKept(t *testing.T) {
	s := scenario.New()
	s.Strips[0].Chain.Limiter.TruePeak = true
	b, err := s.Marshal()
	if err != nil {
		t.Fatal(err)
	}
	back, err := scenario.Parse("saved", b)
	if err != nil {
		t.Fatal(err)
	}
	if !back.Strips[0].Chain.Limiter.TruePeak {
		t.Error("limiter.true_peak is lost in writing and reading")
	}
	if err := back.Set("limiter.true_peak", "false"); err != nil {
		t.Error(err)
	} else if back.Strips[0].Chain.Limiter.TruePeak {
		t.Error("--set limiter.true_peak=false does nothing")
	}
}

// TestChainThroughScenario: every chain comes back from a file, and from --set
// value by value, found in the chain by reflection and not by the table.
func TestChainThroughScenario(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 100 {
		s := scenario.New()
		s.Strips = nil
		for _, name := range []string{"A", "B"} {
			c, err := simtest.Random(r)
			if err != nil {
				t.Fatal(err)
			}
			s.Strips = append(s.Strips, scenario.Strip{Name: name, Chain: c})
		}
		// The room of strip B differs from what all share.
		s.Base = s.Strips[0].Chain
		b, err := s.Marshal()
		if err != nil {
			t.Fatal(err)
		}
		back, err := scenario.Parse("written", b)
		if err != nil {
			t.Fatalf("%v\n%s", err, b)
		}
		for i, st := range back.Strips {
			if d := simtest.Differences(st.Chain, s.Strips[i].Chain); d != "" {
				t.Fatalf("strip %s: %s", st.Name, d)
			}
		}
		set := scenario.New()
		set.Strips = []scenario.Strip{{Name: "A", Chain: sim.Default()}}
		want := s.Strips[1].Chain
		for _, l := range simtest.Leaves(&want) {
			if err := set.Set("strips.A."+l.Key, text(l.Value)); err != nil {
				t.Fatal(err)
			}
		}
		if d := simtest.Differences(set.Strips[0].Chain, want); d != "" {
			t.Fatal("--set: " + d)
		}
	}
}

// TestWrittenWords: infinity is written by the word that people use, whole numbers
// without a point.
func TestWrittenWords(t *testing.T) {
	b, err := scenario.New().Marshal()
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"ratio: inf\n", "gain_db: 40\n", "true_peak: false\n", "format: pcm24\n"} {
		if !strings.Contains(string(b), want) {
			t.Errorf("%q is not in\n%s", want, b)
		}
	}
}

// text writes a value as a person would.
func text(v reflect.Value) string {
	if v.CanFloat() {
		if math.IsInf(v.Float(), 1) {
			return "inf"
		}
		return strconv.FormatFloat(v.Float(), 'f', -1, 64)
	}
	return fmt.Sprint(v.Interface())
}

// TestSetRefuses: what a setting cannot be is told with its path, and changes
// nothing.
func TestSetRefuses(t *testing.T) {
	for _, set := range sim.Settings() {
		s := scenario.New()
		before := s.Strips[0].Chain
		bad := map[sim.Kind][]string{sim.Number: {"loud", "-1e9", "true", ".nan"}, sim.Flag: {"1", "perhaps"}, sim.Choice: {"bent", "[hard]"}}[set.Kind]
		if set.Whole {
			bad = append(bad, "12.5")
		}
		for _, v := range bad {
			err := s.Set("strips."+s.Strips[0].Name+"."+set.Key, v)
			if err == nil || !strings.Contains(err.Error(), set.Key) {
				t.Errorf("%s=%s: %v", set.Key, v, err)
			}
		}
		if s.Strips[0].Chain != before {
			t.Errorf("%s: a fault changed the chain", set.Key)
		}
	}
}
