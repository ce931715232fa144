#!/bin/bash
# How fast a long file is read for integrated loudness, range and true peak,
# beside ffmpeg's ebur128 filter and a minimal C program over libebur128, on one
# core and in one run. Prints processor times and their ratios.
#
#   tests/meter/speed.sh [MINUTES] [speech|clipped]     default: 60 speech
#   tests/meter/speed.sh command [MINUTES]              default: 10
#
# The second form times the command meter as a user runs it, with its diagnosis, on
# talk, dense noise and tones, stereo and mono, beside ffmpeg's ebur128 filter, the
# lesser of two runs each; BEFORE=PROGRAM also times another build of the command.
#
# Needs ffmpeg, a C compiler, libebur128 with headers, and 12 MB of temporary
# space a minute. libebur128 reads at most the first ten minutes; its time is
# scaled up.
set -euo pipefail
cd "$(dirname "$0")"
command=
if [ "${1:-}" = command ]; then
  command=1
  shift
  set -- "${1:-10}"
fi
minutes=${1:-60}
kind=${2:-speech}
tools="ffmpeg go"
[ -n "$command" ] || tools="$tools ${CC:-cc}"
for tool in $tools; do
  command -v "$tool" >/dev/null || { echo "speed.sh: needs $tool" >&2; exit 2; }
done
dir=$(mktemp -d)
trap 'rm -rf "$dir"' EXIT
go build -o "$dir/speed" ./speed
pin=
if command -v taskset >/dev/null; then pin="taskset -c 0"; fi

# processor seconds of a command; what it prints goes to standard error
seconds() {
  local TIMEFORMAT='%U %S'
  { time "$@" >"$dir/out" 2>"$dir/err"; } 2>"$dir/time" || { cat "$dir/err" >&2; exit 1; }
  awk '{printf "%.3f", $1 + $2}' "$dir/time"
}

by_ffmpeg() {
  seconds $pin ffmpeg -nostdin -hide_banner -nostats -threads 1 -i "$dir/x.wav" -filter_threads 1 -af ebur128=peak=true:framelog=verbose -f null -
}

lesser() {
  local a b
  a=$("$@")
  b=$("$@")
  awk "BEGIN{print ($a < $b) ? $a : $b}"
}

if [ -n "$command" ]; then
  go build -o "$dir/gainwright" ../../cmd/gainwright
  for kind in talk noise tones; do
    for channels in 2 1; do
      "$dir/speed" write "$dir/x.wav" "$minutes" "$kind" "$channels"
      cat "$dir/x.wav" >/dev/null
      ff=$(lesser by_ffmpeg)
      for program in "$dir/gainwright" ${BEFORE:+"$BEFORE"}; do
        ours=$(GOMAXPROCS=1 lesser seconds $pin "$program" meter --json "$dir/x.wav")
        name=meter
        if [ "$program" != "$dir/gainwright" ]; then name=before; fi
        awk "BEGIN{printf \"%-6s %d min, %d channels: %s %.2f s, ffmpeg %.2f s, ffmpeg / %s %.2f\n\", \"$kind\", $minutes, $channels, \"$name\", $ours, $ff, \"$name\", $ff / $ours}"
      done
    done
  done
  exit
fi

"${CC:-cc}" -O2 -o "$dir/reference" testdata/speed.c -lebur128 -lm ||
  { echo "speed.sh: needs libebur128 with headers (Debian: libebur128-dev)" >&2; exit 2; }
echo "$minutes minutes of $kind, 48 kHz stereo, 16 bit"
"$dir/speed" write "$dir/x.wav" "$minutes" "$kind"

cat "$dir/x.wav" >/dev/null # into the cache, the same for all
ours=$(GOMAXPROCS=1 seconds $pin "$dir/speed" read "$dir/x.wav")
echo "gainwright   $ours s    $(cat "$dir/out")"
ff=$(by_ffmpeg)
echo "ffmpeg       $ff s    $(grep -A20 Summary "$dir/err" | awk '/I:/{i=$2} /LRA:/{l=$2} /Peak:/{p=$2} END{print "I " i " LUFS  LRA " l " LU  TP " p " dBTP"}')"
part=$((minutes < 10 ? minutes : 10))
lib=$(seconds $pin "$dir/reference" "$dir/x.wav" $((part * 60 * 48000)) 2 48000)
lib=$(awk "BEGIN{printf \"%.3f\", $lib * $minutes / $part}")
echo "libebur128   $lib s    $(cat "$dir/out") (from the first $part minutes)"
awk "BEGIN{printf \"ffmpeg / gainwright     %.2f\nlibebur128 / gainwright %.2f\n\", $ff / $ours, $lib / $ours}"
