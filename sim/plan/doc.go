// Package plan answers, before a session: where can the gain be set, how likely
// is it that something goes over, and what does headroom cost in noise?
//
// Two curves against gain. Risk: a model of a conversation as a random process
// of events (utterances, laughs, outbursts, coughs), each with a level, a crest
// and a distance, run many times; every session leaves one number, its highest
// peak in dB SPL, and the risk at a gain is the share of sessions whose number
// passes the converter's ceiling. Noise: the levels of room, microphone, preamp,
// converter and words, after speech is brought to the delivery loudness. Between
// the highest gain whose risk is small enough and the lowest whose noise is, lies
// the gain window.
//
// Every assumption is a named Param with its source or the word "assumed".
//
// A Setup is a sim.Chain, a Model and Limits: Prepare it, Simulate the Model, and ask
// for its Window, for a Curve, for Remedies and Needs, for the Sensitivity. A Run is
// the same simulation in slices, for a scene that has to draw in between.
//
// tests/plan holds the model against sessions that are synthesised and recorded
// through the engine, and measures what the talkers' events are like.
package plan
