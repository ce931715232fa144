package stage

// BenchFree are the controls of the bench that change nothing a lesson is about:
// their IDs, or what these begin with.
var BenchFree = []string{"show.", "listen.", "scope.", "take.at_s", "take.save", "caution.", "hold.reset", "play", "loop", "check", "view.", "station.", "drawer.close"}
