#!/usr/bin/env bash
# Measures the planner and prints the table of its targets. --short takes two days of each family; --help
# lists the rest.
# Searches of a minute (and of ten, for large days) are kept in cache/; the first run without them takes hours.
set -euo pipefail
cd "$(dirname "$0")/../.."
dotnet build tests/Benchmarks/Incubation.Benchmarks.csproj -c Release --nologo -v quiet >&2
exec dotnet run --project tests/Benchmarks/Incubation.Benchmarks.csproj -c Release --no-build -- "$@"
