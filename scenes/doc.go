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
// Every numeric setting of a chain is a number by its key behind a strip's letter, as in
// A.preamp.ein_dbu or A.limiter.attack_ms, in the range that sim.Settings gives; a ratio
// of 21 stands for infinity. A switch has its key too, as A.microphone.proximity or
// A.limiter.true_peak, and a choice a word behind it, as A.file.pcm24. Room and distance
// are the same for all strips and have no letter: room.noise_dba, distance_m. What the
// list says of A goes for B, C and D.
//
// In "Plan the session" every assumption of package plan and every limit is a number by
// its key, as plan.laughs_per_hour, in cm and percent where it is a length or a share.
//
// "One file, two talkers" and "Mend it later" have the play, loop, take.at_s, caution and
// scope of the list too, and "Mend it later" listen.matched and file.open. A lesson has,
// beside its own, the controls of "Set the gain", of which those that the step does not
// unlock are disabled with the reason; practice has them too, and of those the gain and
// the limiter of strip A are free.
//
// # IDs
//
// Made from the constants of the packages by go test -run DocumentedIDs -update. What
// stands for … is said behind it; a node can be read and takes no intent.
//
// Of package kit:
//
//	tab.gain                shows “Set the gain”; a tab that would end a running take has
//	                        to be pressed twice, and says so
//	tab.twin                shows “One file, two talkers”
//	tab.mend                shows “Mend it later”
//	tab.plan                shows “Plan the session”
//	tab.lessons             shows “Lessons”
//	tab.practice            shows “Practice”
//	tab.recorder            shows “Your recorder”
//	tab.voice               shows “Your voice”
//	tab.first               shows “First guest”, which has no tab
//	status                  the latest thing to be spoken; a node, a live region
//	idea                    which idea a presentation shows; a node
//	undo                    takes the last change of a setting back
//	redo                    makes it again
//	save.…                  and A to D: hands out the file of that strip as WAV
//	save.spoken             hands out what was spoken as WAV
//	setup.link              puts a link that carries all settings on the clipboard
//	setup.code              hands that link out as a picture that a phone reads
//	setup.save              hands the settings out as a scenario file
//	setup.open              asks for a scenario file
//	setup.reset             all settings as at a first visit
//	setup.planned           has “Set the gain” tell what the plan set up; between scenes
//	A.gain_db               0 to 70 dB
//	A.limiter.…             and off, before or after: where the limiter is, as seen from
//	                        the converter
//	A.meter                 the level of the file; a node
//	ruler                   the gain ruler in words; a node
//	ruler.take              the window for the take that was recorded
//	ruler.hour              the window for an hour with this guest
//	ruler.score             what was told before a take, beside fixed rules; a node
//	show.…                  and A to D: diagram and waves show that strip
//	listen.…                and A to D: that strip is heard, and shown
//	listen.matched          all sources equally loud, at −23 LUFS, or as they are
//	hold.reset              forgets the loudest moment so far
//	view.…                  and waves, spectrum, result or file: what the lower panel
//	                        shows
//	station.…               and talker, room, microphone, preamp, input_limiter,
//	                        converter, limiter or file: opens and closes its words and
//	                        settings
//	drawer.close            closes whichever is open
//	check                   sound check: the talker talks, nothing is kept
//	record                  starts a take, ends it
//	play                    plays the take, pauses
//	loop                    plays it over and over
//	take.at_s               place in the take, seconds
//	take.save               hands out the take as an archive
//	caution.play            plays clipped sound after the caution
//	caution.cancel          does not
//	file.open               asks for a recording: to perform instead of a talker, or to
//	                        mend
//	mend.file               has “Mend it later” take a recording that is brought along;
//	                        between scenes
//	lesson.on_pair          has “Lessons” begin the one on the limiter's place, on the
//	                        recorder of an equipment file; between scenes
//	plan.you.…              and the name of a voice: the guest that is planned for is the
//	                        learner, as heard in it
//	you.…                   and the name of a voice that is kept: the learner's own
//	                        performs
//	scope.at_ms             waves at that place of the take, milliseconds
//	scope.span_ms           how much they show: 1 ms to the whole take (60 ms without
//	                        one)
//	scope.loudest           waves at the loudest moment, or where most was cut off
//
// Of package program:
//
//	sound                   turns sound on or off
//	sound.yes               once asked by a press that would be heard: turns sound on and
//	                        does it; or yes to another question
//	sound.no                does it without sound, and is not asked again; or no
//	listen.level_db         −60 to 0 dB: how loud one hears, −20 at first
//	more                    opens and closes the page for handing out and presenting
//	explain                 opens and closes what the units in the scene mean; with a
//	                        point and a term's ID behind it, that term
//	explain.close           closes it
//	explain.text            what a term means; a node
//	present                 one idea at a time, large; again ends it
//	present.next            shows the next idea
//	present.last            shows the one before
//	theme                   dark or light
//	text_size               100, 125, 150, 175, 200 %, and round again
//	picture.…               and all, diagram or lower: what a picture shows
//	save.png                hands that out as PNG
//	save.svg                hands that out as SVG
//	keys                    the keys; a node of the page
//	kept                    what is kept; a node of the page
//	sound.stats             how the sound fares; a node of the page
//
// Of package gain:
//
//	diagram                 the level diagram in words; a node
//	spectrum                what clipping adds, while it is shown; a node
//	A.overs                 what went over; a node
//	A.result                what became of the take; a node
//	listen.spoken           the performance itself is heard
//	listen.mended           what the fast method makes of the take's clipped strip is
//	                        heard
//	surprises               in a take the talker does things unasked, or not
//	again                   the next take has the last one's performance
//	take.…                  and a number: shows that earlier take of this visit
//	scope.nearer            shows less, larger
//	scope.farther           shows more
//
// Of package gain/drawer:
//
//	strips                  opens and closes what concerns the strips as such
//	strips.add              another strip, set like the one shown
//	strips.safety           a strip that follows the one shown 12 dB lower
//	strips.remove           takes the last strip away
//	copy.strip              all that are not locked are set like the one shown
//	copy.station            the same for the open station alone
//	A.mic.…                 and dynamic, condenser or clip-on: set up as that class of
//	                        microphone
//	A.recorder.…            and handheld, limiter, quiet or float: set up as that class
//	                        of recorder
//	A.lock                  the strip keeps its settings, or not
//
// Of package gain/blind:
//
//	blind.start             prepares a blind comparison, then begins it
//	blind.first             another first sound
//	blind.second            another second sound
//	blind.trials            another number of trials
//	blind.hear_first        the first sound is heard
//	blind.hear_second       the second sound is heard
//	blind.hear_x            X is heard
//	blind.is_first          the answer to a trial: X is the first
//	blind.is_second         the answer to a trial: X is the second
//	blind.stop              ends the comparison; it counts for nothing
//
// Of package gain/past:
//
//	file.mend               goes to “Mend it later” with the recording brought along
//	file.stop               gives up reading it
//	file.channel.…          and 1, 2 or both: the channel of two that is meant
//	file.place.…            and 1 to 5: of a long one, the ten minutes around that place
//	file.finding.…          and a number: what it tells of its past; a node
//
// Of package gain/cards:
//
//	card.talker             in a narrow window: who talks, and what they do
//	card.levels             in a narrow window: the level diagram
//	card.listen             in a narrow window: what is heard, and where in the take
//
// Of package gain/talker:
//
//	talker.…                and captain, joss, edwin, maren, ilse or pip: who talks
//	event.…                 and talk (ordinary again), louder (from now on), laugh,
//	                        lean_in (for four seconds), cough or, of a voice of one's
//	                        own, shout: what the talker does
//	live                    the learner's microphone drives the strips, once a question
//	                        is answered; again to end it
//	live.headphones         what is live is heard, for who wears headphones
//	live.state              how late what is live comes, and its breaks; a node
//	file.level_db           level of a recording performed: 40 to 110 dB SPL at 1 m
//	                        (loudest second)
//
// Of package twin:
//
//	twin.gain_db            26 to 50 dB, of both recordings
//	twin.treat.…            and none, limiter, compressor, declip, denoise or deliver:
//	                        what is done to both files
//	twin.listen.…           and first, second, first_file, second_file or unknown: what
//	                        is heard
//	twin.answer.…           and first or second: says that the recording came from it
//	twin.score.reset        begins the score anew
//	twin.files              whether the files are equal; a node
//	twin.picture            the waves; a node
//	twin.score              the answers so far; a node
//
// Of package plan:
//
//	plan.…                  and a key, as distance_m, room.noise_dba, risk: a number, in
//	                        cm and percent where it is a length or a share
//	plan.microphone.…       and dynamic, condenser or clip-on: the class of microphone
//	plan.recorder.…         and handheld, limiter, quiet or float: the class of recorder
//	plan.own_recorder       plans for the user's own recorder, where the bench knows it
//	plan.limiter.…          and off, before or after: where the limiter is
//	plan.guest.…            and calm, ordinary or lively: the kind of conversation
//	plan.who.any            the guest may be anybody
//	plan.try_voice          shows “Your voice”, where none is kept
//	plan.view.…             and remedies, matters, laughs or assumptions: what the list
//	                        shows
//	plan.reset              everything as at the start
//	plan.gain_db            0 to 70 dB: where the curves are read
//	plan.use                takes that gain to “Set the gain”
//	plan.curves             the curves; a node
//	plan.work               what is being simulated; a node
//	plan.remedy.…           and a number: what would help; a node
//	plan.need.…             and a number: what would open the window; a node
//	plan.swing.…            and a number: what matters; a node
//	plan.laugh.…            and a number: what a laugh in the sound check makes of it; a
//	                        node
//
// Of package mend:
//
//	mend.…                  and declip, splice, highpass, denoise, compress, limit or
//	                        deliver: turns that treatment on or off
//	….up                    behind a treatment's: an earlier place in the order
//	….down                  behind a treatment's: a later one
//	mend.source.…           and A to D: mends that strip of the last take
//	mend.source.builtin     mends a built-in take
//	mend.effort.…           and fast, balanced or best: how much work declip takes
//	mend.undo_limiter       leaves the gain out that a limiter moved after the clipping,
//	                        where the tops tell it
//	mend.listen.…           and spoken, recorded, mended or lower: what is heard
//	mend.cancel             gives up the work going on; then begins it again
//	mend.save               hands out the mended sound
//	mend.verdict            what the treatments bring; a node
//	mend.picture            the waves; a node
//	mend.figures.…          and recorded, mended or lower: what was measured; a node
//
// Of package lesson:
//
//	lesson.…                what the IDs of a lesson begin with; play, loop, take.at_s
//	                        and the caution's behind it are those of a comparison
//	lesson.open             asks for a lesson file of one's own
//	lesson.name             the name that a result carries ("set" with Text)
//	lesson.begin.…          and a lesson, or own. and one of one's own: begins it or goes
//	                        on with it
//	lesson.list             back to the list; the progress is kept
//	lesson.pictures         levels and waves in place of the words, where there is no
//	                        room for both
//	lesson.answer.…         and a letter: marks an answer
//	lesson.text             an answer in figures or words ("set" with Text)
//	lesson.commit           commits the answer: it stands
//	lesson.set.…            and the lesson's key, as in lesson.set.A.preamp.gain_db, and
//	                        for a choice a point and the word: a setting that the step
//	                        unlocks
//	lesson.record           gives the take, or gives it up; record does the same
//	lesson.hear.…           and a name: what is heard in a comparison; trial in a blind
//	                        one
//	lesson.trial.…          and a name: the answer to a trial; it stands
//	lesson.readings         shows all readings of the last take, or those the step names
//	lesson.who.talker       the lesson's talker gives the takes, where a voice of one's
//	                        own may, too
//	lesson.who.you.…        and the name of a voice that is kept: that gives them
//	lesson.who.try          shows “Your voice”, where none is kept
//	lesson.next             the next step
//	lesson.give_up          goes on from a task that is not met
//	lesson.save             hands out the result of a finished lesson
//	lesson.anew             begins a finished lesson anew
//	lesson.review           begins the mixed review, or goes on to its next task
//	lesson.forget           leaves a finished lesson and forgets who was here
//	lesson.standing         where one stands with the lessons; a node of the list
//	lesson.where            which step of which lesson; a node
//	lesson.step             its text; a node
//	lesson.shown            the picture beside it; a node
//	lesson.check.…          and a number: what is asked of a take; a node
//	lesson.feedback.…       and a number: a hint; a node
//	lesson.reply            what there is to say to an answer; a node
//	lesson.prediction.…     and a number: what was predicted; a node
//	lesson.caution.…        and a number: a caution; a node
//	lesson.reading.…        and its key: a reading; a node
//	lesson.blocked          why Next is refused; a node
//	lesson.outcome          what came of the lesson; a node
//	lesson.fault.…          and a number: a fault of a file; a node
//
// Of package practice:
//
//	practice.talk           the conversation happens, once; breaks it off; record does
//	                        the same
//	practice.next           the next guest
//	practice.forget         forgets all scores; has to be pressed twice
//	practice.guest_is.other  the guest is a stranger
//	practice.guest_is.you.…  and the name of a voice that is kept: the guest is the
//	                        learner, with that voice
//	practice.guest_is.try   shows “Your voice”, where none is kept
//	practice.pictures       levels and waves in place of the words, where there is no
//	                        room for both
//	practice.guest          who is there; a node
//	practice.now            what goes on; a node
//	practice.live           what the meter says; a node
//	practice.score          what came of it; a node
//	practice.part.…         and a number: a part of the score; a node
//	practice.history        the scores so far; a node
//
// Of package recorder:
//
//	recorder.marks          takes text: the marks of the knob at which sounds are
//	                        recorded
//	recorder.sheet          hands out the page that leads through the series, with its
//	                        sounds, as an archive
//	recorder.part.…         and quiet, steps, loud, pair or anchor: what is recorded of
//	                        that part, and what is missing; a node
//	recorder.stop           gives up the recording that is being read
//	recorder.forget         takes all recordings out; has to be pressed twice
//	recorder.file.…         and a number: chooses a recording, to say by hand what it is
//	recorder.is.…           and quiet, plugged, steps, loud, off, on, pair or anchor:
//	                        what the chosen recording is
//	recorder.is_mark        takes text: the mark at which it was made
//	recorder.read_so        reads it as that
//	recorder.take_out       takes it out
//	recorder.anchor.…       and none, talk, meter or calibrator: the level that is known
//	recorder.level_db_spl   that level: 30 to 120 dB SPL, of a calibrator 70 to 130
//	recorder.save           hands out the equipment file
//	recorder.use            puts the bench, the planner and practice on this recorder, in
//	                        this browser's later visits, too
//	recorder.lesson         begins the lesson on the limiter's place, on this limiter
//	recorder.use_no_more    forgets it there; the strips stay as they are
//	recorder.side.…         and off or on: that recording of the pair is heard
//	recorder.after.…        and nothing, limit, compress or declip: the pair is heard as
//	                        recorded, or after that treatment
//	recorder.handout        hands out one page on which the pair can be heard
//	recorder.kept           what of all this is kept in this browser, and why what is
//	                        not; a node
//	recorder.work           what is being read; a node
//	recorder.tells.…        and gain, noise, clip, words or limiter: what is known; a
//	                        node
//	recorder.notes          what is to be said besides, and what is assumed; a node
//
// Of package mine:
//
//	voice.ask               asks for the microphone
//	voice.stop              lets the microphone go; what was recorded stays
//	voice.begin             begins the step shown, and ends it
//	voice.back              goes back to the step before, to do it again
//	voice.skip              leaves the step out: the laugh or the call
//	voice.again             records the laugh once more, into the voice that was recorded
//	                        just now
//	voice.kept.…            and a number: takes a voice that is kept in this browser
//	voice.name              takes text: the name under which the voice is kept
//	voice.keep              keeps it in this browser
//	voice.delete            deletes it there; has to be pressed twice
//	voice.save              hands it out as WAV
//	voice.anew              begins anew; what is not kept is lost, so it has to be
//	                        pressed twice
//	voice.louder_db         by how much one talks louder than most: −10 to 10 dB
//	voice.placed.…          and ordinary or measured: what places the level of talk
//	voice.level_db_spl      the level that a sound level meter read: 30 to 110 dB SPL at
//	                        1 m
//	voice.perform           performs it on the bench, and shows that
//	voice.plan              plans for it as the guest, and shows that
//	voice.step              what is to be done now; a node
//	voice.level             how loud it is now; a node
//	voice.card              what to think of what came through the microphone; a node
//	voice.distance          the distance between talk and laugh; a node
//
// Of package first:
//
//	first.gain_db           0 to 70 dB, as A.gain_db
//	first.meter             the level of the file, and the band where its highest belongs
//	first.record            starts the take, ends it; record does the same
//	first.hear              plays the laugh as strip A recorded it
//	first.other             plays it as the strip 12 dB lower did
//	first.again             back to the knob, for the same performance
//	first.next              the next step
//	first.voice             shows “Your voice”, where none is kept yet
//	first.all               all tabs, from now on at every visit
//	first.talker            who is there; a node
//	first.say               what to do; a node
//	first.verdict           what became of strip A; a node
//	first.wave              its wave in words; a node
//	first.lower             the other strip's; a node
//	first.levels            the level diagram in words; a node
package scenes
