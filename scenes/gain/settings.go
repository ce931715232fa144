package gain

import (
	"errors"
	"fmt"
	"strings"

	"gainwright/scenes/bench"
	"gainwright/scenes/gain/drawer"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/sim"
)

// applySetting carries out what changes a chain: rest is the intent's ID without
// the strip. ok is false if it is none of these.
func (g *Scene) applySetting(i int, rest string, it ui.Intent) (ok bool, err error) {
	c := g.Bench.Chain(i)
	if f, word, found := kit.SettingOf(rest); found {
		v, err := kit.Asked(f, word, &c, it)
		if err != nil {
			return true, err
		}
		f.Set(&c, v)
		return true, g.set(i, c)
	}
	if name, is := strings.CutPrefix(rest, drawer.IDStripMic); is {
		for _, m := range drawer.Microphones {
			if m.Name == name {
				return true, g.set(i, m.On(c))
			}
		}
	}
	if name, is := strings.CutPrefix(rest, drawer.IDStripRecorder); is {
		for _, r := range drawer.Recorders {
			if r.Name == name {
				on := r.On(c)
				if r.InputLimiter {
					on.Limiter.On = false
				}
				return true, g.set(i, on)
			}
		}
	}
	return false, nil
}

// applyShared sets what all strips have in common: room and distance.
func (g *Scene) applyShared(it ui.Intent) (ok bool, err error) {
	f, word, found := kit.SettingOf(it.ID)
	if !found || f.Station != sim.AtMicrophone {
		return false, nil
	}
	set := g.Bench.Setup()
	v, err := kit.Asked(f, word, &set.Chain[g.Shown], it)
	if err != nil {
		return true, err
	}
	for i := range set.Chain {
		f.Set(&set.Chain[i], v)
	}
	return true, g.Bench.SetSetup(set)
}

// addStrip adds a strip set like the one shown, or one that follows it as its safety
// track.
func (g *Scene) addStrip(safety bool) error {
	set, i := g.Bench.Setup(), g.Shown
	if set.N == bench.MaxStrips {
		return fmt.Errorf("there are %d strips already", bench.MaxStrips)
	}
	k := set.N
	set.N++
	set.Chain[k], set.Locked[k], set.Safety[k] = set.Chain[i], false, 0
	status := fmt.Sprintf("Strip %s is set like strip %s.", bench.StripNames[k], bench.StripNames[i])
	if safety {
		if set.Safety[i] > 0 {
			return fmt.Errorf("strip %s is a safety track itself", bench.StripNames[i])
		}
		set.Safety[k] = i + 1
		set.SyncSafety()
		status = fmt.Sprintf("Strip %s is a safety track: strip %s, %d dB lower.", bench.StripNames[k], bench.StripNames[i], bench.SafetyDB)
	}
	if err := g.Bench.SetSetup(set); err != nil {
		return err
	}
	g.Shown, g.status = k, status
	g.shell.Relayout()
	return nil
}

// removeStrip takes the last strip away.
func (g *Scene) removeStrip() error {
	set := g.Bench.Setup()
	if set.N == bench.MinStrips {
		return fmt.Errorf("%d strips are the least", bench.MinStrips)
	}
	set.N--
	for k := range set.N {
		if set.Safety[k] == set.N+1 {
			set.Safety[k] = 0
		}
	}
	g.status = "Strip " + bench.StripNames[set.N] + " is gone."
	g.Shown = min(g.Shown, set.N-1)
	if err := g.Bench.SetSetup(set); err != nil {
		return err
	}
	g.shell.Relayout()
	return nil
}

// copyShown gives the other strips what copy takes from the strip shown, but for those
// that are locked or follow one.
func (g *Scene) copyShown(copy func(dst, src *sim.Chain)) error {
	set, i := g.Bench.Setup(), g.Shown
	n := 0
	for k := range set.N {
		if k == i || set.Locked[k] || set.Safety[k] > 0 {
			continue
		}
		n++
		copy(&set.Chain[k], &set.Chain[i])
	}
	if n == 0 {
		return errors.New("all other strips are locked or follow one")
	}
	set.SyncSafety()
	if err := g.Bench.SetSetup(set); err != nil {
		return err
	}
	g.status = fmt.Sprintf("Strip %s was copied.", bench.StripNames[i])
	g.shell.Relayout()
	return nil
}

// toggleLock locks strip i, or unlocks it.
func (g *Scene) toggleLock(i int) error {
	set := g.Bench.Setup()
	set.Locked[i] = !set.Locked[i]
	return g.Bench.SetSetup(set)
}
