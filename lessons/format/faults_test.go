package format_test

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"gainwright/lessons/format"
	"gainwright/lessons/internal/trial"
	"gainwright/lessons/model"
)

func TestGoodLesson(t *testing.T) {
	l, err := format.Parse("good.yaml", []byte(trial.Good))
	if err != nil {
		t.Fatal(err)
	}
	if len(l.Notes) != 0 || len(l.Steps) != 8 || l.Of() != 2 {
		t.Errorf("notes %v, %d steps, %v points", l.Notes, len(l.Steps), l.Of())
	}
}

// broken: what is replaced by what, where the fault has to point, and what it says.
var broken = []struct{ name, from, to, at, want string }{
	{"title missing", "title: A small lesson\n", "", "for:", "title: is missing"},
	{"key misspelt", "minutes: 3", "minuts: 3", "minuts", "minuts: unknown key: did you mean minutes?"},
	{"minutes out of range", "minutes: 3", "minutes: 900", "900", "minutes: 900 min is out of range: 1 to 240 min"},
	{"unknown kind", "  - explain: Why?", "  - explane: Why?", "explane", `step 8: does not say what is to be done: want one of say, predict, do, record, listen, mend, plan, twin, ask, explain or reveal: is "explane" meant to be explain?`},
	{"two kinds", "    id: hello\n", "    id: hello\n    ask: x\n", "ask: x", "step 1: is say and ask at once"},
	{"no strip of that name", "rule: A.headroom_db >= 6", "rule: C.headroom_db >= 6", "C.headroom", "step 5 (set).rule: C.headroom_db: there is no strip or earlier take of that name: there are A, B, first, set and drawn"},
	{"no reading of that name", "rule: A.headroom_db >= 6", "rule: A.headrom_db >= 6", "A.headrom_", "step 5 (set).rule: A.headrom_db: there is no reading or setting of that name: did you mean headroom_db?"},
	{"reading without strip", "rule: A.headroom_db >= 6", "rule: headroom_db >= 6", "headroom_db >= 6", "step 5 (set).rule: headroom_db: is a reading of a strip: write A.headroom_db"},
	{"units do not agree", "rule: A.headroom_db >= 6", "rule: A.headroom_db >= A.longest_over_ms", "A.headroom_db >=", "step 5 (set).rule: compares dB with ms"},
	{"levels of two kinds", "rule: A.headroom_db >= 6", "rule: A.peak_dbfs >= A.loudness_lufs", "A.peak_dbfs >=", "step 5 (set).rule: compares dBFS with LUFS"},
	{"two levels added", "rule: A.headroom_db >= 6", "rule: A.peak_dbfs + B.peak_dbfs >= 6", "A.peak_dbfs +", "step 5 (set).rule: two levels (dBFS, dBFS) cannot be added"},
	{"unit in a number", "rule: A.headroom_db >= 6 &&", "rule: A.headroom_db >= 6 dB &&", "dB &&", "step 5 (set).rule: numbers are written without a unit"},
	{"assignment", "rule: A.headroom_db >= 6 &&", "rule: A.headroom_db = 6 &&", "= 6 &&", "step 5 (set).rule: a comparison is written =="},
	{"cut short", "rule: A.headroom_db >= 6 && A.overs == 0", "rule: A.headroom_db >=", "=\n    hints", "step 5 (set).rule: ends too early"},
	{"second half of a rule", "&& A.overs == 0", "&& A.overz == 0", "A.overz", "step 5 (set).rule: A.overz: there is no reading or setting of that name: did you mean overs?"},
	{"exact equality", "rule: A.headroom_db >= 6", "rule: A.headroom_db == 6", "A.headroom_db ==", "step 5 (set).rule: a measured value in dB is hardly ever exactly equal"},
	{"no loops", "rule: A.headroom_db >= 6", "rule: all(1..1000000000, {# > 0})", "# > 0", "step 5 (set).rule: '#' is not used in rules"},
	{"no ranges", "rule: A.headroom_db >= 6", "rule: 5 in 1..1000000000", "1..1", "step 5 (set).rule: \"..\" is not used in rules"},
	{"no strings built", "rule: A.headroom_db >= 6 && A.overs == 0", `rule: '"a" contains "b" || A.headroom_db > 6'`, `"a" contains`, `step 5 (set).rule: "contains" is not used in rules`},
	{"always the same", "rule: A.headroom_db >= 6 && A.overs == 0", "rule: 6 > 3", "6 > 3", "step 5 (set).rule: names no reading or setting"},
	{"not a comparison", "rule: A.headroom_db >= 6 && A.overs == 0", "rule: A.headroom_db", "A.headroom_db\n    hints", "step 5 (set).rule: gives a number in dB, not true or false"},
	{"empty interval", "rule: A.headroom_db >= 6", "rule: between(A.headroom_db, 9, 6)", "9, 6", "step 5 (set).rule: nothing lies between 9 and 6"},
	{"unknown function", "rule: A.headroom_db >= 6", "rule: maximum(A.headroom_db, 6) > 3", "maximum", "step 5 (set).rule: there is no function maximum"},
	{"impossible word", "rule: A.headroom_db >= 6 && A.overs == 0", `rule: 'A.limiter_place == "middle"'`, `A.limiter_place`, `step 5 (set).rule: it is never "middle": there are off, before and after`},
	{"not a number", "rule: A.headroom_db >= 6", "rule: A.headroom_db >= true", "A.headroom_db >= true", "step 5 (set).rule: compares a number in dB with true or false"},
	{"division by zero", "rule: A.headroom_db >= 6", "rule: A.headroom_db / 0 > 6", "A.headroom_db / 0", "step 5 (set).rule: divides by zero"},
	{"no take yet", "say: Read this, {{drawn.talker_name}}.", "say: Read this, {{A.overs}}.", "A.overs}}.\n    id: hello", "step 1 (hello).say: A.overs: no take has been recorded before this step"},
	{"text's place open", "It left {{A.headroom_db}}.", "It left {{A.headroom_db.", "{{A.headroom_db.\n", `step 4 (step_4).reveal: "{{" without "}}"`},
	{"text's name wrong", "It left {{A.headroom_db}}.", "It left {{A.headroom}}.", "A.headroom}}", "step 4 (step_4).reveal: A.headroom: there is no reading or setting of that name: did you mean headroom_db?"},
	{"text of several lines", "  - reveal: It left {{A.headroom_db}}.", "  - reveal: |\n      One line.\n\n      Two, {{A.overs}} and {{A.overss}}.", "A.overss", "step 4 (step_4).reveal: A.overss: there is no reading"},
	{"hint's rule wrong", "{when: A.overs > 0, say: \"Still", "{when: A.over > 0, say: \"Still", "A.over >", "step 5 (set).hints[1].when: A.over: there is no reading"},
	{"needs itself", "minutes: 3\n", "minutes: 3\nid: mine\nneeds: [mine]\n", "mine]\n", "needs: the lesson cannot need itself"},
	{"needs no lesson", "minutes: 3\n", "minutes: 3\nneeds: [Gain and headroom]\n", "Gain and", `needs: "Gain and headroom": want a lesson's id`},
	{"needs twice", "minutes: 3\n", "minutes: 3\nneeds: [a, a]\n", "a]\n", `needs: "a" stands there twice`},
	{"no such picture", "    take: loud\n", "    take: loud\n    show: wave\n", "wave\n", `step 3 (first).show: there is no picture "wave": want waves or diagram, or of a strip, as in A.waves: did you mean waves?`},
	{"picture of no strip", "    take: loud\n", "    take: loud\n    show: C.waves\n", "C.waves", `step 3 (first).show: there is no strip "C"`},
	{"waves before a take", "    id: hello\n", "    id: hello\n    show: waves\n", "waves\n", "step 1 (hello).show: there is no take yet"},
	{"control unknown", "controls: {A.preamp.gain_db:", "controls: {A.preamp.gian_db:", "A.preamp.gian_db", "step 5 (set).controls.A.preamp.gian_db: there is no such setting: did you mean A.preamp.gain_db?"},
	{"control without strip", "controls: {A.preamp.gain_db:", "controls: {preamp.gain_db:", "preamp.gain_db: {from: 20", "step 5 (set).controls.preamp.gain_db: there is no such setting: write A.preamp.gain_db"},
	{"control's range", "{from: 20, to: 60}", "{from: 60, to: 20}", "from: 60", "step 5 (set).controls.A.preamp.gain_db: from 60 to 20 dB is no range"},
	{"take unknown", "take: loud", "take: lout", "lout", `step 3 (first).take: there is no script "lout" under "takes": did you mean loud?`},
	{"reveal of nothing", "of: [guess]", "of: [gues]", "gues]", `step 4 (step_4).of: no prediction "gues" comes before: did you mean guess?`},
	{"strip to listen to", "strips: [A, spoken]", "strips: [A, spokn]", "spokn", `step 6 (ears).strips: there is no strip "spokn": did you mean spoken?`},
	{"tolerance missing", "number: {answer: A.headroom_db, tolerance: 1}", "number: {answer: A.headroom_db}", "answer: A.headroom_db}", "step 7 (much).number.tolerance: is missing: how far off is still right, in dB?"},
	{"unit of the answer", "answer: A.headroom_db, tolerance", "answer: A.headroom_db, unit: ms, tolerance", "ms, tol", "step 7 (much).number.unit: the answer is in dB, not in ms"},
	{"no right answer", "number: {answer: A.headroom_db, tolerance: 1}", "choices: [one, two]", "choices: [one", "step 7 (much): has no right answer"},
	{"id twice", "id: first", "id: guess", "guess\n    take", `step 3.id: "guess" is step 2 already`},
	{"id not a name", "id: first", "id: The first", "The first", `step 3.id: "The first": want a lower-case word`},
	{"id is a word of rules", "id: first", "id: drawn", "drawn\n", `step 3.id: "drawn" means something else in rules`},
	{"range upside down", "{from: 0.05, to: 0.2, steps: 3}", "{from: 0.2, to: 0.05, steps: 3}", "from: 0.2,", "vary.distance_m: from 0.2 to 0.05 is no range"},
	{"drawn out of range", "{from: 0.05, to: 0.2, steps: 3}", "{from: 0.05, to: 9, steps: 3}", "{from: 0.05, to: 9", "vary.distance_m: 9 m is out of range: 0.02 to 2 m"},
	{"nothing to draw", "distance_m: {from", "wombat: {from", "wombat", "vary.wombat: there is nothing of that name to draw"},
	{"talker unknown", "talker: [joss, ilse]", "talker: [joss, ilsa]", "[joss, ilsa]", `vary.talker: talker "ilsa": there is no such talker`},
	{"scenario's own fault", "{preamp: {gain_db: 40}}", "{preamp: {gain_db: 400}}", "400", "scenario.strips.A.preamp.gain_db: 400 dB is out of range"},
	{"scenario's key", "room: {noise_dba: 30}", "rooms: {noise_dba: 30}", "rooms", "scenario.rooms: unknown key: did you mean room?"},
	{"script's own fault", "effort: loud}", "effort: lout}", "lout", `takes.loud[1].effort: "lout"`},
	{"HTML", "say: Read this", "say: <b>Read</b> this", "<b>", "step 1 (hello).say: HTML is not used in a lesson"},
	{"picture", "say: Read this", "say: Look ![x](y.png) at this", "![x]", "step 1 (hello).say: pictures are not part of a lesson"},
	{"link", "say: Read this", "say: Read [this](file:///etc/passwd)", "file:", "step 1 (hello).say: file:///etc/passwd: a link goes to https:// or http://"},
	{"source without source", `, source: inverse distance law}`, `}`, "says: \"Halving", "sources[1].source: is missing"},
	{"tab", "  - say: Read", "\t- say: Read", "\t", "a tab at the start of a line"},
	{"points for nothing", "    id: hello\n", "    id: hello\n    points: 2\n", "points", "step 1 (hello).points: nothing here can be right or wrong"},
	{"prediction twice", "    id: guess\n", "    id: guess\n    tries: 2\n", "tries", "step 2 (guess).tries: a prediction is made once"},
	{"key of another kind", "    id: hello\n", "    id: hello\n    rule: A.overs == 0\n", "rule: A.overs", "step 1 (hello).rule: unknown key: rule belongs to do; a say step has id, set and show"},
	{"key misspelt in a step", "    strips: [A, spoken]\n", "    strip: [A, spoken]\n", "strip: [A", "step 6 (ears).strip: unknown key: did you mean strips?"},
	{"another word for a key", "    strips: [A, spoken]\n", "    trials: 8\n", "trials", "step 6 (ears).trials: unknown key: did you mean blind?"},
	{"another word, not near", "    strips: [A, spoken]\n", "    sounds: [A, spoken]\n", "sounds", "step 6 (ears).sounds: unknown key: did you mean strips?"},
	{"nothing near", "    strips: [A, spoken]\n", "    wombat: 3\n", "wombat", "step 6 (ears).wombat: unknown key; a listen step has strips, matched, blind, choices, number, text, because, tries, id, set, show, points and must"},
	{"no kind and nothing near", "listen: Compare.", "watch: Compare.", "watch", "step 6: does not say what is to be done: want one of say, predict, do, record, listen, mend, plan, twin, ask, explain or reveal\n"},
	{"one level too high", "number: {answer: A.headroom_db, tolerance: 1}", "tolerance: 1\n    number: {answer: A.headroom_db, tolerance: 1}", "tolerance: 1\n", "step 7 (much).tolerance: unknown key: it belongs under number, as in number: {answer: A.headroom_db, tolerance: 1}"},
	{"drawn without saying so", "Read this, {{drawn.talker_name}}.", "Read this, {{distance_m}}.", "distance_m}}", "step 1 (hello).say: distance_m: is drawn: write drawn.distance_m"},
	{"drawn quantity misspelt", "distance_m: {from: 0.05, to: 0.2, steps: 3}", "distance: {from: 0.05, to: 0.2, steps: 3}", "distance:", "vary.distance: there is nothing of that name to draw: did you mean distance_m?"},
	{"prediction that nothing decides", "  - explain: Why?\n    id: why\n", "  - predict: And then?\n    id: why\n    choices: [{say: x, when: A.overs > 0}, y]\n", "A.overs > 0}, y", "step 8 (why).choices[a].when: A.overs: no take comes after this prediction: a \"record\" or \"do\" step has to follow it"},
	{"and without a rule", "  - explain: Why?\n    id: why\n", "  - predict: And then?\n    id: why\n    choices: [{say: x, right: true}, y]\n", "predict: And", "step 8 (why): nothing decides this prediction"},
}

