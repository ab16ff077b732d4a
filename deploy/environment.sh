# Makes .venv for deploy/demo and deploy/check, which source this file from the project's folder.
# shellcheck shell=sh

say() { printf '%s\n' "$*" >&2; }

is_root() { [ "$(id -u)" = 0 ]; }

fits() { "$1" -c 'import sys; sys.exit(not (3, 11) <= sys.version_info[:2] <= (3, 13))' 2>/dev/null; }

find_python() {
    for python in "${PYTHON:-python3}" python3.13 python3.12 python3.11; do
        if fits "$python"; then return; fi
    done
    say "No Python 3.11, 3.12 or 3.13 found. Install one, or name it: PYTHON=/path/to/python3.12 $0"
    exit 1
}

need_venv_module() {
    "$python" -c 'import ensurepip, venv' 2>/dev/null && return
    if is_root && command -v apt-get >/dev/null; then
        say "Installing Debian's python3-venv ..."
        apt-get update -q >&2 && DEBIAN_FRONTEND=noninteractive apt-get install -qy python3-venv >&2
        "$python" -c 'import ensurepip, venv' 2>/dev/null && return
    fi
    say "Python's venv module is missing. Install it with this command, then start again:"
    say "    sudo apt-get install python3-venv"
    exit 1
}

# What .venv must have been made from to be used as it is.
stamp() { { "$python" -VV; cat "deploy/$1"; pwd; } | sha256sum | cut -d' ' -f1; }

is_current() { [ -x .venv/bin/python ] && [ "$(cat ".venv/stamp-$1" 2>/dev/null)" = "$(stamp "$1")" ]; }

quiet_pip() { .venv/bin/python -m pip install -qq --disable-pip-version-check "$@"; }

install_locked() {
    for lock in "$@"; do
        if is_current "$lock"; then return; fi
    done
    need_venv_module
    say "Making .venv from deploy/$1 (once; a minute or two) ..."
    "$python" -m venv --clear .venv
    quiet_pip --require-hashes --only-binary :all: -r "deploy/$1"
    stamp "$1" >".venv/stamp-$1"
}

install_package() {
    if cmp -s pyproject.toml .venv/stamp-package; then return; fi
    # The build tool stands in the lock, so nothing is fetched to build the package itself.
    quiet_pip --no-deps --no-index --no-build-isolation --editable .
    cp pyproject.toml .venv/stamp-package
}

# make_venv LOCK [ALSO_FINE]: .venv with exactly what LOCK names, and this package over it.
make_venv() {
    find_python
    install_locked "$@"
    install_package
}
