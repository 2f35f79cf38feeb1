#!/usr/bin/env bash
# Measures the live bench on this machine: lateness of prompts on screen and in sound, acknowledgements, fifty benches, a week of
# batches. About half an hour on a machine with nothing else to do; parts: live.sh screen | fifty | week.
# INCUBATION_DUES, INCUBATION_PACE, INCUBATION_BENCHES, INCUBATION_MINUTES and INCUBATION_BATCHES make it shorter.
set -euo pipefail
cd "$(dirname "$0")/../.."
dotnet build Incubation.sln -c Release --nologo -v quiet >&2
declare -A lines=([screen]=Screen_OverManyDues_LatenessAndAcknowledgements [fifty]=FiftyBenches_AtRealPace_LatenessProcessorAndMemory [week]=Week_OfBatchesOnOneServer_MemoryFlat)
for line in "${@:-screen fifty week}"; do
  for one in $line; do
    dotnet tests/Incubation.Browser.Tests/bin/Release/net10.0/Incubation.Browser.Tests.dll -noColor -explicit only -diagnostics \
      -method "Incubation.Browser.Tests.Figures.LiveFigures.${lines[$one]}"
  done
done