// place finds where a piece of text stands, as an editor counts.
func place(text, piece string) string {
	i := strings.Index(text, piece)
	if i < 0 {
		return "nowhere"
	}
	before := text[:i]
	line := strings.Count(before, "\n") + 1
	col := len([]rune(before[strings.LastIndex(before, "\n")+1:])) + 1
	return fmt.Sprintf("b.yaml:%d:%d: ", line, col)
}

// Every slip is named with its line, its column and what to do about it.
func TestBrokenLessons(t *testing.T) {
	for _, c := range broken {
		t.Run(c.name, func(t *testing.T) {
			if strings.Count(trial.Good, c.from) < 1 {
				t.Fatalf("%q is not in the good lesson", c.from)
			}
			text := strings.Replace(trial.Good, c.from, c.to, 1)
			_, err := format.Parse("b.yaml", []byte(text))
			var e *model.Error
			if !errors.As(err, &e) {
				t.Fatalf("got %v", err)
			}
			if want := place(text, c.at) + c.want; !strings.Contains(err.Error()+"\n", want) {
				t.Errorf("got\n%v\nwant %s", err, want)
			}
			for _, f := range e.Faults {
				if f.Line < 1 || f.Column < 1 {
					t.Errorf("without a place: %v", f)
				}
			}
			if len(e.Faults) > 3 {
				t.Errorf("one slip gave %d faults:\n%v", len(e.Faults), err)
			}
		})
	}
	if len(broken) < 30 {
		t.Errorf("only %d", len(broken))
	}
}

