#!/usr/bin/env bash
# Prints how fast the engine is, natively and in the browser's build under node,
# as multiples of real time at 48 kHz on one core. Run it on a quiet machine.
set -eu
cd "$(dirname "$0")/.."
export GOMAXPROCS=1
echo "== a full strip with all readings (limiter off, after; every station, both limiters, two ranges)"
echo "-- natively"
go test -run xxx -bench 'BenchmarkStrip' -benchtime 3s ./sim | grep -E '^Bench'
if command -v node >/dev/null; then
  echo "-- browser build under node"
  GOOS=js GOARCH=wasm PATH="$PATH:$(go env GOROOT)/lib/wasm" go test -run xxx -bench 'BenchmarkStrip' -benchtime 2s ./sim | grep -E '^Bench'
fi
echo "== talkers"
go test -run xxx -bench . -benchtime 1s ./sounds/voice | grep -E '^Bench'
if command -v node >/dev/null; then
  GOOS=js GOARCH=wasm PATH="$PATH:$(go env GOROOT)/lib/wasm" go test -run xxx -bench . -benchtime 1s ./sounds/voice | grep -E '^Bench'
fi
echo "== a recording through the take command: tests/cli/speed.sh"
bash tests/cli/speed.sh
echo "== reading loudness, range and true peak, beside ffmpeg and libebur128: tests/meter/speed.sh"
bash tests/meter/speed.sh "${MINUTES:-60}"
echo "== the meter command beside ffmpeg: tests/meter/speed.sh command"
bash tests/meter/speed.sh command "${MINUTES:-10}"
