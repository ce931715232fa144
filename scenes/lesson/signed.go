package lesson

import (
	"encoding/json"
	"fmt"

	"gainwright/lessons/keys"
	"gainwright/lessons/model"
	"gainwright/scenes/kit"
)

const keyKept = "student.key" // where the last link's key is kept

// signer is whose results a link's key signs.
type signer struct {
	Name string `json:"name"`
	Seed uint64 `json:"seed"`
	Key  string `json:"key"`
}

// keepKey keeps the key that a link brings, and what is wrong with it.
func keepKey(h kit.Host, l *model.Link) error {
	if l.Key == "" {
		return nil
	}
	if _, err := keys.ReadStudent(l.Key); err != nil || l.Seed == nil || l.Name == "" {
		return fmt.Errorf("the link is not whole: its key signs no result. Open it again as you were given it")
	}
	b, err := json.Marshal(signer{l.Name, *l.Seed, l.Key})
	if err == nil {
		h.Store(keyKept, string(b))
	}
	return err
}

// key signs the result of who is called so; nil if no link brought one for this name and
// the lesson's seed, and then why tells whose the one is that it brought.
func (s *Scene) key(name string) (k *keys.Key, why string) {
	var by signer
	if s.given.by != nil || json.Unmarshal([]byte(s.shell.Host().Load(keyKept)), &by) != nil {
		return nil, ""
	}
	k, err := keys.ReadStudent(by.Key)
	if err != nil || by.Seed != s.r.Progress().Seed {
		return nil, ""
	}
	if model.PlainWords(by.Name) != model.PlainWords(name) {
		return nil, "Your link's key is for the name " + by.Name + ": under another name the result is not signed with it."
	}
	return k, ""
}

const saveHint = "The file to hand in: answers, settings, readings, times, and a signature over them."

// signing says how the result that is saved now would be signed; "" where no key is there.
func (s *Scene) signing() string {
	switch k, why := s.key(model.ReadName(s.name.Text())); {
	case k != nil:
		return "Signed with the key of your link."
	default:
		return why
	}
}
