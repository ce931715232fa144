package lesson

import (
	"strings"
	"testing"

	"gainwright/lessons/run"
	"gainwright/scenes/scenetest"
)

// ahead is a lesson with a plan and a twin.
const ahead = `title: Before and behind
for: testers
minutes: 3
scenario:
  seed: 1
  source: {talker: joss, script: [{text: "Well!", effort: loud}]}
  strips:
    A: {preamp: {gain_db: 66, rail_dbu: 40}}
steps:
  - predict: Will the file be the same?
    id: same
    choices: [{say: "yes", when: two.A.differing_samples == 0}, {say: "no", when: two.A.differing_samples > 0}]
  - record: Record it.
    id: first
  - plan: What does an hour ask for?
    id: hour
  - twin: Two wills, one file.
    id: two
  - listen: In which are flat tops?
    id: flat
    strips: [A, spoken]
    choices: [{say: in A, right: true}, in what was spoken]
  - ask: In how many samples do the files differ?
    id: differ
    number: {answer: two.A.differing_samples, tolerance: 0}
`

// A plan is worked out by itself, told as a table and said, and can be left then; of a twin
// three sounds are to be heard. What is handed in reproduces.
func TestPlanAndTwin(t *testing.T) {
	b, s := lessonBench(t, scenetest.Keeper{M: map[string]string{}})
	openOwn(b, s, ahead)
	b.Do("lesson.answer.a")
	b.Do("lesson.commit")
	b.Do("lesson.next")
	b.Do("lesson.record")
	quiet(b, s)
	b.Do("lesson.next")
	if !s.next.Disabled || s.next.Why != "the plan is being worked out" {
		t.Errorf("before the plan Next is disabled %v: %q", s.next.Disabled, s.next.Why)
	}
	b.Until("the plan", func() bool { return s.job == nil && !s.r.Owes() })
	if said := b.P.Announce(); !strings.Contains(said, "gain advised") {
		t.Errorf("said is %q", said)
	}
	if n := b.Node(idFeedback + "1"); !strings.Contains(n.Value, "hours that go over") {
		t.Errorf("the plan is told as %q", n.Value)
	}
	b.Do("lesson.next")
	quiet(b, s)
	for _, id := range []string{"lesson.hear.A", "lesson.hear.spoken", "lesson.hear.twin"} {
		b.Do(id)
	}
	if len(s.waves) != 3 || s.v.Blocked != "" {
		t.Fatalf("%d waves, blocked %q", len(s.waves), s.v.Blocked)
	}
	b.Do("lesson.next")
	quiet(b, s)
	b.Do("lesson.hear.spoken")
	if !s.next.Hidden || !b.Has("lesson.answer.a") {
		t.Error("what is heard is not asked")
	}
	b.Do("lesson.answer.a")
	b.Do("lesson.commit")
	if !strings.HasPrefix(s.Announce(), "Right.") || s.next.Hidden || s.next.Disabled {
		t.Errorf("answered: %q", s.Announce())
	}
	b.Do("lesson.next")
	b.Write("lesson.text", "0")
	b.Do("lesson.commit")
	b.Do("lesson.next")
	if s.v.State != run.Finished {
		t.Fatalf("stands at %s", s.v.State)
	}
	b.Do("lesson.save")
	_, data, _ := b.P.NextSave()
	res, err := run.ParseResult(data)
	if err != nil || !res.Passed {
		t.Fatalf("%+v, %v", res, err)
	}
	reproduces(t, s.item.l, res)
}
