// Package plan answers, before a session: what should the meter hold while the guest
// talks, how likely is it that something goes over, and what does headroom cost in
// noise?
//
// Two curves against gain. Risk: a model of a conversation as a random process of
// events (utterances, laughs of three classes, outbursts, coughs), each with a level, a
// crest and a distance, run many times; every session leaves one number, its highest
// peak, and the risk at a gain is the share of sessions whose number passes the
// converter's ceiling. Noise: the levels of room, microphone, preamp, converter and
// words, after speech is brought to the delivery loudness. Between the highest gain
// whose risk is small enough and the lowest whose noise is, lies the gain window.
//
// A guest's level is not known beforehand, and need not be: the host sets the gain by
// this guest's own reading. What counts is therefore how far a session goes over the
// peak that a meter held in a minute of the guest's talk, and that peak is what is told
// (see How for the other two cases).
//
// Every assumption is a named Param with its standing and source. A sound check is
// evidence: Heard, from which Conversation.Learn makes a Guest in closed form.
//
// A Setup is a sim.Chain, a Model, Limits and what was heard: Prepare it, Simulate its
// Conversation, and ask for its Advice, its Window or Ruler, a Curve, Remedies and
// Needs, the Sensitivity and the Spread, IfLaughs, and afterwards a Score. A Run, and
// InSlices over it, is the same simulation in slices, for a scene that has to draw in
// between.
//
// tests/plan holds the model against sessions that are synthesised and recorded through
// the engine, measures what the talkers' events are like, and plays thousands of guests.
package plan
