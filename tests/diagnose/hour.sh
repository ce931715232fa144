#!/usr/bin/env bash
# An hour of 48 kHz stereo, clipped talk on one channel: how long gainwright meter
# takes on one core (processor seconds), and how much memory.
#
#   bash tests/diagnose/hour.sh [DIR for 700 MB]
set -eu
cd "$(dirname "$0")/../.."
dir=$(mktemp -d "${1:-/tmp}/hour.XXXXXX")
trap 'rm -rf "$dir"' EXIT
go build -o "$dir/gainwright" ./cmd/gainwright
"$dir/gainwright" take --gain 48 --quiet --out "$dir/t"
ffmpeg -v error -stream_loop -1 -t 3600 -i "$dir/t/A.wav" -af "pan=stereo|c0=c0|c1=0.4*c0" -c:a pcm_s16le "$dir/hour.wav"
ffmpeg -v error -stream_loop -1 -t 360 -i "$dir/t/A.wav" -af "pan=stereo|c0=c0|c1=0.4*c0" -c:a pcm_s16le "$dir/six.wav"
go build -o "$dir/usage" ./tests/diagnose/usage
for f in six hour; do
  GOMAXPROCS=1 "$dir/usage" "$dir/gainwright" meter --quiet --json "$dir/$f.wav"
done
