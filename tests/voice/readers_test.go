//go:build full

package voice_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gainwright/sounds/voice"
	"gainwright/tests/limited"
	"gainwright/tests/repair/speechset"
	"gainwright/tests/trust"
)

// A reader is an open recording and what is said in it. The recordings come from
// Debian packages: five utterances of a LibriVox reader (pocketsphinx-testdata; public
// domain, with its text), and announcements of a telephone exchange
// (asterisk-core-sounds-en-g722, CC-BY-SA-3.0; the texts are in asterisk-core-sounds-en).
// Those whose words the recogniser's dictionary has, and which are sentences.
type reader struct{ file, text string }

var readers = []reader{
	{"0870", "and mister john dashwood had then leisure to consider how much there might be prudently in his power to do for them"},
	{"0880", "he was not an ill disposed young man"},
	{"0890", "unless to be rather cold hearted and rather selfish is to be ill disposed"},
	{"0920", "had he married a more amiable woman he might have been made still more respectable than he was"},
	{"0930", "he might even have been made amiable himself"},
	{"agent-pass", "please enter your password followed by the pound key"},
	{"agent-newlocation", "please enter a new extension followed by pound"},
	{"at-tone-time-exactly", "at the sound of the tone the time will be exactly"},
	{"conf-getchannel", "please enter the channel number followed by the pound key"},
	{"conf-invalid", "that is not a valid conference number please try again"},
	{"conf-onlyone", "there is currently one other participant in the conference"},
	{"conf-onlyperson", "you are currently the only person in this conference"},
	{"conf-placeintoconf", "you will now be placed into the conference"},
	{"conf-waitforleader", "the conference will begin when the leader arrives"},
	{"confbridge-dec-list-vol-in", "to decrease the audio volume from other participants"},
	{"confbridge-lock-no-join", "the conference is currently locked and cannot be joined"},
	{"confbridge-rest-talk-vol-in", "to reset your speaking volume to the default level"},
	{"demo-nomatch", "i'm sorry there are no matches for those keywords"},
	{"dir-nomore", "there are no more compatible entries in the directory"},
	{"entr-num-rmv-blklist", "please enter the number to be removed from the blacklist"},
	{"feature-not-avail-line", "that feature is not available on this line"},
	{"followme/sorry", "i'm sorry but i was unable to locate the person you are calling"},
	{"followme/status", "the person you are calling is not at their desk i will try to locate them for you"},
	{"pbx-invalidpark", "i am sorry there is no call parked on that extension please try again"},
	{"pls-hold-while-try", "please hold while we try to connect you"},
	{"privacy-prompt", "please enter your phone number starting with the area code"},
	{"privacy-unident", "the party you are trying to reach does not accept unidentified calls"},
	{"queue-youarenext", "your call is now first in line and will be answered by the next available representative"},
	{"vm-enter-num-to-call", "please enter the number you wish to call"},
	{"vm-invalid-password", "that password does not meet the minimum requirements for this mailbox please try again"},
	{"vm-mismatch", "the passwords you entered and re entered did not match please try again"},
	{"vm-nobodyavail", "nobody is available to take your call at the moment"},
	{"vm-nobox", "you cannot reply to this message because the sender does not have a mailbox"},
	{"vm-rec-busy", "after the tone say your busy message and then press the pound key"},
	{"vm-savefolder", "which folder should i save the message to"},
	{"vm-sorry", "i'm sorry i did not understand your response"},
	{"ss-noservice", "the number you have dialed is not in service please check the number and try again"},
}

func (r reader) path() string {
	share := filepath.Join(speechset.Root(), "usr/share")
	if strings.HasPrefix(r.file, "0") {
		return filepath.Join(share, "pocketsphinx/test/data/librivox/sense_and_sensibility_01_austen_64kb-"+r.file+".wav")
	}
	return filepath.Join(share, "asterisk/sounds/en_US_f_Allison", r.file+".g722")
}

// recorded gives the recording at 16 kHz, scaled like what talkers say.
func (r reader) recorded(t *testing.T) []float64 {
	t.Helper()
	in := []string{"-i", r.path()}
	if strings.HasSuffix(r.path(), ".g722") {
		in = append([]string{"-f", "g722"}, in...)
	}
	raw, err := limited.Command(t, time.Minute, "ffmpeg", append(append([]string{"-nostdin", "-v", "error"}, in...),
		"-f", "f64le", "-ar", "16000", "-ac", "1", "-")...).Output()
	if err != nil {
		t.Fatalf("ffmpeg, %s: %v", r.file, err)
	}
	return floats(raw)
}

