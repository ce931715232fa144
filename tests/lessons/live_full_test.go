//go:build full

package lessons

import (
	"testing"

	"gainwright/lessons/builtin"
)

func TestEveryLessonLiveIsOffline(t *testing.T) {
	liveIsOffline(t, builtin.Names(), []uint64{1, 2, 77})
}

func TestMoreGuestsLiveAreOffline(t *testing.T) { guestsTurned(t, []uint64{3, 4, 5, 6, 7, 8}) }
