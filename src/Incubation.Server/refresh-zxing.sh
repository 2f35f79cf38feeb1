#!/usr/bin/env bash
# Refreshes the reader of codes that pages load for the camera: the npm package's own file, unchanged but for
# the pointer to a map that is not shipped.
# Usage: refresh-zxing.sh VERSION   (needs npm; look at the diff before you commit)
set -euo pipefail

version="${1:?say which version of @zxing/browser, such as 0.2.1}"
target="$(cd "$(dirname "$0")" && pwd)/wwwroot/lib/zxing"
work="$(mktemp -d)"
trap 'rm -rf "$work"' EXIT

(cd "$work" && npm pack --silent "@zxing/browser@$version" >/dev/null && tar xzf ./*.tgz)
grep -q '"license": "MIT"' "$work/package/package.json" ||
  { echo "The package's licence is no longer MIT: read it first." >&2; exit 1; }
sed 's|//# sourceMappingURL=.*||' "$work/package/umd/zxing-browser.min.js" >"$target/zxing-browser.min.js"
cp "$work/package/LICENSE" "$target/LICENSE.txt"
echo "$version" >"$target/VERSION"
echo "$target holds @zxing/browser $version"
