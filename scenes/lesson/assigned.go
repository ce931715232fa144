package lesson

import (
	"gainwright/lessons/model"
	"gainwright/lessons/run"
	"gainwright/scenes/kit"
)

// assigned is a lesson that a learning system has the user take: it is the only one,
// begins by itself, and is kept and told of there. The zero value is none.
type assigned struct {
	by    kit.Assigner // nil: the user is free
	as    *kit.Assignment
	begun bool // at this visit
	over  bool // an attempt was finished at this visit
}

// kept is the progress of a lesson at an earlier visit, or empty.
func (a *assigned) kept(h kit.Host, l *model.Lesson) string {
	if a.by != nil {
		return string(a.as.Saved)
	}
	return h.Load(storeKey(l))
}

// keep keeps the progress, and tells who has assigned the lesson how it stands.
func (a *assigned) keep(h kit.Host, r *run.Runner, saved []byte) {
	if a.by == nil {
		h.Store(storeKey(r.Lesson()), string(saved))
		return
	}
	a.as.Saved = saved
	st := kit.Standing{Progress: r.Progress(), Saved: saved}
	if r.State() == run.Finished {
		st.Result, _ = r.Result(nil) // it is finished
	}
	a.by.Stands(st)
}

// noMore tells why a finished lesson cannot be begun anew, or "".
func (a *assigned) noMore() string {
	if a.by != nil && a.as.Once && a.over {
		return "one attempt at each visit: leave, and open the lesson from your course again"
	}
	return ""
}

// handIn says what becomes of the result.
func (a *assigned) handIn() string {
	switch {
	case a.by == nil || !a.as.Records:
	case a.as.Passed:
		return "You have passed, which stands in your course. You can also save this result: it can be checked by running your takes again."
	default:
		return "Your course has been told. You can also save the result: it can be checked by running your takes again."
	}
	return "Save the result to hand it in: it can be checked by running your takes again."
}
