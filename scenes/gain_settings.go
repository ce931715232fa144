package scenes

import (
	"fmt"
	"strings"

	"gainwright/sim"
)

// applySetting carries out what changes a chain: rest is the intent's ID without
// the strip. ok is false if it is none of these.
func (g *gainScene) applySetting(i int, rest string, it Intent) (ok bool, err error) {
	c := g.s.Chain(i)
	if f, word, found := settingOf(rest); found {
		v, err := asked(f, word, &c, it)
		if err != nil {
			return true, err
		}
		f.Set(&c, v)
		return true, g.set(i, c)
	}
	kind, name, _ := strings.Cut(rest, ".")
	switch kind {
	case "mic":
		for _, m := range microphones {
			if m.Name == name {
				return true, g.set(i, m.On(c))
			}
		}
	case "recorder":
		for _, r := range recorders {
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
func (g *gainScene) applyShared(it Intent) (ok bool, err error) {
	f, word, found := settingOf(it.ID)
	if !found || f.Station != sim.AtMicrophone {
		return false, nil
	}
	set := g.s.Setup()
	v, err := asked(f, word, &set.Chain[g.shown], it)
	if err != nil {
		return true, err
	}
	for i := range set.Chain {
		f.Set(&set.Chain[i], v)
	}
	return true, g.s.SetSetup(set)
}

// applyStrips carries out what concerns the strips as such.
func (g *gainScene) applyStrips(it Intent) (ok bool, err error) {
	set := g.s.Setup()
	i := g.shown
	switch it.ID {
	case "strips.add", "strips.safety":
		if set.N == MaxStrips {
			return true, fmt.Errorf("there are %d strips already", MaxStrips)
		}
		k := set.N
		set.N++
		set.Chain[k], set.Locked[k], set.Safety[k] = set.Chain[i], false, 0
		if it.ID == "strips.safety" {
			if set.Safety[i] > 0 {
				return true, fmt.Errorf("strip %s is a safety track itself", stripNames[i])
			}
			set.Safety[k] = i + 1
			set.follow()
		}
		if err := g.s.SetSetup(set); err != nil {
			return true, err
		}
		g.shown = k
		if it.ID == "strips.safety" {
			g.status = fmt.Sprintf("Strip %s is a safety track: strip %s, %d dB lower.", stripNames[k], stripNames[i], SafetyDB)
		} else {
			g.status = fmt.Sprintf("Strip %s is set like strip %s.", stripNames[k], stripNames[i])
		}
	case "strips.remove":
		if set.N == MinStrips {
			return true, fmt.Errorf("%d strips are the least", MinStrips)
		}
		set.N--
		for k := range set.N {
			if set.Safety[k] == set.N+1 {
				set.Safety[k] = 0
			}
		}
		g.status = "Strip " + stripNames[set.N] + " is gone."
		g.shown = min(g.shown, set.N-1)
		if err := g.s.SetSetup(set); err != nil {
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
				copyStation(&set.Chain[k], &set.Chain[i], g.drawer.at)
			}
		}
		if n == 0 {
			return true, fmt.Errorf("all other strips are locked or follow one")
		}
		set.follow()
		if err := g.s.SetSetup(set); err != nil {
			return true, err
		}
		g.status = fmt.Sprintf("Strip %s was copied.", stripNames[i])
	default:
		strip, found := strings.CutSuffix(it.ID, ".lock")
		if !found {
			return false, nil
		}
		for k := range set.N {
			if stripNames[k] == strip {
				set.Locked[k] = !set.Locked[k]
				return true, g.s.SetSetup(set)
			}
		}
		return false, nil
	}
	g.p.Relayout()
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
