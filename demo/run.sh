#!/usr/bin/env bash
# Starts the server with an invented clinic. Needs only the .NET SDK.
set -euo pipefail
here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
root=$(dirname "$here")
data=$here/data
port=5080
fresh=false
options=()
# What is read comes by wire, as from a reader that is set up on the page Instruments.
wire=(--demo-readers)

usage() {
  cat <<HELP
Usage: demo/run.sh [options]
Starts an invented clinic (not for patients); open the address that it prints.

  --fresh       begin a new day; the old one is moved to demo/data/old-<time>/
  --month       begin with an invented month behind the clinic (with --fresh where there is a demo already)
  --autopilot   a virtual aide does the tapping
  --typed       the readers send nothing: results are typed
  --pace N      time runs N times as fast (1 to 1000)
  --port N      the port on this machine (usual: 5080)
  --help        this text

"./demo/run.sh --fresh --autopilot --pace 30" plays the whole batch in about a minute and a half.
HELP
}

say() { echo "demo/run.sh: $1 --help lists the options." >&2; exit 2; }

while [ $# -gt 0 ]; do
  case $1 in
    --fresh) fresh=true ;;
    --autopilot) options+=(--autopilot) ;;
    --typed) wire=() ;;
    --month) options+=(--month) ;;
    --pace) [ $# -gt 1 ] || say "--pace needs a number."; options+=(--pace "$2"); shift ;;
    --port) [ $# -gt 1 ] && [[ $2 =~ ^[0-9]{1,5}$ ]] && [ "$((10#$2))" -ge 1 ] && [ "$((10#$2))" -le 65535 ] || say "--port needs a number from 1 to 65535."; port=$2; shift ;;
    --help | -h) usage; exit 0 ;;
    *) say "\"$1\" is not an option." ;;
  esac
  shift
done

if ! command -v dotnet >/dev/null; then
  echo "demo/run.sh: the .NET SDK is missing; install .NET 10 from https://dotnet.microsoft.com/download." >&2
  exit 2
fi

mkdir -p "$data"
if $fresh; then
  old=$data/old-$(date +%Y%m%d-%H%M%S)
  for file in "$data"/demo.*; do
    [ -e "$file" ] || continue
    mkdir -p "$old"
    mv "$file" "$old/"
  done
  # The old day is signed with the folder's key, and so is the new one.
  if [ -d "$old" ] && [ -e "$data/record.key" ]; then cp -p "$data/record.key" "$old/"; fi
fi

# Only what the server needs is fetched and compiled: no tests, and no analyzers, which are for contributors.
project=$root/src/Incubation.Server
quick=(-c Release --nologo -v quiet -p:RunAnalyzers=false -p:UseSharedCompilation=true
  -p:GenerateDocumentationFile=false -p:EnforceCodeStyleInBuild=false)
SECONDS=0
step() { printf '%3d s  %s\n' "$SECONDS" "$1"; }

step "1 of 3: fetching packages (the first time about 10 s, later 2 s)"
dotnet restore "$project" -v quiet --nologo
step "2 of 3: compiling (the first time about 20 s, later 5 s)"
if ! built=$(dotnet build "$project" --no-restore "${quick[@]}"); then
  echo "$built" >&2
  echo "demo/run.sh: the server could not be compiled; the lines above say why." >&2
  exit 1
fi
step "3 of 3: starting; the address to open follows (about 5 s, with --month 30 s)"
exec dotnet "$project/bin/Release/net10.0/Incubation.Server.dll" \
  --data "$data/demo.db" --demo "$here" --urls "http://127.0.0.1:$port" ${wire[@]+"${wire[@]}"} \
  ${options[@]+"${options[@]}"}
