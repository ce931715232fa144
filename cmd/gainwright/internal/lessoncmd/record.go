package lessoncmd

import (
	"context"
	"fmt"
	"math"
	"strconv"
	"strings"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/lessons/model"
	lessonnames "gainwright/lessons/names"
	lessonrun "gainwright/lessons/run"
)

// record lets the student set, record and look, until the task is met.
func (t *terminal) record(ctx context.Context, v lessonrun.View) error {
	t.controls(v)
	for {
		options := t.options(v)
		s, err := t.ask(ctx, "("+strings.Join(options, ", ")+")")
		if err != nil {
			return err
		}
		switch low := strings.ToLower(s); {
		case low == "" && v.TakesLeft == 0, low == "next":
			if err := t.r.Next(); err != nil {
				fmt.Fprintln(t.out, "  not yet: "+err.Error())
				continue
			}
			fmt.Fprintln(t.out)
			return nil
		case low == "give up":
			if err := t.r.GiveUp(); err != nil {
				fmt.Fprintln(t.out, "  "+err.Error())
				continue
			}
			fmt.Fprintln(t.out)
			return nil
		case low == "all" && v.Take != nil:
			t.table(v, lessonnames.Readings())
		case low == "hear":
			waves, err := t.r.TakeSounds(ctx)
			if err != nil {
				fmt.Fprintln(t.out, "  "+err.Error())
				continue
			}
			if err := t.write(waves); err != nil {
				return err
			}
		case low == "" || low == "record":
			if v, err = t.take(ctx, v); err != nil {
				return err
			}
		case strings.Contains(s, "="):
			name, value, _ := strings.Cut(s, "=")
			t.set(strings.TrimSpace(name), strings.TrimSpace(value), v.Controls)
		case len(v.Controls) == 1 && beginsNumber(s):
			t.set(v.Controls[0].Key, s, v.Controls)
		default:
			fmt.Fprintf(t.out, "  %q is not understood: %s\n", s, strings.Join(options, ", "))
		}
	}
}

// controls tells what can be set, and what it is.
func (t *terminal) controls(v lessonrun.View) {
	if len(v.Controls) == 0 {
		return
	}
	fmt.Fprintln(t.out, "Set with NAME=VALUE, as in "+shortName(v.Controls[0], v.Controls)+"=…:")
	for _, c := range v.Controls {
		span := strings.Join(c.Choices, ", ")
		if c.Choices == nil && !c.Switch {
			span = fmt.Sprintf("%v to %v %s", c.Min, c.Max, c.Unit)
		} else if c.Switch {
			span = "true, false"
		}
		fmt.Fprintf(t.out, "  %-24s %s\n", shortName(c, v.Controls), span+"; now "+t.r.Setting(c.Key))
	}
}

// options tells what can be typed.
func (t *terminal) options(v lessonrun.View) []string {
	prompt := "Enter records"
	switch {
	case v.TakesLeft == 0:
		prompt = ""
	case v.TakesLeft > 0:
		prompt += fmt.Sprintf(" (%d left)", v.TakesLeft)
	}
	options := []string{}
	if prompt != "" {
		options = append(options, prompt)
	}
	if v.Take != nil {
		options = append(options, "\"hear\" writes the sound")
		if !t.o.allReadings {
			options = append(options, "\"all\" shows all readings")
		}
	}
	if v.Blocked == "" {
		options = append(options, "\"next\" goes on")
	} else if v.Step.Kind == model.Do {
		options = append(options, "\"give up\"")
	}
	return options
}

// take records one, and shows its readings. Why it could not is told; the error is that
// of an end.
func (t *terminal) take(ctx context.Context, v lessonrun.View) (lessonrun.View, error) {
	w := cli.NewWatch(t.errs, false)
	w.Begin("recording")
	err := t.r.Record(ctx, w.At)
	w.Done()
	if ctx.Err() != nil {
		return v, errQuit
	}
	if err != nil {
		fmt.Fprintln(t.out, "  "+err.Error())
		return v, nil
	}
	v = t.r.View()
	t.readings(v)
	return v, nil
}

// shortName is the last part of a control's key that tells it from the others.
func shortName(c model.Control, all []model.Control) string {
	parts := strings.Split(c.Key, ".")
	for i := len(parts) - 1; i > 0; i-- {
		tail := strings.Join(parts[i:], ".")
		n := 0
		for _, o := range all {
			if o.Key == tail || strings.HasSuffix(o.Key, "."+tail) {
				n++
			}
		}
		if n == 1 {
			return tail
		}
	}
	return c.Key
}

// set changes a setting and says how it stands now.
func (t *terminal) set(name, value string, all []model.Control) {
	key := name
	for _, c := range all {
		if shortName(c, all) == name {
			key = c.Key
		}
	}
	var v any = value
	if x, err := strconv.ParseFloat(decimal(value), 64); err == nil && !math.IsNaN(x) {
		v = x
	} else if b, err := strconv.ParseBool(value); err == nil {
		v = b
	}
	if err := t.r.Apply(key, v); err != nil {
		fmt.Fprintln(t.out, "  "+err.Error())
		return
	}
	fmt.Fprintf(t.out, "  %s is %s\n", name, t.r.Setting(key))
}

// decimal takes the signs and commas that people write.
func decimal(s string) string { return strings.NewReplacer("−", "-", ",", ".").Replace(s) }

// beginsNumber tells "40", "-3,5" and "40 dB" from a command.
func beginsNumber(s string) bool {
	return strings.ContainsRune("0123456789.+-", []rune(decimal(s) + " ")[0])
}

// readings shows a take: what matters to the step, and how it stands to the rule.
func (t *terminal) readings(v lessonrun.View) {
	list := t.r.Few()
	if t.o.allReadings {
		list = lessonnames.Readings()
	}
	t.table(v, list)
	for _, c := range v.Checks {
		mark := "no "
		if c.OK {
			mark = "yes"
		}
		fmt.Fprintf(t.out, "  %s  %s (%s)\n", mark, c.Said, c.GotSaid)
	}
	if v.Met {
		fmt.Fprintln(t.out, "  The task is met.")
	}
	if len(v.Checks) > 0 {
		fmt.Fprintln(t.out)
	}
	for _, f := range v.Feedback {
		t.say(f)
	}
}

// table shows readings of a take, strip beside strip.
func (t *terminal) table(v lessonrun.View, list []lessonnames.Name) {
	names := []string{}
	for _, s := range t.r.Lesson().Strips() {
		if v.Take[s] != nil {
			names = append(names, s)
		}
	}
	fmt.Fprintf(t.out, "\n  %-38s", "")
	for _, n := range names {
		fmt.Fprint(t.out, cli.Left(n, 14))
	}
	fmt.Fprintln(t.out)
	for _, r := range list {
		fmt.Fprintf(t.out, "  %-38s", r.Label)
		for _, n := range names {
			fmt.Fprint(t.out, cli.Left(lessonnames.Format(float64(v.Take[n][r.Key]), r.Unit), 14))
		}
		fmt.Fprintln(t.out)
	}
	fmt.Fprintln(t.out)
}
