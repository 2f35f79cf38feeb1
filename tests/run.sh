#!/usr/bin/env bash
# Runs every test on a clean clone, installs what they need, and ends with the line 'N passed, N failed'.
# Longer runs have commands of their own: see DEVELOPERS.md.
set -uo pipefail
cd "$(dirname "$0")/.."
configuration=${CONFIGURATION:-Release}

# Nothing here runs for long: what the runtime would measure to compile itself better never pays.
export DOTNET_TieredPGO=0

# The browser without a window's parts takes less than half of the processor; the whole one does too.
if ! command -v chromium-headless-shell >/dev/null && command -v apt-get >/dev/null; then
  echo "Installing Debian's chromium-headless-shell for the browser tests..."
  asroot=""; [ "$(id -u)" = 0 ] || asroot="sudo"
  install() {
    $asroot apt-get update -q &&
      DEBIAN_FRONTEND=noninteractive $asroot apt-get install -q -y --no-install-recommends chromium-headless-shell
  }
  if ! install >/tmp/incubation-chromium.log 2>&1 && ! command -v chromium >/dev/null; then
    tail -n 5 /tmp/incubation-chromium.log
    echo "chromium could not be installed: install it and run this again."
    exit 1
  fi
fi
if [ -z "${CHROMIUM:-}" ] && command -v chromium-headless-shell >/dev/null; then
  CHROMIUM=$(command -v chromium-headless-shell)
  export CHROMIUM
fi

# Pairs of serial lines for the readers' tests; without it those say that they were left out.
if ! command -v socat >/dev/null && command -v apt-get >/dev/null; then
  echo "Installing socat for the tests of serial lines..."
  asroot=""; [ "$(id -u)" = 0 ] || asroot="sudo"
  { $asroot apt-get update -q && DEBIAN_FRONTEND=noninteractive $asroot apt-get install -q -y \
    --no-install-recommends socat; } >/tmp/incubation-socat.log 2>&1 ||
    echo "socat could not be installed: the tests of serial lines are left out."
fi

# It runs the examples of deploy/README.md.
if ! command -v python3 >/dev/null && command -v apt-get >/dev/null; then
  echo "Installing python3 for the tests of examples..."
  asroot=""; [ "$(id -u)" = 0 ] || asroot="sudo"
  { $asroot apt-get update -q && DEBIAN_FRONTEND=noninteractive $asroot apt-get install -q -y \
    --no-install-recommends python3; } >/tmp/incubation-python.log 2>&1 || tail -n 5 /tmp/incubation-python.log
fi

log=$(mktemp)
modules=$(mktemp)
# One compiler serves all projects of this run, is counted, and is gone at its end.
compiler=incubation-tests-$$
compiler_pids() { pgrep -f "VBCSCompiler.*-pipename:$compiler" 2>/dev/null; }
compiler_seconds() {
  local ticks=0 pid
  for pid in $(compiler_pids); do
    [ -r "/proc/$pid/stat" ] && ticks=$((ticks + $(sed 's/.*) //' "/proc/$pid/stat" | awk '{print $12 + $13}')))
  done
  echo $((ticks / $(getconf CLK_TCK)))
}
end() {
  [ -n "${precompiling:-}" ] && kill "$precompiling" 2>/dev/null
  for pid in $(compiler_pids); do kill "$pid" 2>/dev/null; done
  rm -f "$log" "$modules"
}
trap end EXIT
trap 'exit 130' INT TERM

# What the lock files name, and nothing else.
dotnet restore Incubation.sln --locked-mode --nologo -v quiet ||
  { echo "The packages are not those of the lock files: see DEVELOPERS.md, Dependencies."; exit 1; }
dotnet build Incubation.sln -c "$configuration" --no-restore --nologo -v quiet \
  -p:UseSharedCompilation=true -p:SharedCompilationId="$compiler" || { echo "The build failed."; exit 1; }
compiling=$(compiler_seconds)
for pid in $(compiler_pids); do kill "$pid" 2>/dev/null; done
./tests/precompile.sh "$configuration" &
precompiling=$!
# Usings, names and style are the build's to judge; this is for spaces and lines.
dotnet format whitespace . --folder --verify-no-changes \
  --exclude '**/Migrations/**' '**/bin/**' '**/obj/**' '**/node_modules/**' \
  || { echo "The code is not formatted: run 'dotnet format whitespace . --folder'."; exit 1; }

echo "The browser's modules:"
./tests/Browser.Modules/run.sh 2>&1 | tee "$modules"
modules_status=${PIPESTATUS[0]}
wait "$precompiling"
dotnet test --solution Incubation.sln -c "$configuration" --no-build --no-progress 2>&1 | tee "$log"
status=${PIPESTATUS[0]}

# The runners' closing summaries have a line for each count.
count() { local found; found=$(sed -nE "s/^ *$1: ([0-9]+).*/\1/p" "$2" | tail -n 1); echo "${found:-0}"; }
tested=$(count succeeded "$log")
passed=$((tested + $(count succeeded "$modules")))
failed=$(($(count failed "$log") + $(count failed "$modules")))
# What failed stands at the end, where the end is all that is kept of a run.
if [ "$failed" != 0 ]; then
  echo "What failed:"
  grep -hE -A 6 '^failed ' "$log" | cut -c 1-400
  grep -hE '^not ok' "$modules"
fi
# For information: what this run took of the processors.
times >"$log"
awk -v compiling="$compiling" 'NR == 2 {
  split($1 "m" $2, t, "[ms]+")
  printf "%.0f s of processor time\n", t[1] * 60 + t[2] + t[3] * 60 + t[4] + compiling }' "$log"
echo "$passed passed, $failed failed"
[ "$status" = 0 ] && [ "$modules_status" = 0 ] && [ "$tested" -gt 0 ] && [ "$failed" = 0 ]
