#!/usr/bin/env bash
# Measures the server as a service: start, restart with 100,000 events, stop, backup while reports go on. Publishes it first.
# --events N for another number; --keep leaves the files where they were made.
set -euo pipefail
cd "$(dirname "$0")/../.."
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
system=$(dotnet --info | sed -n 's/^ *RID: *//p' | head -1)
dotnet publish src/Incubation.Server -c Release -r "$system" --self-contained false -o "$work/server" --property:RunAnalyzers=false --nologo -v quiet >&2
dotnet publish src/Incubation.Cli -c Release -r "$system" --self-contained false -o "$work/cli" --property:RunAnalyzers=false --nologo -v quiet >&2
dotnet build tests/ServiceBenchmarks/Incubation.ServiceBenchmarks.csproj -c Release --nologo -v quiet >&2
dotnet tests/ServiceBenchmarks/bin/Release/net10.0/Incubation.ServiceBenchmarks.dll \
  --server "$work/server/Incubation.Server.dll" --cli "$work/cli/Incubation.Cli.dll" --demo "$PWD/demo" --work "$work" "$@"
