package stage

import "gainwright/scenes/kit"

// BenchFree are the controls of the bench that change nothing a lesson is about:
// their IDs, or what these begin with.
var BenchFree = []string{kit.IDShow, kit.IDListen, kit.Scopes, kit.Rulers, kit.IDTakeAt, kit.IDTakeSave, kit.Cautions, kit.IDHoldReset, kit.IDPlay, kit.IDLoop, kit.IDCheck, kit.IDView, kit.Cards, kit.IDStation, kit.IDDrawerClose}
