#!/bin/sh
# Measures take on recordings of 1, 10 and 20 minutes on one core: times real time
# by processor time (machines are shared), and the peak of memory, which must not
# grow with the length. Needs GNU time as /usr/bin/time.
#
#	tests/cli/speed.sh
set -eu
cd "$(dirname "$0")/../.."
dir=$(mktemp -d)
trap 'rm -rf "$dir"' EXIT
go build -o "$dir/gainwright" ./cmd/gainwright
go build -o "$dir/makewav" ./tests/cli/makewav
export GOMAXPROCS=1
for command in "take" "meter"; do
	for minutes in 1 10 20; do
		wav="$dir/$minutes.wav"
		[ -e "$wav" ] || "$dir/makewav" -seconds $((minutes * 60)) "$wav"
		case $command in
		take) set -- take "$wav" --gain 44 --out "$dir/out" --force --quiet ;;
		meter) set -- meter "$wav" --json ;;
		esac
		/usr/bin/time -f '%e %U %S %M' -o "$dir/time" "$dir/gainwright" "$@" >/dev/null
		awk -v c="$command" -v m="$minutes" '{ printf "%-6s %2d min: %6.2f s wall, %6.2f s processor, %5.0f times real time, peak %5.1f MB\n", c, m, $1, $2+$3, m*60/($2+$3), $4/1024 }' "$dir/time"
	done
done
