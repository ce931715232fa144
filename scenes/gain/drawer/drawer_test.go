package drawer

import (
	"testing"

	"gainwright/sim"
)

// A station without words of its own would be opened by a button without a name.
func TestEveryStationHasItsWords(t *testing.T) {
	seen := map[string]bool{}
	for at := range Num {
		if IDs[at] == "" || Titles[at] == "" || about[at] == "" {
			t.Errorf("%v (%d): no ID, title or words about it", sim.Station(at), at)
		}
		if seen[IDs[at]] {
			t.Errorf("two are called %q", IDs[at])
		}
		seen[IDs[at]] = true
	}
}
