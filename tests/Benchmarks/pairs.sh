#!/usr/bin/env bash
# Compares two published programs: pairs.sh OLD NEW [N]. Runs service.sh and live.sh --short on each in turn, N times
# (15 where left out; at least 6), and prints for each figure the median of the N ratios new/old with an interval that
# holds it at 95 % whatever the distribution (order statistics; sign test). "slower" where the whole interval lies
# above 1.05: the exit code is 1 then. --service-alone and --live-alone leave the other out; --kept FOLDER keeps what
# was measured, and goes on after what is there.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
folders=()
service=true
live=true
kept=
while [ $# -gt 0 ]; do
  case $1 in
    --service-alone) live=false ;;
    --live-alone) service=false ;;
    --kept) mkdir -p "$2"; kept=$(cd "$2" && pwd); shift ;;
    --help | -h) sed -n '2,7s/^# //p' "$0"; exit 0 ;;
    *) folders+=("$1") ;;
  esac
  shift
done
[ ${#folders[@]} -ge 2 ] ||
  { echo "pairs.sh: name the old and the new program's folder. --help says more." >&2; exit 2; }
old=$(cd "${folders[0]}" && pwd)
new=$(cd "${folders[1]}" && pwd)
pairs=${folders[2]:-15}
if [ -z "$kept" ]; then
  kept=$(mktemp -d)
  trap 'rm -rf "$kept"' EXIT
fi

measure() {
  [ ! -e "$kept/$1-$2" ] || return 0
  : > "$kept/part"
  if $service; then "$here/service.sh" --published "$3" --runs 3 --figures "$kept/part" > /dev/null; fi
  if $live; then "$here/live.sh" --short --published "$3" --figures "$kept/part" > /dev/null; fi
  mv "$kept/part" "$kept/$1-$2"
}

dotnet build "$here/../../Incubation.sln" -c Release --nologo -v quiet >&2
export INCUBATION_BUILT=1
for ((pair = 1; pair <= pairs; pair++)); do
  echo "pair $pair of $pairs" >&2
  # Whatever else changes in the course of a pair meets the two in turn.
  if ((pair % 2)); then
    measure old $pair "$old"
    measure new $pair "$new"
  else
    measure new $pair "$new"
    measure old $pair "$old"
  fi
done

awk -F '\t' -f "$here/pairs.awk" pairs="$pairs" kept="$kept" /dev/null
