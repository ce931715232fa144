package take

import (
	"testing"

	"gainwright/sim/repair"
)

func TestEveryTreatmentIsOne(t *testing.T) {
	for _, name := range Treatments {
		v, ok := treatment(name).(interface{ Validate() error })
		if !ok || v.Validate() != nil {
			t.Errorf("%s: %v", name, treatment(name))
		}
	}
	if treatment("polish") != nil {
		t.Error("a treatment that is none")
	}
	if d := treatment(undoing).(repair.Declip); d.Reduction != repair.UndoReduction {
		t.Errorf("%+v leaves the limiter on", d)
	}
}
