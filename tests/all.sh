#!/usr/bin/env bash
# Everything that can be checked, on one machine: installs what is missing (as
# root, Debian; but Go), then runs unit tests, the race detector, the window, the
# browser, the programs for people without Go and the comparisons with references
# outside this project.
#
#   bash tests/all.sh              everything but the long tables
#   bash tests/all.sh unit race    only these parts, and what they need
#   bash tests/all.sh long         the long tables, which "everything" leaves out
#
# Parts, in order: static unit wasm race window full release trust, and long when
# asked for. Pictures and tables are kept in artefacts/.
set -u
cd "$(dirname "$0")/.." || exit 1
here=$PWD
mkdir -p artefacts
parts=("$@")
[ ${#parts[@]} -gt 0 ] || parts=(static unit race wasm window full release trust)
for p in "${parts[@]}"; do
  case $p in
    static | unit | race | wasm | window | full | release | trust | long) ;;
    *) echo "there is no part $p; there are static unit race wasm window full release trust long" >&2; exit 2 ;;
  esac
done
if ! command -v go >/dev/null; then
  echo "no Go in PATH: see https://go.dev/dl/; go.mod says which version" >&2
  exit 2
fi
failed=()
started=$SECONDS

part() { # name: is it asked for?
  local p
  for p in "${parts[@]}"; do [ "$p" = "$1" ] && return 0; done
  return 1
}
step() { # name command...: run it, remember whether it failed
  local name=$1 t=$SECONDS
  shift
  printf '\n=== %s\n' "$name"
  if "$@"; then
    printf -- '--- %s: passed in %d s\n' "$name" $((SECONDS - t))
  else
    printf -- '--- %s: FAILED after %d s\n' "$name" $((SECONDS - t))
    failed+=("$name")
  fi
}

# What each part needs beside Go, as Debian names it.
c="gcc libc6-dev"
declare -A needs=(
  [race]="$c"
  [wasm]="nodejs"
  [window]="$c xvfb xauth libgl1-mesa-dev libgl1-mesa-dri libxcursor-dev libxi-dev libxinerama-dev libxrandr-dev
    libxxf86vm-dev libasound2-dev pkg-config"
  [full]="$c chromium nodejs npm ffmpeg sox libebur128-dev espeak-ng pocketsphinx pocketsphinx-en-us libxml2-utils"
)
needs[release]="nodejs npm"
needs[long]="${needs[full]} python3-numpy"
# Recordings of people, which the long tables use: unpacked from these, not installed.
recordings="pocketsphinx-testdata codec2-examples alsa-utils asterisk-core-sounds-en-g722 scratch
  hedgewars-data ktuberling-data klettres-data fillets-ng-data-cs fillets-ng-data-nl asterisk-prompt-it-menardi-wav
  asterisk-core-sounds-es-g722 asterisk-core-sounds-fr-g722 asterisk-core-sounds-it-g722 asterisk-core-sounds-ru-g722 tuxpaint-stamps-default gcin-voice"
