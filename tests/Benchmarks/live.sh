#!/usr/bin/env bash
# Measures the live bench on this machine: lateness of prompts on screen and in sound, acknowledgements, fifty benches,
# a week of batches. About half an hour on a machine with nothing else to do; parts: live.sh screen | fifty | week.
# --short: a few minutes; fewer dues, ten benches for two minutes, three batches.
# --published FOLDER: measures a program that is published already instead of the one built here.
# --figures FILE appends each figure as a line of name, tab, number.
# INCUBATION_DUES, INCUBATION_PACE, INCUBATION_BENCHES, INCUBATION_MINUTES and INCUBATION_BATCHES set each by itself.
set -euo pipefail
cd "$(dirname "$0")/../.."
parts=()
while [ $# -gt 0 ]; do
  case $1 in
    --short)
      export INCUBATION_DUES=${INCUBATION_DUES:-60} INCUBATION_BENCHES=${INCUBATION_BENCHES:-10}
      export INCUBATION_MINUTES=${INCUBATION_MINUTES:-2} INCUBATION_BATCHES=${INCUBATION_BATCHES:-3} ;;
    --published)
      INCUBATION_SERVER=$(cd "$2" && pwd)/Incubation.Server.dll
      [ -e "$INCUBATION_SERVER" ] || INCUBATION_SERVER=${INCUBATION_SERVER%/*}/server/Incubation.Server.dll
      [ -e "$INCUBATION_SERVER" ] || { echo "live.sh: no Incubation.Server.dll in $2." >&2; exit 2; }
      export INCUBATION_SERVER; shift ;;
    --figures) INCUBATION_FIGURES=$(realpath -m "$2"); export INCUBATION_FIGURES; shift ;;
    screen | fifty | week) parts+=("$1") ;;
    *) echo "live.sh: \"$1\" is neither an option nor a part." >&2; exit 2 ;;
  esac
  shift
done
[ ${#parts[@]} -gt 0 ] || parts=(screen fifty week)
if [ -z "${INCUBATION_BUILT:-}" ]; then
  dotnet build Incubation.sln -c Release --nologo -v quiet >&2
fi
declare -A lines=(
  [screen]=Screen_OverManyDues_LatenessAndAcknowledgements
  [fifty]=FiftyBenches_AtRealPace_LatenessProcessorAndMemory
  [week]=Week_OfBatchesOnOneServer_MemoryFlat)
for one in "${parts[@]}"; do
  dotnet tests/Incubation.Browser.Tests/bin/Release/net10.0/Incubation.Browser.Tests.dll -noColor -explicit only \
    -diagnostics -method "Incubation.Browser.Tests.Figures.LiveFigures.${lines[$one]}"
done
