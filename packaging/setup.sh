# Sourced by packaging/run, packaging/test and packaging/bundle: find Python, bring what is missing, make .venv.
#
#   prepare WHAT PACKAGES...   WHAT is "run" or "test" (with the test tools); PACKAGES are further Debian packages
#
# A second call changes nothing and asks nobody: a stamp in .venv tells that this checkout, these versions and this
# Python are installed already. Settings of pip and apt in the environment (PIP_CERT, proxies, mirrors) are left alone.

house=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)
venv=$house/.venv

# What a Qt window needs on a bare Debian or Ubuntu, and a font to write with.
window_packages="libegl1 libgl1 libxkbcommon0 libxkbcommon-x11-0 libxcb-cursor0 libxcb-icccm4 libxcb-keysyms1
  libxcb-shape0 libxcb-image0 libxcb-render-util0 libxcb-xinerama0 libxcb-randr0 libdbus-1-3 libfontconfig1
  fonts-dejavu-core"

# Each argument is a line.
say() { printf '%s\n' "$@" >&2; }
# Run a command; what it said is shown only where it failed.
quietly() {
  local said
  said=$("$@" 2>&1) || {
    say "$said"
    return 1
  }
}
stop() { say "$@"; exit 1; }

# The first Python of 3.11 or newer that can make a virtual environment; nothing where there is none.
find_python() {
  local name
  for name in ${PYTHON:-} python3 python3.14 python3.13 python3.12 python3.11; do
    if command -v "$name" >/dev/null 2>&1 &&
      "$name" -c 'import sys, venv, ensurepip; sys.exit(sys.version_info < (3, 11))' >/dev/null 2>&1; then
      command -v "$name"
      return 0
    fi
  done
  return 0
}

# The Debian packages that would bring such a Python here, by what this release has on offer.
python_packages() {
  local name version
  version=$(apt-cache policy python3 2>/dev/null | sed -n 's/^ *Candidate: *\([0-9]*\)\.\([0-9]*\).*/\1 \2/p')
  # Without package lists (a new machine, not root) nothing is known yet: the release's own Python is the best guess.
  # shellcheck disable=SC2086
  set -- ${version:-3 11}
  if [ "$1" -gt 3 ] || { [ "$1" -eq 3 ] && [ "$2" -ge 11 ]; }; then
    echo "python3 python3-venv"
    return 0
  fi
  for name in python3.14 python3.13 python3.12 python3.11; do
    if apt-cache show "$name-venv" >/dev/null 2>&1; then
      echo "$name $name-venv"
      return 0
    fi
  done
  return 0
}

installed() { [ "$(dpkg-query -W -f='${db:Status-Status}' "$1" 2>/dev/null)" = installed ]; }

# Bring these Debian packages where root, else print the one command and stop. Other systems are told what is needed.
bring() {
  [ $# -gt 0 ] || return 0
  if ! command -v apt-get >/dev/null 2>&1; then
    stop "This script installs on Debian and Ubuntu. Here, install what these packages hold," \
      "then set CBI_SYSTEM_READY=1 and run it again: $*"
  fi
  if [ "$(id -u)" -ne 0 ]; then
    stop "Some system packages are missing. Run this one command, then start again:" "" \
      "  sudo sh -c 'apt-get update && apt-get install -y --no-install-recommends $*'"
  fi
  say "Installing system packages: $*"
  fresh_lists
  quietly env DEBIAN_FRONTEND=noninteractive apt-get install -y -q --no-install-recommends "$@" ||
    stop "apt-get could not install: $*"
}

lists_are_fresh=
fresh_lists() {
  if [ -z "$lists_are_fresh" ] && [ "$(id -u)" -eq 0 ]; then
    quietly apt-get update -q || stop "apt-get update failed: is there a network, and are the package sources right?"
    lists_are_fresh=yes
  fi
}

bring_system() {
  local missing=() package python
  [ -z "${CBI_SYSTEM_READY:-}" ] || return 0
  python=$(find_python)
  if [ -z "$python" ] && command -v apt-get >/dev/null 2>&1; then
    fresh_lists
    # shellcheck disable=SC2207
    missing=($(python_packages))
    [ "${#missing[@]}" -gt 0 ] ||
      stop "Python 3.11 or newer is needed, with its venv module; this release of the system offers none."
  elif [ -z "$python" ]; then
    missing=(python3 python3-venv)
  fi
  for package in "$@"; do
    installed "$package" || missing+=("$package")
  done
  bring "${missing[@]}"
}

# What decides whether the installed state still holds: place, Python, what the project asks for, versions, extras.
stamp_of() {
  { echo "$house" "$1"; "$2" -V; cat "$house/pyproject.toml" "$house/packaging/constraints.txt"; } | sha256sum | cut -d' ' -f1
}

stamped() { # WHAT
  [ -x "$venv/bin/cbi-monitor" ] && [ -e "$venv/.stamp-$1" ] && sound_venv &&
    [ "$(cat "$venv/.stamp-$1")" = "$(stamp_of "$1" "$venv/bin/python")" ]
}

# Whether .venv works. One whose Python has gone, or that was moved here from elsewhere, can only be made anew.
sound_venv() {
  "$venv/bin/python" -c 'import sys, pip; sys.exit(sys.version_info < (3, 11))' >/dev/null 2>&1 &&
    head -n 1 "$venv/bin/pip" 2>/dev/null | grep -qF "$venv/bin/"
}

install_into_venv() { # WHAT PYTHON
  local extra="" pip=("$venv/bin/python" -m pip --disable-pip-version-check)
  [ "$1" = test ] && extra="[dev]"
  if ! sound_venv; then
    say "Making the virtual environment $venv with $("$2" -V)"
    "$2" -m venv --clear "$venv" || stop "$2 could not make a virtual environment in $venv"
  fi
  say "Installing the tested versions (packaging/constraints.txt) ..."
  "${pip[@]}" install -q -c "$house/packaging/constraints.txt" hatchling >&2 &&
    "${pip[@]}" install -q -c "$house/packaging/constraints.txt" --no-build-isolation -e "$house$extra" >&2 ||
    stop "The Python packages could not be installed. What pip said stands above; a first run needs the network."
  stamp_of "$1" "$venv/bin/python" >"$venv/.stamp-$1"
}

prepare() {
  local what=$1 python
  shift
  # Made before, of the same things: start at once.
  if stamped "$what"; then
    return 0
  fi
  # shellcheck disable=SC2086
  bring_system $window_packages "$@"
  python=$(find_python)
  [ -n "$python" ] || stop "Python 3.11 or newer is needed, with its venv module."
  install_into_venv "$what" "$python"
}
