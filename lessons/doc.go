// Package lessons tells how a lesson is written by hand. The code is in its folders:
// their file format, their rules, a runner without a screen, results that can be
// checked, practice without end, and the built-in lessons.
//
// # Where to start
//
// builtin.Load, format.Load and format.Parse give a model.Lesson. run.NewRunner takes
// one student through it; the terminal and the scene both drive a Runner, which
// records with a take.Bench. Runner.Result gives what is handed in, grade.Grader
// verifies it, handout.Render prints the lesson, and practice.Practice is guest after
// guest. Below them are rules (expressions and texts with values), names (readings and
// settings with their units) and markup (Markdown):
//
//	names, markup ← rules ← model ← format ← builtin
//	                        model ← take ← run ← grade
//	                                take ← practice
//
// # Writing a lesson
//
// A lesson is one YAML file. Begin with a built-in one (gainwright lesson show
// gain-and-headroom --source), change it, and ask gainwright lesson check what is
// wrong with it; every fault is told with its line and column.
//
//	title: The ferry bell
//	for: hosts who record beside machines
//	minutes: 8
//	scenario:                       # the bench, as in a scenario file,
//	  room: {noise_dba: 40}         # or the name of a built-in scenario
//	  source:
//	    talker: joss
//	    script:
//	      - {text: "Hold on to the rail.", effort: normal}
//	      - {do: laugh, effort: 0.8}
//	  strips:
//	    A: {preamp: {gain_db: 46}}
//	    B: {preamp: {gain_db: 34}}
//	takes:                          # more scripts, for steps that record them
//	  check:
//	    - {text: "One, two, three.", effort: normal}
//	vary:                           # what differs from student to student
//	  talker: [joss, ilse]
//	  distance_m: {from: 0.06, to: 0.12, steps: 3}
//	  performance: 3
//	steps:
//	  - say: "{{drawn.talker_name}}, stands {{drawn.distance_m}} away."
//	  - record: A sound check.
//	    take: check
//	  - predict: Will the laugh go over?
//	    id: guess
//	    choices:
//	      - {say: "yes", when: A.overs > 0}
//	      - {say: "no", when: A.overs == 0}
//	  - record: Record it.
//	    id: first
//	  - reveal: "There were {{A.overs}} overs."
//	    of: [guess]
//	  - do: Keep 6 dB of headroom.
//	    id: set
//	    controls: {A.preamp.gain_db: {from: 20, to: 60}}
//	    rule: A.overs == 0 && A.headroom_db >= 6
//	    hints:
//	      - {when: A.overs > 0, say: "Still {{A.overs}} overs."}
//	  - listen: Compare them.
//	    strips: [A, B]
//	  - ask: How much headroom is left in A?
//	    number: {answer: A.headroom_db, tolerance: 1}
//	  - explain: Why is that enough?
//	sources:
//	  - {says: "Half the distance adds 6.02 dB.", source: inverse distance law}
//
// The keys of the file: title, for (whom) and minutes have to be there, and
// scenario and steps; about is Markdown; id names the lesson in results (else the
// file's name does); needs lists the ids of the lessons it builds on; pass is the share of the points that passes (0.7); locked says
// why settings are locked; own_voice: allowed lets students take it with a voice of their own
// (below); takes, vary and sources as above.
//
// Every step has the key of its kind, which holds its text, and may have id (a name
// for rules, results and answers), set (settings made when it begins), show (a picture of
// the bench beside the words: diagram, the levels along the chain, or waves, the loudest
// moment at four places; B.waves of a strip that is not the first; of the step's own take
// if it records, else of the last one), points and
// must (the lesson cannot be passed without it; so are tasks unless it is false).
//
//   - say: something to read.
//   - predict: a question that is answered before the take; the answer stands. Its
//     outcome is decided by the first take step after it that is finished: put a
//     record step there. A rule about trials.hits, of the blind step trials, is decided
//     by that. What came of it and because are told in the next step, and at the end.
//   - record: a take. take names its script (else the scenario's), controls what
//     may be set before, attempts how many takes (one that was broken off counts
//     from its first second of sound; the last is then recorded to its end, as it was
//     set), riding: true allows settings to change while it rolls; the next take begins
//     again with what was set before.
//   - do: a take that has to obey rule. hints are told when it does not: when (a
//     rule), after (how many takes) and say.
//   - listen: strips are compared, spoken among them: the talker's own wave.
//     matched: false leaves their loudness alone, blind: 8 hides the names for
//     eight trials between two strips. Without trials it may ask, as ask does, what is
//     heard.
//   - mend: ways, by names of your own, are treatments (take.Treatments) of the file of
//     strip, of the last take; they are compared like strips, and rules read of them
//     rules.MendedReadings, as in ways.guessed.sdr_db. The step can be left when they
//     are done.
//   - plan: what an hour with the guest of the last take, best a sound check, asks of the
//     gain of strip (take.Bench.Planned). Rules read of it rules.PlannedReadings, as in
//     hour.A.advised_gain_db; the step can be left when it is worked out.
//   - twin: another performance that leaves the file of strip, of the last take, to the
//     last sample (take.Bench.Twin); strips, among them spoken and twin, are heard, and
//     rules read rules.TwinReadings, as in two.A.apart_db. Where the file leaves no freedom
//     that is told, free_percent is 0 and the others could not be measured.
//   - ask: a question with a right answer. tries is how often it may be answered,
//     because is told afterwards.
//   - explain: an answer in words, kept for the trainer; least is its length in
//     characters.
//   - reveal: what came of the predictions named under of.
//
// Questions are answered by choices (texts, or say with right: true or with a rule
// under when, and because), by a number (answer, a number or an expression; unit;
// tolerance), or by a text (accept lists what is right; text: true takes anything).
//
// vary draws settings (distance_m, room.noise_dba, A.preamp.gain_db, …), talker,
// performance (so many ways of saying the same), effort_shift (added to every
// effort of the talker, −0.5 to 0.5) and level_db (added to every level). A range
// is drawn in steps (5 if not said; distances in equal ratios), so that many
// students share a take, and grading a class is quick.
//
// # Rules
//
// A rule compares readings and settings of strips: A.headroom_db >= 6 &&
// A.overs == 0. A strip's name means the last take; first.A.overs means the take of
// the step first. drawn.distance_m is what was drawn. There are comparisons, + - * /,
// and, or, not, and the functions abs, min, max and between(x, low, high); nothing
// else, so that a rule's work is bounded by its length. Units are checked when the
// file is read: a level less a level is a difference in dB, two levels cannot be
// added, dB do not compare with ms. Numbers are written without a unit. A reading
// that could not be measured makes its comparison false. Texts show values in double
// braces: {{A.headroom_db}}. Students meet neither: a rule is told in words, and a reading
// that a text names, as in **talk_peak_dbfs**, as people call it. All names: gainwright lesson check --names.
//
// # A voice of one's own
//
// With own_voice: allowed a student may choose, until a second of a take has sounded, that a
// voice recorded in the scene "Your voice" gives all takes in place of the talker, by the
// same scripts (own.Guest.Perform): it says about as much as the texts are long, in its own
// words and as loudly as it talks; what is loud or louder begins with its call, and a laugh is
// its laugh. Efforts, level_db and effort_shift do not count, coughs, pops, claps and chairs
// are left out, and performance begins with another line. Pauses and leans are the script's. So
// a task should bear guests of any level: gainwright lesson rehearse --voice tries one.
// {{drawn.talker_name}} becomes "Your own voice". The result names the voice and the SHA-256
// of what is heard in it; grading performs the takes with its file, which has to be handed in,
// too, and refuses any other.
//
// # Model answers
//
// An answers file plays a lesson unattended; write one that passes, and one that
// must not. One seed is one student: grade.Rehearse tries them on every student there
// can be (gainwright lesson rehearse mine.yaml --answers model.yaml), and finds the
// task that one drawn talker cannot meet. Do so after every change. Answers and settings
// may be computed (model.Answers). grade.Share finds what does on every bench.
//
// # What a result proves
//
// A result (run.Result) holds the lesson's hash, the seed, the answers, the settings and
// readings of every take that counts, times, and a signature. Grading draws the
// seed's values again, runs the takes again and grades the answers again, so that a
// reading, a verdict, a seed or a sum cannot be altered unseen. What a signature
// made on the student's own computer can prove is little: without a key it shows
// accidents; with a key that the class shares it shows that the sender had the key; with a
// student's own (package keys), that it was the key of just that name and seed.
// None shows who sat there, nor that nobody helped, and times are what the
// computer's clock said. See run.Result.
//
// # Safety
//
// Clipped and loud material is announced before it is played (take.EarCaution,
// the cautions of a view and of a wave), and nothing that a runner hands out is
// meant to be played above −3 dBFS at the gains that come with it.
package lessons
