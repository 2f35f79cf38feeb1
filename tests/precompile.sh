#!/usr/bin/env bash
# Compiles what was built to native code once, so that not every test program and every server that the tests start
# does it again: a third less of processor time. What cannot be had or compiled is left as it is; the tests run then
# as well, only slower. The next build puts the files back as it makes them.
set -uo pipefail
cd "$(dirname "$0")/.."
configuration=${1:-Release}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

dotnet restore tests/Precompiler --nologo -v quiet >"$work/restore" 2>&1 ||
  { echo "Not compiled ahead: its compiler could not be had."; exit 0; }
crossgen=$(dotnet msbuild tests/Precompiler/Precompiler.csproj -t:SayCrossgen2 -getProperty:Crossgen2 2>/dev/null)
[ -x "$crossgen" ] || { echo "Not compiled ahead: its compiler could not be had."; exit 0; }
shared=$(dotnet --list-runtimes | sed -nE 's/^Microsoft\.NETCore\.App (10\.[^ ]+) \[(.*)\]$/\2 \1/p' | tail -n 1)
runtime="${shared% *}/${shared#* }"
web="$(dirname "${shared% *}")/Microsoft.AspNetCore.App/${shared#* }"

# The same file lies beside many programs: each content once, and only what the server and the command line bring
# along: the tests' own code runs too seldom to be worth it.
here="bin/$configuration/net10.0"
find src tests -maxdepth 5 -path "*/$here/*.dll" ! -path '*enchmarks/*' -print0 | xargs -0 sha1sum | sort >"$work/files"
(cd src && sha1sum "Incubation.Server/$here"/*.dll "Incubation.Cli/$here"/*.dll) |
  grep -vE '/(BouncyCastle|zxcvbn)[^/]*$' | cut -d ' ' -f 1 | sort -u >"$work/wanted"

# one HASH : compiles the file of this content, and puts it wherever it lies.
one() {
  local hash=$1 paths path folder made
  mapfile -t paths < <(sed -n "s/^$hash  //p" "$work/files")
  path=${paths[0]}
  folder=$(dirname "$path")
  mkdir -p "$work/$hash"
  made="$work/$hash/$(basename "$path")"
  "$crossgen" "$path" -o "$made" --targetos linux --targetarch "$architecture" -O \
    -r "$folder/*.dll" -r "$runtime/*.dll" -r "$web/*.dll" >"$work/$hash/log" 2>&1 || return 0
  for path in "${paths[@]}"; do
    cp "$made" "$path.new" && mv "$path.new" "$path"
  done
}
export -f one
export work crossgen runtime web architecture
case $(uname -m) in
  x86_64) architecture=x64 ;;
  aarch64) architecture=arm64 ;;
  *) echo "Not compiled ahead: not for this machine."; exit 0 ;;
esac
xargs <"$work/wanted" -P "$(nproc)" -I '{}' bash -c 'one {}'
