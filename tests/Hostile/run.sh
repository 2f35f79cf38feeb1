#!/usr/bin/env bash
# Says to the server what nobody should, and looks whether it still does its work: see README.md.
set -euo pipefail
cd "$(dirname "$0")/../.."
dotnet build tests/Hostile/Incubation.Hostile.csproj -c Release --nologo -v quiet >&2
exec dotnet tests/Hostile/bin/Release/net10.0/Incubation.Hostile.dll "$@"
