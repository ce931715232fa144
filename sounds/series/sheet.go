package series

import (
	_ "embed"
	"fmt"
	"html"
	"strings"

	"gainwright/sim/identify"
)

// Style is how the pages of the series look.
//
//go:embed sheet.css
var Style string

// A Part is a part of the series: some sounds that belong together.
type Part struct {
	Name  string // one word
	Title string
	Tells string // what it is good for
	Do    string // what the user does
	Steps []identify.Step
}

// Parts are those of the series, in order. Each can be left out.
var Parts = []Part{
	{"quiet", "Quiet", "the noise before and after the gain",
		"Keep quiet, in a silent room, at the lowest, a middle and the highest mark. Better still with a plug of 150 Ω in place of the microphone, if you have one: then name the recording plugged, by hand.",
		[]identify.Step{identify.Quiet, identify.Plugged}},
	{"steps", "Steps", "the gain between the knob's marks",
		"The same tone at every mark, and the same volume of the loudspeaker throughout: so loud that it does not clip at the highest mark.",
		[]identify.Step{identify.Steps}},
	{"loud", "Loud", "where and how the recorder clips",
		"Rather than the loudspeaker, turn the knob up, until the recorder's clip light comes on.",
		[]identify.Step{identify.Loud}},
	{"pair", "The pair", "the limiter: whether it acts, before the converter or after it, threshold, ratio and times",
		"The same sound twice at one mark, limiter off and on, nothing moved between, so loud that without the limiter it clips at least ten times. A recorder with a limiter on one of two channels needs one recording only: name it pair, by hand; the limiter is off on the first channel.",
		[]identify.Step{identify.Off, identify.On}},
	{"anchor", "A level that is known", "how loud a sound reaches full scale, in dB SPL; without it everything is known against full scale only",
		"Best is an acoustic calibrator on the microphone (94.0 dB at 1 kHz): record it for ten seconds, and name it anchor. Or a sound level meter beside the microphone while a tone of the steps plays: tell what it reads. Or somebody who talks in an ordinary way one metre away (anchor, too), good to 7 dB either way.",
		[]identify.Step{identify.Anchor}},
}

// Before is what to do before the first sound.
const Before = "You need the recorder with its microphone, a phone or a loudspeaker half a metre in front of it that stays where it is, and a quiet room. Set the recorder to uncompressed files, limiter, automatic level and filters off unless a step says otherwise. Start recording, play the sound from its first second, stop. The tones at its beginning tell the program what it is: files may come in any order, and be called anything. One long recording of everything will do, too. Leave out what you like; each step says what it tells."

// begin writes what stands before a page's text: its title, and a style beside Style.
func begin(b *strings.Builder, title, style string) {
	fmt.Fprintf(b, `<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>%[1]s</title>
<style>
%[2]s%[3]s</style>
</head>
<body>
<h1>%[1]s</h1>
`, title, Style, style)
}

// Sheet is the page that leads through the series, to print or to keep on a phone beside
// the sounds that it plays.
func Sheet(all []Played) []byte {
	var b strings.Builder
	begin(&b, "Test your own recorder", "")
	fmt.Fprintf(&b, "<p class=\"caution\" role=\"note\">%s</p>\n<p>%s</p>\n", html.EscapeString(Caution), html.EscapeString(Before))
	for i, p := range Parts {
		fmt.Fprintf(&b, "<section><h2>%d. %s</h2>\n<p>Tells %s. %s</p>\n<ol>", i+1, p.Title, html.EscapeString(p.Tells), html.EscapeString(p.Do))
		for _, s := range all {
			if s.Step == p.Steps[0] || s.Step == p.Steps[len(p.Steps)-1] {
				fmt.Fprintf(&b, "<li>Knob at %s.<audio controls preload=\"none\" src=\"%s\"></audio></li>\n", html.EscapeString(s.Label), html.EscapeString(s.File))
			}
		}
		b.WriteString("</ol></section>\n")
	}
	b.WriteString(`<h2>Then</h2>
<p>Drop the recordings on the scene “Your recorder”, all at once; or on a command line:</p>
<pre>gainwright recorder learn FILES... --out my-recorder.yaml --report my-recorder.html</pre>
<p>By hand a recording is named beside it in the scene, and in the command by <code>--is FILE=plugged,10</code>; a known level there by <code>--anchor calibrator=94</code>, <code>meter=72,A</code> or <code>talk</code>.</p>
<p class="soft">Made with Gainwright. For how loud and how long is safe, follow local rules and qualified people.</p>
</body>
</html>
`)
	return []byte(strings.ReplaceAll(b.String(), "<ol></ol>", ""))
}
