// Package scenes is what a learner sees and touches, as plain data: a scene
// takes an input value and gives intents back, lays itself out in
// device-independent pixels, draws by appending to a draw list and tells its
// semantics. No screen, no sound card, no clock.
//
// Each scene has a package of its own; this one puts them together. Package kit
// says what a scene is and what it knows of the program, package program is the
// frame round the scenes, package window shows it. Package bench is the bench
// behind them, without any picture: one performance, two to four strips, a take.
//
// # Intents
//
// Whatever a person can do is an Intent, and these are their IDs. Unless said
// otherwise they are pressed (Do "press"); numbers take "set", "nudge" (Value in
// steps) and "default". A value out of range is an error and changes nothing.
//
// Of the program:
//
//	tab.gain           shows the scene; a tab that would end a running take has to
//	                   be pressed twice, and says so
//	sound              turns sound on or off
//	listen.level_db    −60 to 0 dB: how loud one hears, −20 at first
//	undo               takes the last change of a setting back
//	redo               makes it again
//	more               opens and closes the page for handing out and presenting
//	present            one idea at a time, large; again ends it
//	present.next       shows the next idea
//	present.last       shows the one before
//	theme              dark or light
//	text_size          100, 125, 150, 175, 200 %, and round again
//
// Of that page:
//
//	picture.all        what a picture shows: all of it, picture.diagram, picture.lower
//	save.png           hands that out as PNG
//	save.svg           hands that out as SVG
//	save.A             hands out the file of strip A as WAV
//	save.spoken        hands out what was spoken as WAV
//	setup.link         puts a link that carries all settings on the clipboard
//	setup.save         hands the settings out as a scenario file
//	setup.open         asks for a scenario file
//	setup.reset        all settings as at a first visit
//
// Of the scene "Set the gain", for strip B, C or D with that letter for A. Every
// numeric setting of a chain is a number by its key, as in A.preamp.ein_dbu or
// A.limiter.attack_ms, in the range that sim.Settings gives; a ratio of 21 stands
// for infinity. Room and distance are the same for all strips and have no letter:
// room.noise_dba, distance_m.
//
//	A.gain_db          0 to 70 dB
//	A.limiter.off      no limiter
//	A.limiter.before   a limiter before the converter
//	A.limiter.after    a limiter after the converter
//	A.microphone.proximity  bass rises close by, or not
//	A.preamp.rail_round  the rail bends softly, or not
//	A.converter.dithered  dither, or not
//	A.limiter.true_peak  watches between samples, or not
//	A.file.dithered    dither where words get shorter, or not
//	A.mic.dynamic      set up as that class of microphone; also condenser, clip-on
//	A.recorder.handheld  set up as that class of recorder; also limiter, quiet, float
//	A.file.pcm24       word length of the file; also pcm16, float32
//	A.lock             the strip keeps its settings, or not
//	station.preamp     opens and closes the station's words and settings; also talker,
//	                   room, microphone, input_limiter, converter, limiter, file
//	strips             opens and closes what concerns the strips as such
//	drawer.close       closes whichever is open
//	strips.add         another strip, set like the one shown
//	strips.safety      a strip that follows the one shown 12 dB lower
//	strips.remove      takes the last strip away
//	copy.strip         all that are not locked are set like the one shown
//	copy.station       the same for the open station alone
//	view.waves         the lower panel: waves, view.spectrum, view.result, view.file
//	file.mend          goes to “Mend it later” with the recording brought along
//	file.stop          gives up reading it
//	file.channel.1     channel 1 of two is meant; also 2, both
//	file.place.1       of a long one, the ten minutes around its worst place; also 2,
//	                   3, 4, 5
//	show.A             diagram and waves show strip A
//	hold.reset         forgets the loudest moment so far
//	listen.A           strip A is heard (and shown)
//	blind.start        prepares a blind comparison, then begins it
//	blind.first        another first sound
//	blind.second       another second sound
//	blind.trials       another number of trials
//	blind.hear_first   the first sound is heard; also hear_second, hear_x
//	blind.is_first     the answer to a trial; also is_second
//	blind.stop         ends the comparison; it counts for nothing
//	listen.spoken      the performance itself is heard
//	listen.mended      what the fast method makes of the take's clipped strip is heard
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
//	surprises          in a take the talker does things unasked, or not
//	take.1             shows an earlier take of this visit, by its number
//	play               plays the take, pauses
//	loop               plays it over and over
//	take.at_s          place in the take, seconds
//	take.save          hands out the take as an archive
//	caution.play       plays clipped sound after the caution
//	caution.cancel     does not
//	scope.loudest      waves at the loudest moment
//	scope.at_ms        waves at that place of the take, milliseconds
//	scope.span_ms      how much they show: 1 ms to the whole take (60 ms without one)
//	scope.nearer       shows less, larger
//	scope.farther      shows more
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
// Of the scene "Lessons", as a list:
//
//	tab.lessons            shows the scene
//	lesson.open            asks for a lesson file of one's own
//	lesson.name            the name that a result carries ("set" with Text)
//	lesson.begin.NAME      begins a lesson or goes on with it; lesson.begin.own.NAME
//
// and in a lesson, beside the controls of "Set the gain", of which those that the
// step does not unlock are disabled with the reason:
//
//	lesson.list            back to the list; the progress is kept
//	lesson.half.step       where there is room for one: shows the step; also lesson.half.bench
//	lesson.answer.a        marks an answer; also b, c and so on
//	lesson.text            an answer in figures or words ("set" with Text)
//	lesson.commit          commits the answer: it stands
//	lesson.set.KEY         a setting that the step unlocks, by the lesson's key, as in
//	                       lesson.set.A.preamp.gain_db; lesson.set.KEY.WORD for a choice
//	lesson.record          gives the take, or gives it up; record does the same
//	lesson.hear.NAME       what is heard in a comparison; lesson.hear.trial in a blind one
//	lesson.trial.NAME      the answer to a trial: it stands
//	lesson.play            and lesson.loop, lesson.take.at_s, lesson.caution.play,
//	                       lesson.caution.cancel: as without "lesson.", of the comparison
//	lesson.readings        shows all readings of the last take, or those the step names
//	lesson.next            the next step
//	lesson.give_up         goes on from a task that is not met
//	lesson.save            hands out the result of a finished lesson
//	lesson.anew            begins a finished lesson anew
//
// It has the nodes lesson.where, lesson.step (its text), lesson.check.1,
// lesson.feedback.1, lesson.reply, lesson.prediction.1, lesson.caution.1,
// lesson.reading.KEY, lesson.blocked (why Next is refused), lesson.outcome and, for
// a file with faults, lesson.fault.1.
//
// Of the scene "Practice", beside the controls of "Set the gain", of which the gain
// and the limiter of strip A are free:
//
//	tab.practice           shows the scene
//	practice.half.panel    where there is room for one: shows the guest; also practice.half.bench
//	practice.gain_db       0 to 65 dB, as A.gain_db
//	practice.limiter.off   as A.limiter.off; also before, after
//	practice.talk          the conversation happens, once; breaks it off; record does the same
//	practice.next          the next guest
//	practice.forget        forgets all scores; has to be pressed twice
//
// It has the nodes practice.guest, practice.now, practice.live (what the meter
// says), practice.score, practice.part.1 and so on, and practice.history.
//
// Of status and readings there are the nodes status (a live region: the latest
// result in plain words), diagram (the level diagram in words), A.overs,
// A.meter, after a take A.result, and spectrum while it is shown.
package scenes
