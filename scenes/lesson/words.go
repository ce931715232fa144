package lesson

import (
	"cmp"
	"fmt"
	"strconv"
	"strings"

	"gainwright/lessons/model"
	"gainwright/lessons/run"
	"gainwright/lessons/take"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/stage"
	"gainwright/scenes/ui"
	"gainwright/sounds/scenario/plain"
)

// lessonSet is one control that a step unlocks.
type lessonSet struct {
	c      model.Control
	field  *kit.Field   // of a number
	places []*ui.Choice // of a word
	check  *ui.Check    // of a switch
}

// newSet makes it.
func newSet(c model.Control) lessonSet {
	set := lessonSet{c: c}
	id := idSet + c.Key
	switch {
	case c.Choices != nil:
		for _, w := range c.Choices {
			ch := ui.NewChoice(id, id+"."+w, kit.Capital(c.Label)+": "+placeWord(w), "", placeWord(w))
			ch.Look = ui.Tile
			set.places = append(set.places, ch)
		}
	case c.Switch:
		set.check = ui.NewCheck(id, kit.Capital(c.Label), "", c.Label)
	default:
		unit := c.Unit
		if unit != "" {
			unit = " " + unit
		}
		set.field = kit.NewField(id, kit.Capital(c.Label), "", c.Label, unit, c.Min, c.Max, c.Min, max(c.Step, 1e-6), kit.DigitsOf(max(c.Step, 1e-6)))
		set.field.From, set.field.To = c.Min, c.Max
	}
	return set
}

// soundsOf are the sounds of a comparison, and the answers to its trials.
func soundsOf(st *model.Step) (heard []*ui.Choice, trials []*ui.Button) {
	if st.Hears() {
		for _, n := range st.Strips {
			label := cmp.Or(heardAs[n], n)
			c := ui.NewChoice(groupHear, idHear+n, "Listen to "+label, "", label)
			heard = append(heard, c)
			if st.Trials > 0 {
				b := ui.NewButton(idTrial+n, "It was "+label, "Answers the present trial; it stands.", "It was "+label, ui.Plain, ui.NoIcon)
				b.Size = ui.Small
				trials = append(trials, b)
			}
		}
		if st.Trials > 0 {
			heard = append(heard, ui.NewChoice(groupHear, idHear+trialName, "Listen to the trial", "One of them, without its name.", "the trial"))
		}
	}
	return heard, trials
}

// newForget makes the button for whoever was at a computer that others use, too.
func newForget() *ui.Button {
	b := ui.NewButton(idForget, "Finish and forget me", "For a computer that others use, too: forgets the name, a link's key and how far every lesson here has got. Save the result first. Takes and practice stay.", "Finish and forget me", ui.Quiet, ui.NoIcon)
	b.Size = ui.Small
	return b
}

const maxOwnLessons = 8

const recordHint = "The performance is given once; then you see what came of it."

func placeWord(w string) string {
	for i, pl := range kit.Places {
		if string(pl) == w {
			return kit.PlaceWords[i]
		}
	}
	return w
}

func countFaults(n int) string {
	if n == 1 {
		return "a fault"
	}
	return strconv.Itoa(n) + " faults"
}

// kindWords names a step for its heading.
func kindWords(st *model.Step) string {
	w := model.KindTitle(st.Kind)
	if st.Points > 0 {
		n := stage.Points(st.Points) + " points"
		if st.Points == 1 {
			n = "1 point"
		}
		w += " (" + n + ")"
	}
	return w
}

// outcomeWords say what came of a prediction.
func outcomeWords(o *run.Outcome) string {
	w := "you said: " + o.Answer
	switch o.Verdict {
	case run.Right:
		return w + ", which was right"
	case run.Wrong:
		return w + ", but it was: " + o.Truth
	}
	return w
}

// outcomeNodes tell what came of predictions, and why.
func outcomeNodes(dst []ui.Node, of []run.Outcome, box ink.Rect) []ui.Node {
	for i := range of {
		w := outcomeWords(&of[i])
		if b := of[i].Because; b != "" {
			w += ". " + kit.PlainWords(b)
		}
		dst = append(dst, ui.Node{ID: fmt.Sprint(idPrediction, i+1), Role: ui.RoleText, Name: kit.PlainSpans(of[i].Asked), Value: w, Bounds: box})
	}
	return dst
}

// droppedWords tell of the takes of a step that were given up.
func droppedWords(sp *run.StepProgress) string {
	if n := len(sp.Dropped); n > 0 {
		return ", " + plain.Count(n, "take", "takes") + " given up"
	}
	return ""
}

// mentions finds a reading's name as a whole word.
func mentions(text, key string) bool {
	for i := 0; ; {
		k := strings.Index(text[i:], key)
		if k < 0 {
			return false
		}
		k += i
		end := k + len(key)
		if (k == 0 || !kit.WordByte(text[k-1]) && text[k-1] != '_') && (end == len(text) || !kit.WordByte(text[end]) && text[end] != '_') {
			return true
		}
		i = k + 1
	}
}

// off disables controls for a reason; without one they can be used.
func off(why string, cs ...ui.Control) { kit.Refuse(why != "", why, cs...) }

// inUse tells that the step is about the bench, not about words alone.
func inUse(v *run.View) bool { return v.Step != nil && v.Step.IsTake() }

// outcome says how a finished lesson ended.
func outcome(r *run.Runner, l *model.Lesson) string {
	res, err := r.Result(nil)
	if err != nil {
		return err.Error()
	}
	out := fmt.Sprintf("%s of %s points.", stage.Points(res.Points), stage.Points(res.Of))
	if res.Passed {
		return "Passed: " + out
	}
	if why := res.WhyBy(l, func(i int) string { return strconv.Itoa(i + 1) }); why != "" {
		return "Not passed: " + why + "."
	}
	return "Not passed: " + out
}

// heardAs is what sounds that are no strip's are called.
var heardAs = map[string]string{model.Spoken: "as spoken", model.Other: "the twin"}

// tracksOf makes sounds to compare of what a step gives, all of one length.
func tracksOf(ws []*take.Wave) []kit.Track {
	n := len(ws[0].File)
	for _, w := range ws {
		n = min(n, len(w.File))
	}
	var tracks []kit.Track
	for _, w := range ws {
		x := make([]float64, n)
		for i, v := range w.File[:n] {
			x[i] = float64(v)
		}
		tracks = append(tracks, kit.NewTrack(cmp.Or(heardAs[w.Name], w.Name), x, w.GainDB, w.Caution != ""))
	}
	return tracks
}
