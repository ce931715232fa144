package names

// Unit is what a number counts in. Two numbers compare only when their
// dimensions agree; a level counts from a reference, so that two of them may be
// subtracted but not added.
type Unit struct {
	Name  string // as written: "dBFS"; "" for plain numbers
	Dim   string // dBTP and dBFS count from the same full scale, LU are dB
	Level bool
}

// UnitOf gives a unit by its name.
func UnitOf(name string) Unit {
	switch name {
	case "dBFS", "dBTP":
		return Unit{name, "dBFS", true}
	case "LUFS", "dBu", "dBA", "dB SPL":
		return Unit{name, name, true}
	case "dB", "LU":
		return Unit{name, "dB", false}
	}
	return Unit{name, name, false}
}

// Type is the type of an expression.
type Type uint8

// The types.
const (
	Numeric Type = iota
	Boolean
	Word
)

// Say names the unit for people.
func (u Unit) Say() string {
	if u.Name == "" {
		return "a plain number"
	}
	return u.Name
}
