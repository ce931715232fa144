package plancmd

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"gainwright/lessons/practice"
	"gainwright/scenes"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/scenetest"
	"gainwright/scenes/ui"
)

// TestOneGainEverywhere: the gain that the card tells for the default session is called
// right by the ruler of “Set the gain” and by that of “Plan the session”, and one that a
// guest's sound check tells is called right by practice with that guest.
func TestOneGainEverywhere(t *testing.T) {
	dir := t.TempDir()
	card := func(args ...string) (gain, held float64) {
		t.Helper()
		var p planJSON
		if err := json.Unmarshal([]byte(must(t, dir, append([]string{"plan", "--json", "--sessions", "20000"}, args...)...)), &p); err != nil {
			t.Fatal(err)
		}
		if p.Suggested == nil {
			t.Fatal("nothing is suggested")
		}
		return p.Suggested.GainDB, p.Suggested.Held
	}
	gain, held := card()
	p, err := scenes.NewProgram(scenetest.Seen())
	if err != nil {
		t.Fatal(err)
	}
	now := 0.0
	ruler := func(want string) {
		t.Helper()
		got := ""
		for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(time.Millisecond) {
			// Time stands still, so that nobody is heard.
			p.Frame(ui.Input{Size: p.Size(), Scale: 1, Seconds: now})
			for _, n := range p.Semantics() {
				if n.ID == kit.IDRuler {
					got = n.Value
				}
			}
			if strings.Contains(got, want) {
				return
			}
		}
		t.Fatalf("the ruler says %q, not %q", got, want)
	}
	set := func(id string, v float64) {
		t.Helper()
		if err := p.Apply(ui.Intent{ID: id, Do: ui.DoSet, Value: v}); err != nil {
			t.Fatal(err)
		}
	}
	p.Frame(ui.Input{Size: ink.Point{X: 1280, Y: 720}, Scale: 1, Seconds: now})
	ruler(fmt.Sprintf("For the hour: %.0f dB, talk's held peak −%.0f dBFS", gain, -held))
	set("A.gain_db", gain)
	ruler(fmt.Sprintf("Strip A at %.1f dB: in the window.", gain))
	set("A.gain_db", gain+2)
	ruler(fmt.Sprintf("Strip A at %.1f dB: too risky.", gain+2))
	if err := p.Apply(ui.Intent{ID: kit.IDTabPlan, Do: ui.DoPress}); err != nil {
		t.Fatal(err)
	}
	ruler(fmt.Sprintf("For the hour: %.0f dB, talk's held peak −%.0f dBFS", gain, -held))
	ruler(fmt.Sprintf("The plan at %.1f dB: in the window.", gain))

	// A guest 8 cm before the default microphone, as the default session has it.
	guest := func(gain float64) *practice.Outcomes {
		t.Helper()
		pr, err := practice.New(42, practice.History{}, nil)
		if err != nil {
			t.Fatal(err)
		}
		if g := pr.Guest(); g.DistanceM != 0.08 || g.Condenser {
			t.Fatalf("another guest than meant: %+v", g)
		}
		if err := pr.Apply("preamp.gain_db", gain); err != nil {
			t.Fatal(err)
		}
		o, err := pr.Talk(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		return o
	}
	hot := guest(gain + 7)
	h := hot.Hour
	told, _ := card("--heard", fmt.Sprintf("talk=%.1f,gain=%g", h.Setup.HeldDBFS(gain), gain))
	if told > h.Window.HighToDB || told < h.Window.LowDB {
		t.Errorf("the card says %v dB, practice's window reaches from %.1f to %.1f dB", told, h.Window.LowDB, h.Window.HighDB)
	}
	right := guest(told)
	if right.Score < 99 || !strings.HasPrefix(right.Advice, "Nothing to mend") {
		t.Errorf("at %v dB practice gives %v: %s", told, right.Score, right.Advice)
	}
	if hot.Score > right.Score-5 {
		t.Errorf("%v dB more costs %v points only", gain+7-told, right.Score-hot.Score)
	}
	t.Logf("default session: %v dB, talk held at %v dBFS; the guest by the check: %v dB, %v of 100: %s", gain, held, told, right.Score, right.Advice)
}
