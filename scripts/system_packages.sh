# SPDX-License-Identifier: GPL-3.0-or-later
# shellcheck shell=bash
#
# To be sourced, not run: reads the one package list and installs what is missing from it.
#   install_packages run         what the program needs
#   install_packages run test    and what its tests need
# Asks the package database first, so a machine that has everything is neither changed nor needs a network.

package_list="$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)/packages.txt"

# packages_of PART...: the names in these parts of the list, one a line.
packages_of() {
  awk -v wanted=" $* " '
    /^[[:space:]]*(#|$)/ { next }
    /^\[.*\]$/ { part = substr($0, 2, length($0) - 2); next }
    index(wanted, " " part " ") { print $1 }' "$package_list"
}

# missing_packages PART...: those of them that are not installed.
missing_packages() {
  local name status
  while IFS= read -r name; do
    status="$(dpkg-query --show --showformat='${db:Status-Status} ' "$name" 2>/dev/null || true)"
    case " $status" in
      *" installed "*) ;;
      *) printf '%s\n' "$name" ;;
    esac
  done < <(packages_of "$@")
}

install_packages() {
  if ! command -v dpkg-query >/dev/null || ! command -v apt-get >/dev/null; then
    echo "This is not a Debian system: no dpkg-query and apt-get here. Install the counterparts of these packages by hand," >&2
    echo "then build as DEVELOPERS.md says: $(packages_of "$@" | tr '\n' ' ')" >&2
    return 1
  fi
  local missing
  mapfile -t missing < <(missing_packages "$@")
  if [ "${#missing[@]}" -eq 0 ]; then
    echo "All packages of scripts/packages.txt [$*] are installed."
    return 0
  fi
  local as_root=()
  if [ "$(id -u)" -ne 0 ]; then
    if command -v sudo >/dev/null && { sudo -n true 2>/dev/null || [ -t 0 ]; }; then
      as_root=(sudo)
    else
      echo "These packages are missing and installing them needs root: ${missing[*]}" >&2
      echo "Run this script as root or from a terminal with sudo, or have an administrator run:" >&2
      echo "  apt-get update && apt-get install --no-install-recommends ${missing[*]}" >&2
      return 1
    fi
  fi
  echo "Installing ${#missing[@]} missing packages: ${missing[*]}"
  local apt=("${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get -q -o DPkg::Lock::Timeout=300)
  # sudo asks for its password on the terminal itself, so nothing here needs standard input.
  "${apt[@]}" update </dev/null
  "${apt[@]}" install --yes --no-install-recommends "${missing[@]}" </dev/null
}
