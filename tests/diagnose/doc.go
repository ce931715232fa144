// Package diagnose_test measures what sim/diagnose tells of recordings whose past
// is known (labelled/ makes them, train/ learns from other ones), and
// that the two performances of sim/proof leave one file.
//
// There are two sets. What is done to the first our own code does. What is done to the
// second (TestOutside) ffmpeg and sox do, and its part that is judged has speakers and
// voices that occur nowhere else: people who say single words, which were Ogg Vorbis or
// Opus before, and synthetic voices. What was held out until it had been looked at is learnt
// from. Both need recordings of people, from Debian packages that are unpacked below
// GAINWRIGHT_SPEECH_ROOT: pocketsphinx-testdata, alsa-utils, codec2-examples,
// asterisk-core-sounds-es-g722 and those for fr, it and ru, asterisk-prompt-it-menardi-wav,
// fillets-ng-data-cs, fillets-ng-data-nl, gcin-voice, hedgewars-data, klettres-data, ktuberling-data
// and tuxpaint-stamps-default. With GAINWRIGHT_SET=DIR what was made is kept there. Whoever learns anew should hold out
// speakers that nobody has looked at.
package diagnose
