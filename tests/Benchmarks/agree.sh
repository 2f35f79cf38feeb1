#!/usr/bin/env bash
# Compares the planner with proved optima on 200 random days of up to 7 requests: minutes, not seconds. --help lists the
# options.
set -euo pipefail
exec "$(dirname "$0")/run.sh" agree "$@"
