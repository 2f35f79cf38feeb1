#!/usr/bin/env bash
# Refreshes the hub client that the pages use: the npm package's own file, unchanged but for
# the pointer to a map that is not shipped.
# Usage: refresh-signalr.sh VERSION   (needs npm; look at the diff before you commit)
set -euo pipefail

version="${1:?say which version of @microsoft/signalr, such as 10.0.11}"
target="$(cd "$(dirname "$0")" && pwd)/wwwroot/lib/signalr"
work="$(mktemp -d)"
trap 'rm -rf "$work"' EXIT

(cd "$work" && npm pack --silent "@microsoft/signalr@$version" >/dev/null && tar xzf ./*.tgz)
grep -q '"license": "MIT"' "$work/package/package.json" ||
  { echo "The package's licence is no longer MIT: read it first." >&2; exit 1; }
sed 's|//# sourceMappingURL=.*||' "$work/package/dist/browser/signalr.min.js" >"$target/signalr.min.js"
echo "$version" >"$target/VERSION"
echo "$target holds @microsoft/signalr $version"
