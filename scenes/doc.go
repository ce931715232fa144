// Package scenes is what a learner sees and touches, as plain data: a scene
// takes an input value and gives intents back, lays itself out in
// device-independent pixels, draws by appending to a draw list and tells its
// semantics. No screen, no sound card, no clock.
//
// A Program is the whole picture; package window shows it. A Session is the
// bench behind it, without any picture: one performance, two strips, a take.
//
// # Intents
//
// Whatever a person can do is an Intent, and these are their IDs. Unless said
// otherwise they are pressed (Do "press"); numbers take "set", "nudge" (Value in
// steps) and "default". A value out of range is an error and changes nothing.
//
// Of the program:
//
//	tab.gain           shows the scene
//	sound              turns sound on or off
//	listen.level_db    −60 to 0 dB: how loud one hears, −20 at first
//	theme              dark or light
//	text_size          100, 125, 150, 175, 200 %, and round again
//
// Of the scene "Set the gain", for strip B with B for A:
//
//	A.gain_db          0 to 70 dB
//	A.limiter.off      no limiter
//	A.limiter.before   a limiter before the converter
//	A.limiter.after    a limiter after the converter
//	show.A             diagram and waves show strip A
//	hold.reset         forgets the loudest moment so far
//	listen.A           strip A is heard (and shown)
//	listen.spoken      the performance itself is heard
//	listen.matched     all sources equally loud, at −23 LUFS, or as they are
//	talker.captain     who talks; also joss, edwin, maren, ilse, pip
//	event.talk         ordinary talk again
//	event.louder       louder from now on
//	event.laugh        laughs
//	event.lean_in      comes close for four seconds
//	event.cough        coughs
//	file.open          asks for a recording to perform instead of a talker
//	file.level_db      its level: 40 to 110 dB SPL at 1 m (loudest second)
//	check              sound check: the talker talks, nothing is kept
//	record             starts a take, ends it
//	again              the next take has the last one's performance
//	play               plays the take, pauses
//	loop               plays it over and over
//	take.at_s          place in the take, seconds
//	take.save          hands out the take as an archive
//	caution.play       plays clipped sound after the caution
//	caution.cancel     does not
//	scope.loudest      waves at the loudest moment
//	scope.at_ms        waves at that place of the take, milliseconds
//	scope.span_ms      how much they show: 2 to 60 ms
//
// Of the scene "One file, two talkers" (besides play, loop, take.at_s, caution.*,
// scope.at_ms and scope.span_ms, which it has too):
//
//	tab.twin                  shows the scene
//	twin.gain_db              26 to 50 dB, of both recordings
//	twin.treat.none           both files as they are
//	twin.treat.limiter        both files treated; also compressor, declip, denoise, deliver
//	twin.listen.first         the first performance is heard; also second
//	twin.listen.first_file    the file it left; also second_file
//	twin.listen.unknown       the recording in question
//	twin.answer.first         says that it came from the first; also second
//	twin.score.reset          begins the score anew
//	scope.loudest             the moment at which most was cut off
//
// It has the nodes status, twin.files (are they equal), twin.picture and
// twin.score.
//
// Of the scene "Plan the session", where every assumption of package plan and every
// limit is a number by its key, here in cm and percent where it is a length or a
// share:
//
//	tab.plan                    shows the scene
//	plan.microphone.dynamic     the class of microphone; also condenser, clip-on
//	plan.recorder.handheld      the class of recorder; also limiter, quiet, float
//	plan.limiter.off            also before, after
//	plan.distance_m             2 to 200 cm
//	plan.room.noise_dba         0 to 80 dBA
//	plan.minutes                and so on: plan.laughs_per_hour, plan.talk_level_db
//	plan.risk                   largest acceptable chance of an over, percent
//	plan.noise_lufs             largest acceptable noise after delivery
//	plan.reset                  everything as at the start
//	plan.gain_db                0 to 70 dB: where the curves are read
//	plan.use                    takes that gain to "Set the gain"
//	plan.view.remedies          what would help; also matters, assumptions
//
// It has the nodes status, plan.curves and plan.work, and for what the list shows
// plan.remedy.1, plan.need.1, plan.swing.1 and so on.
//
// Of the scene "Mend it later" (besides play, loop, take.at_s, caution.*, scope.*,
// listen.matched and file.open, which it has too):
//
//	tab.mend                  shows the scene
//	mend.source.A             mends the last take's strip A; also B and so on
//	mend.source.builtin       mends a built-in take
//	mend.declip               turns a treatment on or off; also splice, highpass,
//	                          denoise, compress, limit, deliver
//	mend.declip.up            an earlier place in the order; .down a later one
//	mend.effort.fast          how much work declip takes; also balanced, best
//	mend.listen.spoken        what was spoken is heard; also recorded, mended, lower
//	mend.cancel               gives up the work going on; then begins it again
//	mend.save                 hands out the mended sound
//
// It has the nodes status, mend.verdict, mend.picture and mend.figures.recorded,
// .mended and .lower.
//
// Of status and readings there are the nodes status (a live region: the latest
// result in plain words), diagram (the level diagram in words), A.overs and
// A.meter.
package scenes
