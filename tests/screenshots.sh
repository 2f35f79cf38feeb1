#!/usr/bin/env bash
# Takes the README's pictures anew from the running demo, demo/screenshots/*.png, and writes what the reports say of its
# month into demo/README.md.
set -euo pipefail
cd "$(dirname "$0")/.."
dotnet build -c Release tests/Incubation.Browser.Tests --nologo -v quiet
dotnet build -c Release tests/Incubation.Server.Tests --nologo -v quiet
INCUBATION_WRITE_CONTRACT=1 dotnet tests/Incubation.Server.Tests/bin/Release/net10.0/Incubation.Server.Tests.dll \
  -noColor -method '*MonthRecountTest.Readme_OfTheDemo*'
tests=tests/Incubation.Browser.Tests/bin/Release/net10.0/Incubation.Browser.Tests.dll
dotnet "$tests" -noColor -explicit only -class Incubation.Browser.Tests.Screenshots
# What tests see on their way, at one size each.
pictures=$(mktemp -d)
trap 'rm -rf "$pictures"' EXIT
export INCUBATION_PICTURES=$pictures
dotnet "$tests" -noColor -explicit only -class Incubation.Browser.Tests.StatePictures
dotnet "$tests" -noColor -class Incubation.Browser.Tests.LifePageTest
for picture in medium:alarm-medium high:alarm-high high-paused:alarm-paused all-seen:alarm-seen alone:alone \
  conflict:conflict power-cut:power-cut; do
  cp "$pictures/${picture%%:*}.png" "demo/screenshots/${picture##*:}.png"
done