// All slips of one file are reported at once.
func TestAllFaultsAtOnce(t *testing.T) {
	text, want := trial.Good, []string{}
	// One slip under "vary" is one fault, wherever what it names is used.
	if _, err := format.Parse("b.yaml", []byte(strings.NewReplacer("talker: [joss, ilse]", "talkers: [joss, ilse]", "It left", "{{drawn.talker}} left").Replace(trial.Good))); err == nil || strings.Contains(err.Error(), "\n") {
		t.Errorf("talkers: %v", err)
	}
	for _, name := range []string{"minutes out of range", "take unknown", "no reading of that name", "hint's rule wrong", "strip to listen to", "unit of the answer"} {
		for _, c := range broken {
			if c.name == name {
				text = strings.Replace(text, c.from, c.to, 1)
				want = append(want, c.at, c.want)
			}
		}
	}
	_, err := format.Parse("b.yaml", []byte(text))
	if err == nil {
		t.Fatal("accepted")
	}
	lines := strings.Split(err.Error(), "\n")
	if len(lines) != len(want)/2 {
		t.Fatalf("%d lines, want %d:\n%v", len(lines), len(want)/2, err)
	}
	for i := range lines {
		if w := place(text, want[2*i]) + want[2*i+1]; !strings.HasPrefix(lines[i], w) {
			t.Errorf("line %d is\n%s\nwant\n%s", i, lines[i], w)
		}
	}
}

