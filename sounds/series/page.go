package series

import (
	"encoding/base64"
	"fmt"
	"html"
	"strings"

	"gainwright/sounds/codec"
)

// A Version is a sound to listen to on a page.
type Version struct {
	Group, Name string // what it is a version of, and which
	X           []float64
}

// PairPage is one page that needs nothing else, to hand out: sounds that play in step,
// among which buttons switch without a break, and what a pair told of a limiter. The
// sounds are as long as each other and are written as they are, in 16 bit.
func PairPage(t Limited, list []Version, rate int) ([]byte, error) {
	var b strings.Builder
	begin(&b, "Limiter off and on", "audio { display: none; }\n")
	b.WriteString(`<p class="caution" role="note">Some of these sounds are clipped and harsh. Turn the volume down before you play them, above all with headphones, and up slowly. For how loud and how long is safe, follow local rules and qualified people.</p>
<p>One sound, recorded with the limiter off and on, and each after treatment. All play in step and equally loud: switch while it plays.</p>
<p><button type="button" id="play" aria-pressed="false">Play</button></p>
`)
	group := ""
	for i, s := range list {
		if s.Group != group {
			group = s.Group
			fmt.Fprintf(&b, "<h2>%s</h2>\n", html.EscapeString(group))
		}
		wav, err := codec.WAVBytes(rate, [][]float64{s.X}, codec.PCM16)
		if err != nil {
			return nil, err
		}
		fmt.Fprintf(&b, "<button type=\"button\" data-sound=\"%d\" aria-pressed=\"%v\">%s</button>\n<audio preload=\"auto\" loop src=\"data:audio/wav;base64,%s\"></audio>\n", i, i == 0, html.EscapeString(s.Name), base64.StdEncoding.EncodeToString(wav))
	}
	fmt.Fprintf(&b, "<h2>What the pair tells</h2>\n<p><b>%s</b> %s</p>\n<ul>\n", html.EscapeString(t.Title), html.EscapeString(t.Why))
	for _, r := range t.Law {
		fmt.Fprintf(&b, "<li>%s: %s</li>\n", html.EscapeString(r.Name), html.EscapeString(r.Value))
	}
	b.WriteString(`</ul>
<p class="soft">Brackets are meant to hold the truth in nine cases of ten. Believe a limiter's place before its ratio and times. Made with Gainwright.</p>
<script>
const sounds = [...document.querySelectorAll("audio")];
const buttons = [...document.querySelectorAll("[data-sound]")];
const play = document.getElementById("play");
let at = 0, on = false;
sounds.forEach((a, i) => { a.volume = 0.25; a.muted = i !== at; });
function show() {
  sounds.forEach((a, i) => { a.muted = i !== at; });
  buttons.forEach((b, i) => b.setAttribute("aria-pressed", String(i === at)));
  play.textContent = on ? "Pause" : "Play";
  play.setAttribute("aria-pressed", String(on));
}
play.addEventListener("click", () => {
  on = !on;
  const t = sounds[at].currentTime;
  sounds.forEach(a => { if (on) { a.currentTime = t; a.play().catch(() => {}); } else a.pause(); });
  show();
});
buttons.forEach((b, i) => b.addEventListener("click", () => {
  if (Math.abs(sounds[i].currentTime - sounds[at].currentTime) > 0.03) sounds[i].currentTime = sounds[at].currentTime;
  at = i;
  show();
}));
show();
</script>
</body>
</html>
`)
	return []byte(b.String()), nil
}
