//go:build window && !js

package speaker

import (
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gainwright/sounds"
	"gainwright/tests/limited"
)

// One process has one sound card, so each case runs in a process of its own
// with an ALSA configuration of its own: this test binary again, told by its
// environment which case to be.
var cases = map[string]func(*result){"no device": caseNoDevice, "plays": casePlays}

func TestMain(m *testing.M) {
	if name := os.Getenv("SPEAKER_TEST"); name != "" {
		var r result
		cases[name](&r)
		fmt.Println("case ran:", name)
		if r.failed {
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

type result struct{ failed bool }

func (r *result) error(args ...any) { r.failed = true; fmt.Println(args...) }

func child(t *testing.T, name, asoundrc string) (dir string) {
	t.Helper()
	dir = t.TempDir()
	conf := filepath.Join(dir, "asoundrc")
	if err := os.WriteFile(conf, []byte(strings.ReplaceAll(asoundrc, "DIR", dir)), 0o666); err != nil {
		t.Fatal(err)
	}
	cmd := limited.Command(t, 5*time.Minute, os.Args[0])
	cmd.Env = append(os.Environ(), "SPEAKER_TEST="+name, "ALSA_CONFIG_PATH="+conf)
	out, err := cmd.CombinedOutput()
	if err != nil || !strings.Contains(string(out), "case ran: "+name) {
		t.Fatalf("%v\n%s", err, out)
	}
	return dir
}

func TestNoDevice(t *testing.T) {
	child(t, "no device", "# nothing\n")
}

func caseNoDevice(t *result) {
	for range 2 {
		d, err := Open(48000, 1024)
		if err == nil || d != nil {
			t.error(fmt.Sprintf("opened %v without a device", d))
		}
		if !strings.HasPrefix(err.Error(), "no sound device: ") || strings.Contains(err.Error(), "\n") {
			t.error(err)
		}
		// As a caller with the wider type sees it.
		var o sounds.Output
		o, err = Open(48000, 1024)
		if o != nil || err == nil {
			t.error("an error with an output")
		}
	}
	if _, err := Open(100, 1024); err == nil {
		t.error("100 Hz accepted")
	}
}

// TestPlays writes what the card receives to a file: the codes that the Monitor
// decided on, all below the ceiling, at the pace of real time.
func TestPlays(t *testing.T) {
	dir := child(t, "plays", "pcm.!default { type file file \"DIR/card.raw\" format raw slave.pcm { type null } }\n")
	b, err := os.ReadFile(filepath.Join(dir, "card.raw"))
	if err != nil {
		t.Fatal(err)
	}
	top, loud := 0, 0
	for i := 0; i+1 < len(b); i += 2 {
		v := int(int16(binary.LittleEndian.Uint16(b[i:])))
		top = max(top, v, -v)
		if v > 5000 {
			loud++
		}
	}
	ceiling := int(math.Pow(10, -10.0/20) * 32767)
	if top > ceiling || top < ceiling-60 || loud < 2000 {
		t.Errorf("the card got codes up to %d, the ceiling is %d; %d loud ones of %d bytes", top, ceiling, loud, len(b))
	}
}

func casePlays(t *result) {
	const rate, buffer = 48000, 1024
	d, err := Open(rate, buffer)
	if err != nil {
		t.error(err)
		return
	}
	if d.Running() {
		t.error("running before it could")
	}
	p := sounds.NewPlayer(rate)
	x := make([]float64, rate)
	for i := range x {
		x[i] = 5 * math.Sin(2*math.Pi*300*float64(i)/rate)
	}
	if err := p.Load(sounds.Track{Samples: x}); err != nil {
		t.error(err)
	}
	m, err := sounds.NewMonitor(p, rate, sounds.MonitorSettings{TrimDB: 0, CeilingDBFS: -10})
	if err != nil {
		t.error(err)
	}
	pull := sounds.NewPull(m, rate, buffer)
	p.Play()
	begin := time.Now()
	if err := d.Start(pull); err != nil {
		t.error(err)
	}
	ticks := 0
	for time.Since(begin) < 1500*time.Millisecond {
		time.Sleep(10 * time.Millisecond)
		if pull.Tick(480) > 0 {
			ticks++
		}
	}
	s := pull.Stats()
	spent := time.Since(begin).Seconds()
	// The null device takes at once what it is offered, so the pace is ours:
	// real time and the lead that is allowed.
	if got := float64(s.Frames) / rate; got < spent-0.3 || got > spent+1 {
		t.error(fmt.Sprintf("%.2f s pulled in %.2f s", got, spent))
	}
	if !d.Running() || !pull.Running() || pull.Owner() != sounds.ClockDevice || d.Err() != nil {
		t.error("not running", d.Running(), pull.Running(), pull.Owner(), d.Err())
	}
	if ticks > 20 {
		t.error(fmt.Sprintf("%d ticks pulled beside the device", ticks))
	}
	if p.Ended() != 1 {
		t.error(fmt.Sprintf("ended %d times", p.Ended()))
	}
	again, err := Open(rate, buffer)
	if err != nil || again != d {
		t.error("opening again gave another device", err)
	}
	if _, err := Open(44100, buffer); err == nil || !strings.Contains(err.Error(), "already open at 48000 Hz") {
		t.error(err)
	}
	d.Close()
	d.Close()
	if d.Start(pull) == nil {
		t.error("started after Close")
	}
	before := pull.Stats().Frames
	time.Sleep(100 * time.Millisecond)
	if pull.Stats().Frames > before+buffer {
		t.error("pulled on after Close")
	}
	if d, err = Open(rate, buffer); err != nil || d.Start(pull) != nil {
		t.error("not to be opened again", err)
	}
}
