#!/usr/bin/env bash
# Checks the browser's modules: their types by TypeScript, what they work out by node's own runner. No browser is
# started.
# Ends with the lines '  succeeded: N' and '  failed: N'; whatever keeps the tests from running is a failed test.
set -uo pipefail
cd "$(dirname "$0")"

cannot() {
  echo "$1"
  printf '  succeeded: 0\n  failed: 1\n'
  exit 1
}

for tool in node npm; do
  command -v "$tool" >/dev/null ||
    cannot "$tool is missing: install Node.js 20.19 or newer with npm, then run this again.
Debian: apt-get install nodejs npm"
done
# Installed once for each state of the lock file.
if ! cmp -s package-lock.json node_modules/.installed.json; then
  npm ci --silent --no-audit --no-fund ||
    cannot "npm could not install what package-lock.json names: see its message above."
  cp package-lock.json node_modules/.installed.json
fi

summary=$(mktemp)
trap 'rm -f "$summary"' EXIT
node --disable-warning=MODULE_TYPELESS_PACKAGE_JSON --test \
  --test-reporter=dot --test-reporter-destination=stdout \
  --test-reporter=tap --test-reporter-destination="$summary" ./*.test.js
status=$?
[ "$status" = 0 ] || grep -A 30 '^ *not ok' "$summary"
count() { sed -nE "s/^# $1 ([0-9]+)$/\1/p" "$summary" | tail -n 1; }
passed=$(count pass); failed=$(($(count fail) + $(count cancelled)))
printf '\n  succeeded: %s\n  failed: %s\n' "${passed:-0}" "$failed"
[ "$status" = 0 ] && [ "${passed:-0}" -gt 0 ]
