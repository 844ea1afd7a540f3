#!/usr/bin/env bash
# Renews constraints.txt: installs everything unpinned into a new environment and writes down what came.
# Only names and versions are kept, so the file says nothing about where they were fetched from.
set -euo pipefail
cd "$(dirname "$0")/.."

folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
python3 -m venv "$folder/venv"
"$folder/venv/bin/pip" install --quiet '.[app,film,postgres,dev]'

{
    echo "# Every version this project is tested with. Renewed by scripts/pin.sh."
    "$folder/venv/bin/pip" freeze --exclude onthree | grep -E '^[A-Za-z0-9_.-]+==' | LC_ALL=C sort -f
} > "$folder/constraints.txt"
mv "$folder/constraints.txt" constraints.txt
echo "constraints.txt now names $(grep -c == constraints.txt) versions. Run 'make test' before committing it."
