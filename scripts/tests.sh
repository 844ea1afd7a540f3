#!/usr/bin/env bash
# Runs the tests in two halves side by side, one for each core: what computes or runs commands, and all that opens stores and pages.
# Ends with a failure if either half fails. With arguments: just those tests, in one go.
set -uo pipefail
cd "$(dirname "$0")/.."

if [ $# -gt 0 ]; then exec .venv/bin/python -m pytest "$@"; fi

computing=(tests/house tests/properties tests/published tests/reference tests/scenarios tests/unit tests/workflows)
opening=()
for folder in tests/*/; do                          # a new folder is never left out
    folder=${folder%/}
    case " ${computing[*]} tests/__pycache__ " in *" $folder "*) ;; *) opening+=("$folder") ;; esac
done

export OPENBLAS_NUM_THREADS=1 OMP_NUM_THREADS=1    # one core for each half: more threads only wait for each other
told=$(mktemp)
beside=
trap 'rm -f "$told"; [ -z "$beside" ] || kill "$beside" 2> /dev/null' EXIT
.venv/bin/python -m pytest -p no:cacheprovider "${computing[@]}" > "$told" 2>&1 &
beside=$!
.venv/bin/python -m pytest "${opening[@]}"
failed=$?
wait "$beside" || failed=1
echo "The other half:"
cat "$told"
exit "$failed"
