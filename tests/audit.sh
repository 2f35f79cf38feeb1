#!/usr/bin/env bash
# Asks the registries for known vulnerabilities of every package that is used, those that come along with others too.
# Exit codes: 0 none is known; 1 there are some, listed; 2 a registry could not tell.
set -uo pipefail
cd "$(dirname "$0")/.."
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
found=0; untold=0

vulnerable() { dotnet list "$1" package --vulnerable --include-transitive --format json 2>&1; }

# A source that keeps no advisories calls everything sound, so it is asked first for one that everybody knows:
# GHSA-5crp-9r3c-p9vr, Newtonsoft.Json before 13.0.1.
for file in Build.props Build.targets Packages.props; do echo '<Project/>' >"$work/Directory.$file"; done
cat >"$work/known.csproj" <<'END'
<Project Sdk="Microsoft.NET.Sdk">
  <PropertyGroup><TargetFramework>net10.0</TargetFramework><NuGetAudit>false</NuGetAudit></PropertyGroup>
  <ItemGroup><PackageReference Include="Newtonsoft.Json" Version="12.0.1" /></ItemGroup>
</Project>
END
if dotnet restore "$work/known.csproj" --nologo -v quiet >"$work/log" &&
  vulnerable "$work/known.csproj" >"$work/known" &&
  grep -q '"advisoryurl"' "$work/known"; then
  dotnet restore Incubation.sln --locked-mode --nologo -v quiet || exit 2
  if ! vulnerable Incubation.sln >"$work/list"; then
    cat "$work/list"; untold=1
  elif grep -q '"advisoryurl"' "$work/list"; then
    dotnet list Incubation.sln package --vulnerable --include-transitive; found=1
  else
    echo "NuGet: no package with a known vulnerability."
  fi
else
  echo "NuGet: the configured source has no advisories, or does not answer. Nothing is known either way."; untold=1
fi

for lock in $(git ls-files '*package-lock.json'); do
  (cd "$(dirname "$lock")" && npm audit --json >"$work/npm" 2>"$work/log")
  if ! grep -q '"vulnerabilities"' "$work/npm"; then
    echo "npm, $lock: the registry does not answer what is known. Nothing is known either way."; untold=1
  elif grep -qE '"total": *[1-9]' "$work/npm"; then
    (cd "$(dirname "$lock")" && npm audit); found=1
  else
    echo "npm, $lock: no package with a known vulnerability."
  fi
done
[ "$found" = 0 ] || exit 1
[ "$untold" = 0 ] || exit 2
