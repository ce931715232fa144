package scenario

import "gainwright/sounds/scenario/plain"

// A Fault is one thing that is wrong in a scenario.
type Fault = plain.Fault

// An Error holds every fault of a scenario, in the order of the file: at least
// one. Its text has one line for each.
type Error = plain.Error