// A built-in scenario can be the bench; what it says belongs to the hash.
func TestNamedScenario(t *testing.T) {
	text := "title: x\nfor: y\nminutes: 1\nscenario: captain-laughs\nsteps:\n  - record: Go.\n  - say: \"{{B.headroom_db}}\"\n"
	a, err := format.Parse("a.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	if got := a.Strips(); len(got) != 2 || a.Hash == "" {
		t.Errorf("%v %q", got, a.Hash)
	}
	if _, err := format.Parse("a.yaml", []byte(strings.Replace(text, "captain-laughs", "captain-laugh", 1))); err == nil || !strings.Contains(err.Error(), "a.yaml:4:11: scenario: there is no built-in scenario") {
		t.Error(err)
	}
}

// A lesson has no more to compute than a person can write.
func TestTooManyRules(t *testing.T) {
	text := strings.Replace(trial.Good, "It left {{A.headroom_db}}.", "x "+strings.Repeat("{{A.overs}}", 700), 1)
	for i := range 3 {
		text = strings.Replace(text, "  - listen", fmt.Sprintf("  - say: %q\n    id: more_%d\n  - listen", strings.Repeat("{{A.overs}}", 700), i), 1)
	}
	_, err := format.Parse("b.yaml", []byte(text))
	var e *model.Error
	if !errors.As(err, &e) || len(e.Faults) != 1 || !strings.Contains(err.Error(), "more than 2000 rules") {
		t.Errorf("%.300v", err)
	}
}

