#!/usr/bin/env bash
# Plays bench days on which people err and machines fail, on virtual time: --days 10000 --seed 1. One day again:
# --day K --seed N --trace.
set -euo pipefail
cd "$(dirname "$0")/../.."
dotnet build tests/Faults/Incubation.Faults.csproj -c Release --nologo -v quiet >&2
exec dotnet tests/Faults/bin/Release/net10.0/Incubation.Faults.dll "$@"
