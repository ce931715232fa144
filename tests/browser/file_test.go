//go:build full

package browser

import (
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"gainwright/tests/limited"
)

// Recordings brought to the page: long ones are read in pieces, phones' by the
// browser's own decoder. GAINWRIGHT_LONG adds an hour of 48 kHz stereo as WAV and FLAC,
// with the memory it takes.
func TestLongAndPhoneFiles(t *testing.T) {
	dir := t.TempDir()
	make := func(name string, args ...string) string {
		path := filepath.Join(dir, name)
		if out, err := limited.Command(t, 10*time.Minute, "ffmpeg", append(append([]string{"-v", "error", "-y"}, args...), path)...).CombinedOutput(); err != nil {
			t.Fatalf("%s: %v: %s", name, err, out)
		}
		return path
	}
	const wave = "0.3*sin(2*PI*200*t)*pow(sin(2*t),2)"
	pieces := make("pieces.wav", "-f", "lavfi", "-i", "aevalsrc='"+wave+"|"+wave+"':s=48000:d=20") // 3.8 MB, several pieces
	// of makes a file of that many seconds out of it, over and over.
	of := func(name string, seconds int, args ...string) string {
		return make(name, append([]string{"-stream_loop", "-1", "-i", pieces, "-t", fmt.Sprint(seconds)}, args...)...)
	}
	type file struct {
		path, says string
		most       time.Duration
	}
	files := []file{
		{pieces, "performed now", 2 * time.Minute},
		{of("phone.m4a", 5, "-c:a", "aac"), "performed now|say which is meant", time.Minute},
		{of("phone.opus", 5, "-c:a", "libopus"), "performed now|say which is meant", time.Minute},
	}
	if long() {
		files = append(files, file{of("hour.wav", 3600), "performed now", 30 * time.Minute}, file{of("hour.flac", 3600), "performed now", 30 * time.Minute},
			file{of("long.opus", 700, "-c:a", "libopus", "-b:a", "16k"), "convert it to WAV or FLAC first", time.Minute})
	}
	url := serveScene(t)
	p := newPage(t, 1024, 640)
	p.open(url)
	for _, f := range files {
		name := filepath.Base(f.path)
		began := time.Now()
		p.do(chromedp.SetUploadFiles(chromedp.CSS("#gainwright-file"), []string{f.path}))
		p.wait(name, fmt.Sprintf(`(s => s.includes(%q) && /%s/.test(s))(document.querySelector("#gainwright-live").textContent)`, name, f.says), f.most)
		c := p.counters()
		t.Logf("%s after %.0f s: %q; Go heap %.0f MB, memory of wasm %.0f MB", name, time.Since(began).Seconds(), p.live(), c.Heap_MB, c.Memory_MB)
		// Ten minutes of one channel are 115 MB. The recording performed until then stays until the
		// next is there, and before a collection the heap may be twice what is used.
		if c.Memory_MB > 550 {
			t.Errorf("%s: %.0f MB", name, c.Memory_MB)
		}
	}
	p.noErrors()
}
