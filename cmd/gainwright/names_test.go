package main

import (
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"unicode"

	"gainwright/cmd/gainwright/internal/clitest"
	"gainwright/sounds/codec"
)

// TestNamesAreShownNotObeyed: a file whose name would colour the terminal and break
// the line, through every command that takes a name.
func TestNamesAreShownNotObeyed(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("no such names there")
	}
	dir := t.TempDir()
	const evil = "a\x1b[31m\nqx\u202e"
	in := evil + ".wav"
	clitest.PutWAV(t, filepath.Join(dir, in), 16000, codec.PCM16, clitest.Times(clitest.VoiceLike(1, 16000, 1), 0.3))
	clitest.PutWAV(t, filepath.Join(dir, "plain.wav"), 16000, codec.PCM16, clitest.Times(clitest.VoiceLike(2, 16000, 1), 0.3))
	for _, bad := range []string{".txt", ".yaml", ".json"} {
		if err := os.WriteFile(filepath.Join(dir, evil+bad), []byte("nothing: here\n"), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	for _, args := range [][]string{
		{"meter", in}, {"meter", "--report", evil + ".html", in}, {"meter", evil + ".txt", "not" + in}, {"meter", "--report", evil, in},
		{"take", "--out", evil + "1", in}, {"take", "not" + in}, {"take", "--scenario", evil + ".yaml"}, {"take", "--out", evil + "/x/y"},
		{"compare", "--out", evil + "2", "--recording", in}, {"compare", evil + ".yaml"}, {"compare", evil},
		{"repair", "--method", "limiter", "--report", evil + "3.html", in, evil + "3.wav"}, {"repair", "--method", "limiter", in, in},
		{"repair", "--method", evil, in, "x.wav"}, {"repair", "--method", "limiter", "--truth", in, "plain.wav", "y.wav"},
		{"talk", "Mind the rope.", evil + "4.wav"}, {"talk", "--talker", evil, "Mind.", "z.wav"},
		{"plan", evil + ".yaml"}, {"plan", "--set", evil + "=1"}, {"lesson", "check", evil + ".yaml"}, {"lesson", "show", evil},
		{"lesson", "grade", "--lesson", "whole-session", evil + ".json"}, {"lesson", "run", "whole-session", "--answers", evil + ".yaml", "--out", "o.json"},
		{evil}, {"--" + evil},
	} {
		_, out, errs := call(t, dir, args...)
		for where, text := range map[string]string{"output": out, "errors": errs} {
			if i := strings.IndexFunc(text, func(r rune) bool {
				return r != '\n' && unicode.IsControl(r) || r == '\u202e'
			}); i >= 0 || strings.Contains(text, "\nqx") {
				t.Errorf("%q: %s: %q", args, where, text)
			}
		}
		if !strings.Contains(out+errs, `\x1b[31m`) {
			t.Logf("%q does not say the name: %s%s", args, out, errs)
		}
	}
}