packages=$(for p in "${parts[@]}"; do echo "${needs[$p]:-}"; done | xargs -n1 | sort -u)
have() { # package: is it there? Node is often installed from elsewhere.
  case $1 in
    nodejs) command -v node >/dev/null ;;
    npm) command -v npm >/dev/null ;;
    *) dpkg-query -W -f='${Status}' "$1" 2>/dev/null | grep -q 'install ok installed' ;;
  esac
}
install_missing() {
  local missing=() p
  for p in $packages; do have "$p" || missing+=("$p"); done
  [ ${#missing[@]} -eq 0 ] && { echo "all packages are there"; return 0; }
  if ! command -v apt-get >/dev/null; then
    echo "this is no Debian; packages of these names, or what holds the same, are needed: ${missing[*]}" >&2
    return 1
  fi
  if [ "$(id -u)" != 0 ]; then
    echo "missing packages; as root: apt-get install ${missing[*]}" >&2
    return 1
  fi
  echo "installing: ${missing[*]}"
  { apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq "${missing[@]}"; } >artefacts/apt.log 2>&1 ||
    { tail -5 artefacts/apt.log >&2; return 1; }
}
unpacked() { # dir: unpack the packages of recordings there, unless they are
  local p
  mkdir -p "$1/deb" || return 1
  for p in $recordings; do
    [ -e "$1/deb/$p" ] && continue
    { rm -f "$1"/deb/"$p"_*.deb && (cd "$1/deb" && apt-get download -qq "$p") &&
      dpkg-deb -x "$1"/deb/"$p"_*.deb "$1" && rm "$1"/deb/"$p"_*.deb && touch "$1/deb/$p"; } || return 1
  done
}
# What only reckons goes on beside what waits much, for a browser or a window, and with less
# right to a processor. What it says comes when it is waited for; it ends with this script.
beside=
begin() { # command...
  set -m # a group of processes of its own, which can be ended as a whole
  (
    renice -n 10 -p "$BASHPID" >/dev/null
    "$@"
  ) >artefacts/beside.log 2>&1 &
  beside=$!
  set +m
}
ended() {
  local status=0
  wait "$beside" || status=$?
  beside=
  cat artefacts/beside.log
  return $status
}
trap '[ -z "$beside" ] || kill -- "-$beside" 2>/dev/null' EXIT
trap 'exit 130' INT
trap 'exit 143' TERM
formatted() {
  local f
  f=$(gofmt -l cmd sim scenes sounds lessons tests 2>/dev/null)
  [ -z "$f" ] || { echo "not gofmt-clean: $f"; return 1; }
}
# What is compiled is compiled once, for vet, tests and releases alike: file names trimmed
# as in a release, and for the browser with the flags of the scene itself.
GOFLAGS="$(go env GOFLAGS) -trimpath"
export GOFLAGS
js() {
  GOFLAGS="$GOFLAGS$(printf ' -gcflags=%s' $(<cmd/gainwright/internal/serve/gcflags.txt))" \
    GOOS=js GOARCH=wasm PATH="$PATH:$(go env GOROOT)/lib/wasm" "$@"
}
# Where the whole is vetted by itself, its tests need not be vetted once more.
vetted=()
part static && vetted=(-vet=off)

# How long one package may take: several times what the slowest needs on two busy
# cores, since a machine may be slower. What hangs is told earlier, by the deadline that
# each wait has.
patience=40m

# Talk by the minute, for each talker and effort, takes minutes to make; so does a general
# language model to listen to, and what tells those who tune the voices which sounds are
# misheard. Recordings of people are compared there, too.
minutes='TestPhoneReport|TestFiveMinutes|TestConversation|TestOpenVocabulary|OfPeople'
# What measures and hardly judges, how soon a picture comes, how late a sound, how much
# memory minutes take; and what takes minutes: three students in two lessons
# each, a microphone that is a minute's file, pictures of every scene in use for people to look at.
# A first visit by keyboard is the one by the tree, by hands that go round the whole bench elsewhere.
measures='TestFirstPicture|TestSoundFollowsSettings|TestMemoryDoesNotGrow|TestScenes|TestStudents|TestMicrophone|TestFirstVisit/keyboard|TestSizes|TestSoundDoesNotBreak'

checks=$here/artefacts/checks.jsonl
if part trust; then
  rm -f "$checks"
  export GAINWRIGHT_TRUST=$checks
fi

[ -z "$packages" ] || step "packages" install_missing
if part long && [ -z "${GAINWRIGHT_SPEECH_ROOT:-}" ]; then
  export GAINWRIGHT_SPEECH_ROOT=${XDG_CACHE_HOME:-$HOME/.cache}/gainwright/recordings
  step "recordings" unpacked "$GAINWRIGHT_SPEECH_ROOT"
fi
if part static; then
  step "gofmt" formatted
  step "go vet" env CGO_ENABLED=0 go vet ./...
  step "go vet, browser build" js go vet ./scenes/... ./sounds/... ./cmd/gainwright-scene
fi
if part unit; then step "unit tests, bare Go" env CGO_ENABLED=0 go test "${vetted[@]}" -count=1 -timeout $patience ./...; fi
# Whole, where it is quick, but for what reckons long in one goroutine; elsewhere the tests of
# what several share. The rest comes with the long tables.
raced() {
  env -u GAINWRIGHT_TRUST go test "${vetted[@]}" -short -race -timeout $patience -skip 'TestResample|TestDamagedTones|TestBoundedTime' \
    ./sounds ./sounds/scenario ./scenes/ui/... || return
  env -u GAINWRIGHT_TRUST go test "${vetted[@]}" -short -race -timeout $patience \
    -run 'Session|Stream|Race|Concurrent|Goroutine|Sliced|Cancel|Stopped|Workers|Cores|Host|Deterministic' ./sim/plan ./sim/repair ./scenes/bench ./scenes/mend ./scenes/twin
}
if part wasm; then
  step "the browser's build under node" env -u GAINWRIGHT_TRUST bash -c "$(declare -f js); js go test -short -timeout $patience ./sim ./sim/meter ./scenes/ink/... ./scenes/raster ./scenes/ui && js go test -short -timeout $patience -run 'Deterministic|ClosedForms|Updating|Ceiling|Params' ./sim/plan"
fi
if part race; then begin raced; fi
if part window; then
  step "go vet, window" go vet -tags window ./scenes/window/... ./sounds/speaker/... ./tests/window/... ./cmd/gainwright-scene
  step "window and sound card" xvfb-run -a -s "-screen 0 1440x900x24 -noreset" go test -count=1 -tags window -p 1 -timeout $patience ./scenes/window/... ./sounds/speaker/... ./tests/window/...
fi
if part race; then step "race detector" ended; fi
if part full; then
  # The references, and the recogniser, which listens for minutes.
  begin env CGO_ENABLED=0 go test -count=1 -tags full -timeout $patience -skip "$minutes" ./tests/voice ./tests/audio ./tests/meter
  step "in a browser" env CGO_ENABLED=0 go test -count=1 -tags full -timeout $patience -skip "$measures" ./tests/browser
fi
if part release; then
  step "programs for people without Go" env CGO_ENABLED=0 go test -count=1 -tags full -timeout $patience -skip TestSameBytes ./tests/release
fi
if part full; then
  step "against references, and a recogniser listens" ended
  step "commands against references" env CGO_ENABLED=0 go test -count=1 -tags full -timeout $patience -run Against ./tests/cli
fi
if part long; then
  step "go vet for windows" env CGO_ENABLED=0 GOOS=windows go vet ./cmd/gainwright/...
  step "race detector, everything" env -u GAINWRIGHT_TRUST go test -short -race -timeout 2h ./...
  step "unit tests at length" env CGO_ENABLED=0 GAINWRIGHT_LONG=1 go test -count=1 -timeout 1h \
    -run 'TestHourFile|TestFindsLaughs|TestPresentEveryScene|TestPhoneThumbs|TestMonkey|TestExplained|TestOneselfIsTheGuest|TestOwnVoiceInALesson|TestStepsOnAPhone|TestLessonLayout|TestPlanLayout|TestPlanOnOwnRecorder|TestLook' \
    ./scenes ./scenes/gain ./scenes/lesson ./scenes/mine ./scenes/plan ./scenes/practice ./scenes/recorder ./sim/plan/hear
  step "minutes of talk" go test -count=1 -tags full -timeout 2h -run "$minutes" ./tests/voice
  step "plans on learnt recorders" env CGO_ENABLED=0 go test -count=1 -tags full -timeout 30m -run LearntRecorder ./cmd/gainwright/internal/plancmd
  # Long tables and sessions by brute force; half an hour and more.
  step "emulated recorders" go test -count=1 -tags full -timeout 2h -v ./tests/recorder
  step "planning, diagnosis, repair and lessons at length" go test -count=1 -tags full -p 1 -timeout 4h \
    ./tests/plan/... ./tests/diagnose/... ./tests/repair/... ./tests/lessons/...
  step "programs for more systems, and one commit twice" env GAINWRIGHT_LONG=1 go test -count=1 -tags full -timeout 2h ./tests/release
  step "a microphone's clock for ten minutes" env CGO_ENABLED=0 go test -count=1 -tags full -timeout 10m -v -run TestDriftForTenMinutes ./sounds/microphone
  step "what a microphone brings, of people" env CGO_ENABLED=0 go test -count=1 -tags full -timeout 1h -v ./tests/microphone
  # Five minutes of sound, ten of memory: on a machine that does nothing else.
  step "sound, memory and pictures at length, in a browser" env GAINWRIGHT_LONG=1 go test -count=1 -tags full -timeout 2h -v \
    -run "TestSoundOutlastsStalls|TestPhoneScenes|TestRecorderInTheBrowser|$measures" ./tests/browser
fi
if part trust; then
  step "page of checks" go run ./tests/trust/page --in "$checks" --out artefacts/TRUST.md
fi

printf '\n%d s in all. ' $((SECONDS - started))
if [ ${#failed[@]} -gt 0 ]; then
  printf 'Failed:'
  printf ' [%s]' "${failed[@]}"
  echo
  exit 1
fi
echo "Everything passed."
