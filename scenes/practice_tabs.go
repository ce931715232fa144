package scenes

const (
	practiceWords = "The practice has gone on in another tab; here is its next guest."
	practiceLost  = "The practice has gone on in another tab meanwhile: this conversation was not entered."
)

// Rolls says what leaving does to the conversation.
func (s *practiceScene) Rolls() string {
	if s.stage.rolling() {
		return "break the conversation off: it counts as it would have gone on"
	}
	return ""
}

// Elsewhere notices that another tab has a guest more.
func (s *practiceScene) Elsewhere(key string) {
	s.foreign = s.foreign || key == "practice" && s.pr != nil
}

// Agree takes over the other tab's history.
func (s *practiceScene) Agree(shown bool) {
	if !s.foreign || s.job != nil || s.stage.rolling() {
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
	s.stage.show(nil)
	s.p.Bench().StartCheck()
	s.start()
	s.p.Tell(words)
}
