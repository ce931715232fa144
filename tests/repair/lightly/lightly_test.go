package lightly

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"gainwright/tests/repair/speechset"
)

// Where recordings are missing that is what is said, not that they are silent, or clipped.
func TestMissingRecordingsAreToldAsMissing(t *testing.T) {
	root := t.TempDir()
	t.Setenv(speechset.Env, root)
	for _, c := range slices.Concat(speechset.LightCases(true, 0), speechset.LightOf(speechset.Later, 0)) {
		_, err := Find(c)
		if !errors.Is(err, speechset.ErrAbsent) || !strings.Contains(err.Error(), root) {
			t.Fatalf("%s: %v", c, err)
		}
	}
	if err := speechset.MissingSpeakers(speechset.Later); !errors.Is(err, speechset.ErrAbsent) {
		t.Error(err)
	}
}
