package gain

import (
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
	kind, name, _ := strings.Cut(rest, ".")
	switch kind {
	case "mic":
		for _, m := range drawer.Microphones {
			if m.Name == name {
				return true, g.set(i, m.On(c))
			}
		}
	case "recorder":
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

// share sets what all strips have in common: room and distance.
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

// applyStrips carries out what concerns the strips as such.
func (g *Scene) applyStrips(it ui.Intent) (ok bool, err error) {
	set := g.Bench.Setup()
	i := g.Shown
	switch it.ID {
	case "strips.add", "strips.safety":
		if set.N == bench.MaxStrips {
			return true, fmt.Errorf("there are %d strips already", bench.MaxStrips)
		}
		k := set.N
		set.N++
		set.Chain[k], set.Locked[k], set.Safety[k] = set.Chain[i], false, 0
		if it.ID == "strips.safety" {
			if set.Safety[i] > 0 {
				return true, fmt.Errorf("strip %s is a safety track itself", bench.StripNames[i])
			}
			set.Safety[k] = i + 1
			set.SyncSafety()
		}
		if err := g.Bench.SetSetup(set); err != nil {
			return true, err
		}
		g.Shown = k
		if it.ID == "strips.safety" {
			g.status = fmt.Sprintf("Strip %s is a safety track: strip %s, %d dB lower.", bench.StripNames[k], bench.StripNames[i], bench.SafetyDB)
		} else {
			g.status = fmt.Sprintf("Strip %s is set like strip %s.", bench.StripNames[k], bench.StripNames[i])
		}
	case "strips.remove":
		if set.N == bench.MinStrips {
			return true, fmt.Errorf("%d strips are the least", bench.MinStrips)
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
			return true, err
		}
	case "copy.strip", "copy.station":
		n := 0
		for k := range set.N {
			if k == i || set.Locked[k] || set.Safety[k] > 0 {
				continue
			}
			n++
			if it.ID == "copy.strip" {
				set.Chain[k] = set.Chain[i]
			} else {
				copyStation(&set.Chain[k], &set.Chain[i], g.drawer.At)
			}
		}
		if n == 0 {
			return true, fmt.Errorf("all other strips are locked or follow one")
		}
		set.SyncSafety()
		if err := g.Bench.SetSetup(set); err != nil {
			return true, err
		}
		g.status = fmt.Sprintf("Strip %s was copied.", bench.StripNames[i])
	default:
		strip, found := strings.CutSuffix(it.ID, ".lock")
		if !found {
			return false, nil
		}
		for k := range set.N {
			if bench.StripNames[k] == strip {
				set.Locked[k] = !set.Locked[k]
				return true, g.Bench.SetSetup(set)
			}
		}
		return false, nil
	}
	g.shell.Relayout()
	return true, nil
}

// copyStation gives dst the settings of one station of src.
func copyStation(dst, src *sim.Chain, st sim.Station) {
	switch st {
	case sim.AtMicOut:
		dst.Microphone = src.Microphone
	case sim.AtPreamp:
		gain := dst.Preamp.GainDB
		dst.Preamp = src.Preamp
		dst.Preamp.GainDB = gain
	case sim.AtInputLimiter:
		dst.InputLimiter = src.InputLimiter
		dst.Limiter.On = src.Limiter.On
	case sim.AtConverter:
		dst.Converter = src.Converter
	case sim.AtLimiter:
		dst.Limiter = src.Limiter
		dst.InputLimiter.On = src.InputLimiter.On
	case sim.AtFile:
		dst.File = src.File
	}
}
