package kit

import (
	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
)

// Acts are what the controls of a scene do, by their IDs.
type Acts map[string]func(ui.Intent) error

// Apply carries an intent out; ok is false if it is about none of the controls.
func (a Acts) Apply(it ui.Intent) (ok bool, err error) {
	do := a[it.ID]
	if do == nil {
		return false, nil
	}
	return true, do(it)
}

// Add takes over what other controls do.
func (a Acts) Add(more Acts) {
	for id, do := range more {
		a[id] = do
	}
}

// Press is what a control does that is pressed.
func Press(do func()) func(ui.Intent) error {
	return func(ui.Intent) error { do(); return nil }
}

// Try is what a control does that is pressed and may be refused.
func Try(do func() error) func(ui.Intent) error {
	return func(ui.Intent) error { return do() }
}

// Hide hides controls, or shows them.
func Hide(hidden bool, cs ...ui.Control) {
	for _, c := range cs {
		c.Common().Hidden = hidden
	}
}

// Clip has controls seen through r only; empty is all of them.
func Clip(r ink.Rect, cs ...ui.Control) {
	for _, c := range cs {
		c.Common().Clip = r
	}
}

// Refuse disables controls for a reason, or enables them.
func Refuse(refused bool, why string, cs ...ui.Control) {
	for _, c := range cs {
		b := c.Common()
		b.Disabled, b.Why = refused, why
	}
}
