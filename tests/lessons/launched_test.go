package lessons

import (
	"bytes"
	"encoding/json"
	"testing"
	"time"

	"gainwright/lessons/cmi5"
	"gainwright/lessons/xapi"
)

// launched are the statements of visits from a learning system to the same lessons, one a
// line.
func launched(t testing.TB) (out [][]byte) {
	t.Helper()
	ls, rs := results(t)
	for i, r := range rs {
		at, err := cmi5.ReadLaunch(`{"objectType":"Agent","name":"Ida","account":{"homePage":"https://school.example","name":"77"}}`, "760e3480-ba55-4991-94b0-01820dbd23a2", "https://school.example/au/7",
			[]byte(`{"launchMode":"Normal","moveOn":"Passed","masteryScore":0.7,"contextTemplate":{"contextActivities":{"grouping":[{"id":"https://school.example/publisher"}]},"extensions":{"https://w3id.org/xapi/cmi5/context/extensions/sessionid":"s1"}}}`))
		if err != nil {
			t.Fatal(err)
		}
		s := cmi5.NewSession(ls[i], at, nil, time.Now)
		all := append(s.Stands(r.Progress, nil, r).Statements, s.End().Statements...)
		if len(all) < 5 {
			t.Errorf("%s: %d statements", ls[i].ID, len(all))
		}
		b, err := xapi.File(all)
		if err != nil {
			t.Fatal(err)
		}
		for _, line := range bytes.Split(bytes.TrimSpace(b), []byte("\n")) {
			if !json.Valid(line) {
				t.Errorf("%s", line)
			}
			out = append(out, line)
		}
	}
	return out
}
