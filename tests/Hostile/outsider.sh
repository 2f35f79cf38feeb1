#!/usr/bin/env bash
# What was once seen to stop a bench, spoil its record or fill the memory, said again over HTTP to a server with 400 MB
# of heap. Exit code 1 where anything is found.
set -euo pipefail
exec "$(dirname "$0")/run.sh" outsider
