package lessoncmd

import (
	"context"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"

	"gainwright/cmd/gainwright/internal/cli"
	lessonrun "gainwright/lessons/run"
	lessontake "gainwright/lessons/take"
	"gainwright/sounds"
	"gainwright/sounds/codec"
)

// listen writes the files to compare and asks for the blind trials.
func (t *terminal) listen(ctx context.Context, v lessonrun.View) error {
	for _, c := range v.Cautions {
		t.say("**Mind your ears.** " + c)
	}
	waves, err := t.r.Sounds(ctx)
	if err != nil {
		return err
	}
	if err := t.write(waves); err != nil {
		return err
	}
	if v.Step.Works() {
		for _, f := range t.r.View().Feedback {
			t.say(f)
		}
	}
	for {
		name, ok := t.r.Trial()
		if !ok {
			return nil
		}
		trial := len(t.r.Progress().Steps[v.Number-1].Answers) + 1
		for _, w := range waves {
			if w.Name == name {
				x := *w
				x.Name = fmt.Sprintf("trial-%d", trial)
				if err := t.write([]*lessontake.Wave{&x}); err != nil {
					return err
				}
			}
		}
		if err := t.trial(ctx, fmt.Sprintf("Trial %d of %d is (%s):", trial, v.Step.Trials, strings.Join(v.Step.Strips, " or "))); err != nil {
			return err
		}
	}
}

// trial asks until the answer is understood.
func (t *terminal) trial(ctx context.Context, prompt string) error {
	for {
		s, err := t.ask(ctx, prompt)
		if err != nil {
			return err
		}
		reply, err := t.r.Answer(s)
		if err != nil {
			fmt.Fprintln(t.out, "  "+err.Error())
			continue
		}
		if reply != "" {
			fmt.Fprintln(t.out)
			t.say(reply)
		}
		return nil
	}
}

// write puts waves into the folder of sounds, at the gains they are compared at.
func (t *terminal) write(waves []*lessontake.Wave) error {
	if t.o.soundDir == "" {
		t.o.soundDir = cli.FreeDir(t.r.Lesson().ID + "-sounds")
	}
	if err := os.MkdirAll(t.o.soundDir, 0o755); err != nil {
		return &sounds.OutputError{Path: t.o.soundDir, Msg: "cannot be made", Err: err}
	}
	for _, w := range waves {
		gain := math.Pow(10, w.GainDB/20)
		x := make([]float64, len(w.File))
		for i, s := range w.File {
			x[i] = float64(s) * gain
		}
		path := filepath.Join(t.o.soundDir, w.Name+".wav")
		err := sounds.WriteFile(path, true, func(f io.WriteSeeker) error {
			_, err := codec.WriteWAV(f, w.Rate, [][]float64{x}, codec.PCM24)
			return err
		})
		if err != nil {
			return err
		}
		note := ""
		if w.Caution != "" && !strings.HasPrefix(w.Name, "trial") {
			note = "   (clipped: turn the volume down first)"
		}
		fmt.Fprintf(t.out, "  written: %s%s\n", sounds.Shown(path), note)
	}
	fmt.Fprintln(t.out)
	return nil
}