// Windows line ends and a byte-order mark change neither faults nor hash.
func TestLineEnds(t *testing.T) {
	a, err := format.Parse("a.yaml", []byte(trial.Good))
	if err != nil {
		t.Fatal(err)
	}
	b, err := format.Parse("a.yaml", []byte("\ufeff"+strings.ReplaceAll(trial.Good, "\n", "\r\n")))
	if err != nil {
		t.Fatal(err)
	}
	if a.Hash != b.Hash {
		t.Error("the hash depends on line ends")
	}
	c, err := format.Parse("a.yaml", []byte(strings.Replace(trial.Good, ">= 6", ">= 7", 1)))
	if err != nil {
		t.Fatal(err)
	}
	if a.Hash == c.Hash {
		t.Error("the hash does not see a changed rule")
	}
}

// A file cut anywhere, or with a line dropped or doubled, is read or refused with
// places, and never worse.
func TestMangledLessons(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	lines := strings.Split(trial.Good, "\n")
	try := func(text string) {
		t.Helper()
		_, err := format.Parse("m.yaml", []byte(text))
		var e *model.Error
		if err != nil && (!errors.As(err, &e) || len(e.Faults) == 0) {
			t.Fatalf("%v for\n%s", err, text)
		}
	}
	n := 300
	if testing.Short() {
		n = 60
	}
	for range n {
		try(trial.Good[:rng.IntN(len(trial.Good))])
		i := rng.IntN(len(lines))
		try(strings.Join(append(append([]string{}, lines[:i]...), lines[min(i+1, len(lines)):]...), "\n"))
		try(strings.Join(append(append([]string{}, lines[:i+1]...), lines[i:]...), "\n"))
	}
	try("")
	try("- 1\n")
	try("steps: {}\n")
	try(fmt.Sprintf("title: [%s]\n", strings.Repeat("[", 200)))
}
