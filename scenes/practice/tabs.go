package practice

const (
	practiceWords = "The practice has gone on in another tab; here is its next guest."
	practiceLost  = "The practice has gone on in another tab meanwhile: this conversation was not entered."
)

// Rolls says what leaving does to the conversation.
func (s *Scene) Rolls() string {
	if s.stage.Rolling() {
		return "break the conversation off: it counts as it would have gone on"
	}
	return ""
}

// Elsewhere notices that another tab has a guest more.
func (s *Scene) Elsewhere(key string) {
	s.foreign = s.foreign || key == "practice" && s.pr != nil
}

// Agree takes over the other tab's history.
func (s *Scene) Agree(shown bool) {
	if !s.foreign || s.job != nil || s.stage.Rolling() {
		return
	}
	s.foreign, s.pr, s.out = false, nil, nil
	if !shown {
		return // the scene begins with what is stored when it is shown
	}
	words := practiceWords
	if s.unentered {
		words = practiceLost
	}
	s.unentered = false
	s.stage.Show(nil)
	s.shell.Bench().StartCheck()
	s.start()
	s.shell.Notify(words)
}
