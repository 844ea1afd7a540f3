#!/usr/bin/env bash
# Makes the environment in .venv: "app" runs the program, "dev" also tests it. Quick when nothing changed.
set -euo pipefail
cd "$(dirname "$0")/.."

want=${1:-app}
case $want in
    app) extras=app,film; enough="app dev" ;;
    dev) extras=app,film,postgres,dev; enough=dev ;;
    *) echo "environment.sh: '$want' given, 'app' or 'dev' expected." >&2; exit 2 ;;
esac

# The stamp names this folder too: an environment that was moved does not work and is made again.
state="$PWD $(cat pyproject.toml constraints.txt | sha256sum | cut -d' ' -f1)"
stamp=.venv/onthree-state
for done_before in $enough; do
    if [ "$(cat "$stamp" 2>/dev/null)" = "$done_before $state" ] && .venv/bin/python -c '' 2>/dev/null; then exit 0; fi
done

newest_python() {
    local name
    for name in ${PYTHON:-python3 python3.11 python3.12 python3.13 python3.14}; do
        if "$name" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then echo "$name"; return; fi
    done
    echo "Python 3.11 or newer is needed, and none was found. Install it, or name it: make demo PYTHON=/path/to/python" >&2
    exit 1
}

python=$(newest_python)
if ! "$python" -c 'import ensurepip, venv' 2>/dev/null; then
    scripts/system_packages.sh "the venv module of Python" python3-venv
fi

echo "Making the environment in .venv with $("$python" --version); this takes a minute the first time."
case "$(cat "$stamp" 2>/dev/null)" in
    *" $PWD "*) ;;                                  # same folder: install on top of what is there
    *) "$python" -m venv --clear .venv ;;
esac
.venv/bin/python -m pip install -qq --disable-pip-version-check -c constraints.txt -e ".[$extras]"
echo "$want $state" > "$stamp"
echo "The environment is ready."
