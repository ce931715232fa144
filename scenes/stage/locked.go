package stage

import (
	"slices"
	"strings"

	"gainwright/scenes/kit"
)

// BenchFree are the controls of the bench that change nothing a lesson is about:
// their IDs, or what these begin with.
var BenchFree = []string{kit.IDShow, kit.IDListen, kit.Scopes, kit.Rulers, kit.IDTakeAt, kit.IDTakeSave, kit.Cautions, kit.IDHoldReset, kit.IDPlay, kit.IDLoop, kit.IDCheck, kit.IDView, kit.Cards, kit.IDStation, kit.IDDrawerClose}

// looks are those that only choose what is looked at.
var looks = []string{kit.IDShow, kit.IDListen, kit.IDView, kit.Scopes, kit.IDStation, kit.IDDrawerClose}

// Looks reports whether a control only chooses what is looked at, or heard: that is free
// even while something is worked out.
func Looks(id string) bool {
	return slices.ContainsFunc(looks, func(p string) bool { return strings.HasPrefix(id, p) })
}
