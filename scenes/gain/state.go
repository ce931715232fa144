package gain

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"gainwright/scenes/bench"
	"gainwright/scenes/kit"
)

// linkMark stands before what a link carries.
const linkMark = "#setup="

// Keep keeps the set-up and the takes of this visit in the host's memory; a knob that
// is being turned comes to rest first.
func (g *Scene) Keep(now float64) {
	if g.begun != nil {
		g.own(g.begun)
		g.begun = nil
	}
	if g.lent {
		return
	}
	if set := g.Bench.Setup(); set != g.stored && now > g.touched+0.5 {
		g.stored = set
		if b, err := json.Marshal(set); err == nil {
			g.store("setup", string(b))
		}
	}
	kit.KeepRecorder(g.Bench.Recorder(), &g.recorder, g.store)
	if g.Bench.RecipeRev != g.storedRev {
		g.storedRev = g.Bench.RecipeRev
		g.rememberTakes()
	}
}

// store keeps what belongs to this tab where a reload finds it, and for the next visit.
func (g *Scene) store(key, value string) {
	if t, ok := g.shell.Host().(kit.Tabbed); ok {
		t.StoreOwn(key, value)
	}
	g.shell.Host().Store(key, value)
}

// own keeps what this tab begins with where its reload finds it, whatever other tabs
// do meanwhile. What a link carried is so kept, too, though for other visits only once
// something was done with it.
func (g *Scene) own(begun *bench.Setup) {
	t, ok := g.shell.Host().(kit.Tabbed)
	if !ok {
		return
	}
	if b, err := json.Marshal(begun); err == nil {
		t.StoreOwn("setup", string(b))
	}
	if g.storedTakes != "" {
		t.StoreOwn("takes", g.storedTakes)
	}
}

// recalled is what belongs to this tab, and at a new visit what was stored last.
func (g *Scene) recalled(key string) string {
	if t, ok := g.shell.Host().(kit.Tabbed); ok {
		if v := t.LoadOwn(key); v != "" {
			return v
		}
	}
	return g.shell.Host().Load(key)
}

func (g *Scene) rememberTakes() {
	var keep []bench.Recipe
	for _, r := range g.Bench.Recipes() {
		if r.Perf.File == "" && !r.Perf.Live {
			keep = append(keep, r)
		}
	}
	for len(keep) > 0 {
		b, err := json.Marshal(keep)
		if err == nil && len(b) <= bench.MaxCarried {
			if s := string(b); s != g.storedTakes {
				g.storedTakes = s
				g.store("takes", s)
			}
			return
		}
		keep = keep[1:]
	}
}

// recall takes over what an earlier visit left, or what the link carries.
func (g *Scene) recall() {
	h := g.shell.Host()
	carried := kit.Followed(h)
	if !strings.HasPrefix(carried, linkMark) {
		carried = "" // another scene's
	}
	if b := g.recalled("setup"); b != "" && len(b) <= bench.MaxCarried {
		var p bench.Setup
		// What cannot be read is as at a first visit.
		if json.Unmarshal([]byte(b), &p) == nil {
			_ = g.Bench.SetSetup(p)
		}
	}
	g.recorder = kit.RecallRecorder(g.Bench, g.recalled)
	if b := g.recalled("takes"); b != "" && len(b) <= bench.MaxCarried {
		g.storedTakes = b
		var rs []bench.Recipe
		if json.Unmarshal([]byte(b), &rs) == nil {
			ok := rs[:0]
			for _, r := range rs {
				if r.Validate() == nil && len(ok) < bench.MaxRecipes {
					ok = append(ok, r)
				}
			}
			g.Bench.SetRecipes(ok)
			// The last take is there again, and shown; whoever followed a link wants
			// to see what that carries.
			if n := len(ok); n > 0 && ok[n-1].Perf.Own != "" {
				// Its voice comes once the picture is there, and the take quietly with it.
				_ = g.who.With(&ok[n-1], func(r bench.Recipe) error {
					if g.Bench.Take() != nil {
						return nil // there is another one by now
					}
					return g.Bench.Restore(r, true)
				})
			} else if n > 0 && g.Bench.Restore(ok[n-1], carried != "") == nil {
				g.status = remakingWords(ok[n-1].Number)
			}
		}
	}
	defer func() {
		set := g.Bench.Setup()
		g.begun = &set
	}()
	if carried == "" {
		return
	}
	p, err := bench.Unpack(strings.TrimPrefix(carried, linkMark))
	if err == nil {
		err = g.Bench.SetSetup(p)
	}
	if err != nil {
		g.shell.Fail(fmt.Errorf("the link's set-up was not taken over: %w", err))
		return
	}
	g.status = "This set-up came with the link."
}

// link makes a link that carries the set-up, and tells whether it is good for others.
func (g *Scene) link() (link string, public bool, err error) {
	l, ok := g.shell.Host().(kit.Linker)
	if !ok {
		return "", false, errors.New("this program has no address that could carry a set-up; save it as a file instead")
	}
	s, err := g.Bench.Setup().Pack()
	if err != nil {
		return "", false, err
	}
	at, public := l.Address(), true
	if p, ok := l.(kit.Published); ok {
		if public = p.Public() != ""; public {
			at = p.Public()
		}
	}
	return at + linkMark + s, public, nil
}
