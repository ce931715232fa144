// Package trial is a small lesson for tests, and a bench on which each take is simulated
// once.
package trial

import (
	"strings"
	"testing"

	"gainwright/lessons/format"
	"gainwright/lessons/model"
	"gainwright/lessons/take"
)

// Bench keeps takes over all tests, so that none is simulated twice.
var Bench = take.NewBench()

// Must gives a value that cannot fail.
func Must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// Good is a small lesson; the broken ones are made of it, one slip each.
const Good = `title: A small lesson
for: testers
minutes: 3
scenario:
  seed: 1
  room: {noise_dba: 30}
  source:
    talker: joss
    script:
      - {text: "Well.", effort: normal}
  strips:
    A: {preamp: {gain_db: 40}}
    B: {preamp: {gain_db: 30}}
takes:
  loud:
    - {text: "Well!", effort: loud}
vary:
  talker: [joss, ilse]
  distance_m: {from: 0.05, to: 0.2, steps: 3}
steps:
  - say: Read this, {{drawn.talker_name}}.
    id: hello
  - predict: What will happen?
    id: guess
    choices:
      - {say: nothing, when: A.overs == 0}
      - {say: something, when: A.overs > 0}
  - record: Record it.
    id: first
    take: loud
  - reveal: It left {{A.headroom_db}}.
    of: [guess]
  - do: Set it.
    id: set
    controls: {A.preamp.gain_db: {from: 20, to: 60}}
    rule: A.headroom_db >= 6 && A.overs == 0
    hints:
      - {when: A.overs > 0, say: "Still {{A.overs}}."}
  - listen: Compare.
    id: ears
    strips: [A, spoken]
  - ask: How much?
    id: much
    number: {answer: A.headroom_db, tolerance: 1}
  - explain: Why?
    id: why
sources:
  - {says: "Halving the distance adds 6.02 dB.", source: inverse distance law}
`

// Lesson reads Good with pieces of its text replaced.
func Lesson(t testing.TB, change ...string) *model.Lesson {
	t.Helper()
	l, err := format.Parse("good.yaml", []byte(strings.NewReplacer(change...).Replace(Good)))
	if err != nil {
		t.Fatal(err)
	}
	return l
}
