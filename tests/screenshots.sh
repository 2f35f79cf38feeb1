#!/usr/bin/env bash
# Takes the README's pictures anew from the running demo: demo/screenshots/*.png.
set -euo pipefail
cd "$(dirname "$0")/.."
exec dotnet run -c Release --project tests/Incubation.Browser.Tests -- -explicit only -class Incubation.Browser.Tests.Screenshots -noColor
