# Which Debian packages building and testing need; sourced by run.sh and test.sh.
# Names are the same on Debian 12, Debian 13 and Ubuntu 24.04.

build_packages=(g++ cmake ninja-build pkg-config libboost-dev libyaml-cpp-dev libcli11-dev
  nlohmann-json3-dev libfmt-dev librandom123-dev libcsv-dev libmd-dev libsqlite3-dev libcpp-httplib-dev
  libqrencode-dev)
test_packages=(catch2 libbenchmark-dev git parallel python3 python3-icalendar python3-jsonschema
  python3-yaml python3-pil zbar-tools poppler-utils)
# Ubuntu has no chromium package (only a snap): the page tests are then skipped, and test.sh says so.
browser_packages=(python3-selenium chromium chromium-driver)
# Debian 13 has later versions only, which lay out otherwise: the layout is then not looked at.
layout_packages=(clang-format-14)

say() { echo "coatroom: $*" >&2; }

# need_packages NAME...: installs those that are not there.
need_packages() {
  mkdir -p "$top/build"
  local known=$top/build/packages-present missing=() p
  # What was found once is believed while dpkg's own list has not changed.
  if [[ -f $known && ! /var/lib/dpkg/status -nt $known && $(<"$known") == "$*" ]]; then return 0; fi
  for p in "$@"; do
    dpkg-query -W -f '${Status}' "$p" 2>/dev/null | grep -q 'ok installed' || missing+=("$p")
  done
  if ((${#missing[@]})); then
    say "needs these packages: ${missing[*]}"
    local sudo=()
    if [[ $(id -u) != 0 ]]; then
      if ! command -v sudo >/dev/null || ! sudo -n true 2>/dev/null && [[ ! -t 0 ]]; then
        say "install them as root, then start again:"
        echo "apt-get update && apt-get install -y --no-install-recommends ${missing[*]}" >&2
        exit 3
      fi
      sudo=(sudo)
    fi
    say "installing ${#missing[@]} packages"
    {
      "${sudo[@]}" env DEBIAN_FRONTEND=noninteractive apt-get update -qq &&
        "${sudo[@]}" env DEBIAN_FRONTEND=noninteractive \
          apt-get install -y -qq --no-install-recommends "${missing[@]}"
    } >"$top/build/packages.log" 2>&1 || {
      tail -n 20 "$top/build/packages.log" >&2
      say "the packages could not be installed; the command was:"
      echo "apt-get update && apt-get install -y --no-install-recommends ${missing[*]}" >&2
      exit 3
    }
  fi
  echo "$*" >"$known"
}