// news are sentences of our own on which nothing was set.
var news = []string{
	"my uncle built the first boat out of what he could find on the beach",
	"the best time to cross was just before the sun came up",
	"she put both hands on the wheel and told us to hold on",
	"we lost a good deal of cargo in the storm that autumn",
	"a doctor and a priest once got into a fight over the last seat",
	"he said that a man who cannot swim should not work on the water",
	"the old map showed an island where there is only sand now",
	"i was nine years old when they let me ring the bell",
	"they never did find out who took the box of silver spoons",
	"on the coldest days we had to break the ice with an iron bar",
	"people waved at us from the windows of the train",
	"you learn a lot about a person when the boat begins to leak",
	"the cook kept a pig in the yard and fed it on whatever was left",
	"we had one blanket between the two of us and it was wet",
	"by the time the letter came everyone had gone to the city",
	"my sister married the man who painted the numbers on the side",
	"in the spring the whole field behind the house was under water",
	"the horse stepped off the ramp and walked home by itself",
	"he could tell from the smell of the smoke what kind of wood it was",
	"at night you heard nothing but the wind and the pump",
	"the council wanted a bridge and the council got a bridge",
	"i kept the last ticket and it is still in my pocket",
	"some days there was only one passenger and we went all the same",
	"it must have been around eight when the light went out",
}

// heard is how many percent of the words of texts the open language model finds.
func heard(t *testing.T, texts []string, sound func(i int) []float64) float64 {
	t.Helper()
	dir := t.TempDir()
	for i := range texts {
		writeRaw(t, filepath.Join(dir, fmt.Sprintf("u%02d.raw", i)), sound(i))
	}
	hits, words := 0, 0
	for i, hyp := range recognise(t, dir, len(texts), "-lm", model+"en-us.lm.bin") {
		k, n := right(texts[i], hyp), len(strings.Fields(texts[i]))
		if k < n {
			t.Logf("%q heard as %q", texts[i], hyp)
		}
		hits, words = hits+k, words+n
	}
	return 100 * float64(hits) / float64(words)
}

// TestOpenVocabulary puts talkers beside people: the same words, the same recogniser, its
// general language model. Then sentences of our own, as they are said about the ferry.
// Scores of some 400 words wander by two or three points with the seed alone.
func TestOpenVocabulary(t *testing.T) {
	needs(t, "pocketsphinx_batch", model+"en-us/mdef", model+"en-us.lm.bin", "ffmpeg")
	var texts []string
	for _, r := range readers {
		if _, err := os.Stat(r.path()); err != nil {
			t.Fatal(speechset.Absent(r.path()))
		}
		texts = append(texts, r.text)
	}
	people := heard(t, texts, func(i int) []float64 { return readers[i].recorded(t) })
	t.Logf("people: %.1f %% of the readers' words", people)
	if people < 75 {
		t.Errorf("the recogniser finds %.1f %% of what people say: recordings or recogniser are not what they were", people)
	}
	for _, tk := range chosen(t) {
		t.Run(tk.Name, func(t *testing.T) {
			t.Parallel()
			say := talkerSays(t, tk.Name, voice.Normal, 0)
			said := func(texts []string, seed uint64) func(int) []float64 {
				return func(i int) []float64 { return say(texts[i]+".", seed+uint64(i)) }
			}
			same, own := heard(t, texts, said(texts, 700)), heard(t, news, said(news, 900))
			t.Logf("%s: %.1f %% of the readers' words (people %.1f %%), %.1f %% of new sentences", tk.Name, same, people, own)
			least := 60.0
			if tk.Child {
				least = 55
			}
			trust.Record(t, trust.Check{Area: "talkers", What: tk.Name + ": words right with an open language model, same words as people",
				Source: fmt.Sprintf("pocketsphinx, en-us model; people reading: %.0f %%", people), Got: same, Expected: least, Op: ">=", Unit: "%"})
			trust.Record(t, trust.Check{Area: "talkers", What: tk.Name + ": words right with an open language model, new sentences",
				Source: "pocketsphinx, en-us model; a floor, since nobody has read these", Got: own, Expected: least, Op: ">=", Unit: "%"})
		})
	}
}
