package run

import (
	"crypto/rand"
	"fmt"
	"time"

	"gainwright/lessons/model"
	"gainwright/lessons/names"
)

// Missed tells what was answered and what would have been right; "" if the answer
// is right or cannot be wrong.
func (sp *StepProgress) Missed(s *model.Step) string {
	if s.Question == nil || len(sp.Answers) == 0 || sp.Verdict != Wrong {
		return ""
	}
	out := "answered " + s.Question.Say(sp.Answers[len(sp.Answers)-1])
	if sp.Truth != "" {
		out += ", right is " + sp.Truth
	}
	return out
}

// Verdict is what became of a step.
type Verdict string

// The verdicts. A step that cannot be right or wrong is Done.
const (
	Open    Verdict = ""        // not finished, or a prediction whose outcome is not known
	Done    Verdict = "done"    // finished; nothing to be right about
	Right   Verdict = "right"   // the task is met, the answer is right
	Wrong   Verdict = "wrong"   // it is not
	Skipped Verdict = "skipped" // given up
)

// Progress is everything a student has done in a lesson: what Save keeps, and the
// body of a Result.
type Progress struct {
	Format   int            `json:"gainwright_lesson"` // 1
	Lesson   LessonRef      `json:"lesson"`
	Program  string         `json:"program"`  // version
	Platform string         `json:"platform"` // "linux/amd64"
	Student  string         `json:"student"`  // a name given, or a random one
	Attempt  string         `json:"attempt"`  // random
	Seed     uint64         `json:"seed"`
	Drawn    map[string]any `json:"drawn"`
	Voice    *VoiceRef      `json:"own_voice,omitempty"` // that gave the takes in place of the talker
	Started  time.Time      `json:"started"`
	Ended    *time.Time     `json:"ended,omitempty"`
	At       int            `json:"at"` // the step reached, counted from 0
	Steps    []StepProgress `json:"steps"`
}

// LessonRef tells which lesson, to the letter.
type LessonRef struct {
	ID    string `json:"id"`
	Title string `json:"title"`
	Hash  string `json:"sha256"`
}

// StepProgress is what was done in one step.
type StepProgress struct {
	ID       string         `json:"id"`
	Kind     model.Kind     `json:"kind"`
	Seconds  float64        `json:"seconds"`
	Answers  []string       `json:"answers,omitempty"` // every try; the last one counts. Blind: one for each trial
	Settings map[string]any `json:"settings,omitempty"`
	Takes    int            `json:"takes,omitempty"` // how many were recorded
	Take     *TakeProgress  `json:"take,omitempty"`  // the one that counts: the last
	// Dropped are the takes that were heard and given up, by how many seconds of each.
	Dropped []float64 `json:"given_up_s,omitempty"`
	// Mended is what was measured of a mend step's ways, by name, or what a plan or twin
	// step has worked out, by strip.
	Mended  map[string]names.Measured `json:"mended,omitempty"`
	Verdict Verdict                   `json:"verdict,omitempty"`
	Truth   string                    `json:"truth,omitempty"` // what would have been right
	Hits    int                       `json:"hits,omitempty"`  // blind trials that were right
	Hints   []int                     `json:"hints,omitempty"` // how often each of a task's hints was told
	Points  float64                   `json:"points"`
}

// TakeProgress is a recorded take: the settings of the unlocked controls, and
// what came of it.
type TakeProgress struct {
	Settings map[string]any            `json:"settings"`
	Changes  []model.Change            `json:"changes,omitempty"`
	Readings map[string]names.Measured `json:"readings"`
}

func randomID() string {
	b := make([]byte, 16)
	rand.Read(b) // never fails
	b[6], b[8] = b[6]&0x0f|0x40, b[8]&0x3f|0x80
	return fmt.Sprintf("%x-%x-%x-%x-%x", b[:4], b[4:6], b[6:8], b[8:10], b[10:])
}
