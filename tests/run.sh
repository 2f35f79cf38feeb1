#!/usr/bin/env bash
# Runs every test on a clean clone, installs what they need, and ends with the line 'N passed, N failed'.
# Longer runs have commands of their own: see DEVELOPERS.md.
set -uo pipefail
cd "$(dirname "$0")/.."
configuration=${CONFIGURATION:-Release}

if ! command -v chromium >/dev/null && command -v apt-get >/dev/null; then
  echo "Installing Debian's chromium for the browser tests..."
  asroot=""; [ "$(id -u)" = 0 ] || asroot="sudo"
  { $asroot apt-get update -q && DEBIAN_FRONTEND=noninteractive $asroot apt-get install -q -y --no-install-recommends chromium; } >/tmp/incubation-chromium.log 2>&1 \
    || { tail -n 5 /tmp/incubation-chromium.log; echo "chromium could not be installed: install it and run this again."; exit 1; }
fi

dotnet build Incubation.sln -c "$configuration" --nologo -v quiet || { echo "The build failed."; exit 1; }
dotnet format Incubation.sln --verify-no-changes --no-restore || { echo "The code is not formatted: run 'dotnet format'."; exit 1; }

log=$(mktemp)
modules=$(mktemp)
trap 'rm -f "$log" "$modules"' EXIT
echo "The browser's modules:"
./tests/Browser.Modules/run.sh 2>&1 | tee "$modules"
modules_status=${PIPESTATUS[0]}
dotnet test --solution Incubation.sln -c "$configuration" --no-build --no-progress 2>&1 | tee "$log"
status=${PIPESTATUS[0]}

# The runners' closing summaries have a line for each count.
count() { local found; found=$(sed -nE "s/^ *$1: ([0-9]+).*/\1/p" "$2" | tail -n 1); echo "${found:-0}"; }
passed=$(($(count succeeded "$log") + $(count succeeded "$modules")))
failed=$(($(count failed "$log") + $(count failed "$modules")))
echo "$passed passed, $failed failed"
[ "$status" = 0 ] && [ "$modules_status" = 0 ] && [ "$(count succeeded "$log")" -gt 0 ] && [ "$failed" = 0 ]
