#!/usr/bin/env bash
# Measures the server as a service: start, restart with 100,000 events, stop, backup while reports go on. Publishes it
# first, unless --published FOLDER names a program that is published already (an older one, say): its
# Incubation.Server.dll and, for the backup, its Incubation.Cli.dll, in the folder itself or in server/ and cli/ of it.
# --events N for another number; --keep leaves the files where they were made; --figures FILE appends each figure as a
# line of name, tab, number.
set -euo pipefail
cd "$(dirname "$0")/../.."
published=
options=()
while [ $# -gt 0 ]; do
  case $1 in
    --published) published=$(cd "$2" && pwd); shift ;;
    --figures) options+=(--figures "$(realpath -m "$2")"); shift ;;
    *) options+=("$1") ;;
  esac
  shift
done
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
part() {
  for place in "$published/$1" "$published"; do
    [ ! -e "$place/$2.dll" ] || { echo "$place/$2.dll"; return; }
  done
}
if [ -n "$published" ]; then
  server=$(part server Incubation.Server)
  cli=$(part cli Incubation.Cli)
  [ -n "$server" ] || { echo "service.sh: no Incubation.Server.dll in $published." >&2; exit 2; }
else
  system=$(dotnet --info | sed -n 's/^ *RID: *//p' | head -1)
  dotnet publish src/Incubation.Server -c Release -r "$system" --self-contained false -o "$work/server" \
    --property:RunAnalyzers=false --nologo -v quiet >&2
  dotnet publish src/Incubation.Cli -c Release -r "$system" --self-contained false -o "$work/cli" \
    --property:RunAnalyzers=false --nologo -v quiet >&2
  server=$work/server/Incubation.Server.dll
  cli=$work/cli/Incubation.Cli.dll
fi
if [ -z "${INCUBATION_BUILT:-}" ]; then
  dotnet build tests/ServiceBenchmarks/Incubation.ServiceBenchmarks.csproj -c Release --nologo -v quiet >&2
fi
# What runs in the measuring program itself says nothing of another program that is given.
[ -z "$published" ] || options+=(--server-alone)
[ -z "$cli" ] || options+=(--cli "$cli")
dotnet tests/ServiceBenchmarks/bin/Release/net10.0/Incubation.ServiceBenchmarks.dll \
  --server "$server" --demo "$PWD/demo" --work "$work" "${options[@]}"
