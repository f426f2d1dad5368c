# Shared by deploy/demo and deploy/check: find a Python, make .venv, install what requirements.txt names.
# Sourced, not run; the caller stands in the project's folder and has set -eu.
# shellcheck shell=bash

VENV=.venv
VENV_PYTHON=$VENV/bin/python

say() { printf '%s\n' "$@"; }
stop() {
    printf '%s\n' "$@" >&2
    exit 1
}

as_root_on_debian() { [ "$(id -u)" = 0 ] && [ -e /etc/debian_version ] && command -v apt-get >/dev/null; }

is_new_enough() { "$1" -c 'import sys; sys.exit(sys.version_info < (3, 11))' >/dev/null 2>&1; }
can_make_venv() { "$1" -c 'import ensurepip, venv' >/dev/null 2>&1; }

# first_python CONDITION: a name on the path can be there and still not run (version managers leave such names behind),
# so each is tried.
first_python() {
    local name
    for name in ${PYTHON:-python3 python3.14 python3.13 python3.12 python3.11}; do
        if is_new_enough "$name" && "$1" "$name"; then
            command -v "$name"
            return
        fi
    done
    return 1
}

debian_venv_package() {
    "$1" -c 'import sys; print("python3.%d-venv" % sys.version_info[1])'
}

# Debian keeps the part of Python that makes virtual environments in a package of its own.
install_venv_package() {
    local python=$1 package log
    package=$(debian_venv_package "$python")
    as_root_on_debian || stop \
        "$python cannot make virtual environments. On Debian and Ubuntu this comes with a package:" \
        "    sudo apt-get install $package" \
        "Then run this command again."
    say "Installing Debian's $package: $python cannot make virtual environments without it ..."
    log=$(mktemp)
    { apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "$package"; } \
        >"$log" 2>&1 </dev/null || stop "apt-get could not install $package. It said:" "$(tail -n 5 "$log")"
    rm -f "$log"
}

need_python() {
    local python
    if python=$(first_python can_make_venv); then
        say "$python"
        return
    fi
    python=$(first_python true) || stop \
        "Fencerow needs Python 3.11 or newer, and none was found as ${PYTHON:-python3, python3.11, ... python3.14}." \
        "On Debian 12 or newer and Ubuntu 24.04 or newer: sudo apt-get install python3 python3-venv" \
        "Where it stands elsewhere, name it: PYTHON=/path/to/python3 bash $0"
    install_venv_package "$python" >&2
    can_make_venv "$python" || stop "$python still cannot make virtual environments (it lacks ensurepip)."
    say "$python"
}

# A folder left behind by an interrupted run, or by a Python that has since gone, is made anew.
make_venv() {
    local python
    if is_new_enough "$VENV_PYTHON" && "$VENV_PYTHON" -m pip --version >/dev/null 2>&1; then
        return
    fi
    python=$(need_python)
    [ ! -e "$VENV" ] || say "The folder $VENV cannot be used as it is; making it anew."
    say "Making $VENV with $("$python" --version) ..."
    "$python" -m venv --clear "$VENV" || stop "$python could not make $VENV. Its own words stand above."
}

requirements_stamp() {
    "$VENV_PYTHON" - <<'PYTHON'
import hashlib, sys
names = ("requirements.txt", "deploy/requirements-run.txt")
print(hashlib.sha256(b"".join(open(name, "rb").read() for name in names) + sys.version.encode()).hexdigest())
PYTHON
}

explain_failed_install() {
    local log=$1
    say "" "The packages could not be installed."
    if grep -q -i -E 'connection|timed out|name resolution|failed to resolve|unreachable|SSLError|ProxyError' "$log"; then
        say "The package index could not be reached. Check the network (and pip's proxy and index settings," \
            "if this machine needs them), then run the same command again: it goes on where it stopped."
    fi
    say "The last lines that pip printed:"
    tail -n 12 "$log" | sed 's/^/    /'
    rm -f "$log"
    exit 1
} >&2

# install_requirements run|all: does nothing while the requirements are those installed last.
install_requirements() {
    local part=$1 stamp log started=$SECONDS
    local what=(-r requirements.txt)
    make_venv
    stamp=$(requirements_stamp)
    if [ "$(cat "$VENV/fencerow-all" 2>/dev/null)" = "$stamp" ] ||
        [ "$(cat "$VENV/fencerow-$part" 2>/dev/null)" = "$stamp" ]; then
        return
    fi
    [ "$part" = all ] || what=(-r deploy/requirements-run.txt -c requirements.txt)
    say "Installing Python packages into $VENV (once; a minute or two on a slow line) ..."
    rm -f "$VENV"/fencerow-*
    log=$(mktemp)
    "$VENV_PYTHON" -m pip install --no-input --disable-pip-version-check "${what[@]}" >"$log" 2>&1 </dev/null ||
        explain_failed_install "$log"
    rm -f "$log"
    say "$stamp" >"$VENV/fencerow-$part"
    say "Installed in $((SECONDS - started)) s."
}
