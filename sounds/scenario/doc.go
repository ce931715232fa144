// Package scenario reads the text files that say what is recorded and how: who
// talks, how far from which microphone, and the strips that record it.
//
// A scenario is YAML. Only keys that exist are accepted, every value has a range,
// and all faults of a file are reported at once, each with its line and column.
// What is left out is filled from sim.Default; every strip starts from there.
//
//	title: The captain laughs
//	seed: 7
//	room: {noise_dba: 32}
//	distance_m: 0.08
//	source:
//	  talker: captain
//	  script:
//	    - say: …
//	strips:
//	  A: {preamp: {gain_db: 46}, limiter: {on: true}}
//	  B: {preamp: {gain_db: 34}}
//
// In place of a script a conversation can be made from the seed, of up to three
// hours, with others who speak into the same microphone:
//
//	source: {talker: captain, conversation: {minutes: 45, with: [maren]}}
//
// The room, the distance and the microphone stand above the strips and hold for
// all of them; a strip may state its own (a second microphone elsewhere).
// A recording stands in for a talker with source: {file: voice.wav,
// level_db_spl: 74.85}; its path counts from the scenario's own directory.
//
// A section recorder names or contains an equipment file (package equipment): what was
// measured of a user's own recorder fills in what the scenario does not say itself, and a
// strip may say where its knob stands, in the recorder's own marks:
//
//	recorder: my-recorder.yaml
//	strips: {A: {mark: 4.5}, B: {mark: 3}}
//
// What the planner assumes about the conversation, and what is acceptable, stands in
// a section of its own, which takes no part in a recording:
//
//	plan: {minutes: 90, risk: 0.02, laughs_per_hour: 30, laugh_crest: {mean_db: 17}}
//
// [Parse], [Load] and [LoadBuiltin] give a [Scenario]; [Scenario.Set] changes one
// setting by its path; [Scenario.Open] gives the performance and
// [Scenario.NewStrips] the strips for sim.Run.
package scenario
