# The Debian packages that this project needs, and how to install those that are missing.
# Sourced by the scripts that build and test, which read the two lists.
# shellcheck shell=bash disable=SC2034

build_packages=(
  g++ cmake ninja-build pkg-config ccache
  libkissfft-dev libsndfile1-dev portaudio19-dev libcairo2-dev libpango1.0-dev libzip-dev libssl-dev
  fonts-dejavu-core  # what pictures and reports are set in
  nlohmann-json3-dev libtomlplusplus-dev libcli11-dev libfmt-dev
  libimgui-dev libglfw3-dev libgl-dev libopengl-dev fonts-inter
)
test_packages=(
  doctest-dev clang-format clang-tidy python3 python3-scipy
  qpdf poppler-utils  # judge and read the PDFs that are made
  xvfb xdotool x11-utils libgl1-mesa-dri imagemagick  # a screen without one, to open the window on
  pulseaudio libasound2-plugins  # a sound server without a sound card, to record from
)

is_installed() {
  [ "$(dpkg-query -W -f='${db:Status-Status}' "$1" 2>/dev/null)" = installed ]
}

as_root() {
  if [ "$(id -u)" -eq 0 ]; then
    "$@"
  elif command -v sudo >/dev/null; then
    sudo "$@"
  else
    echo "This needs root, and there is no sudo. As root, run: $*" >&2
    return 1
  fi
}

# install_missing PACKAGE...: says what it installs; does nothing if nothing is missing.
install_missing() {
  if ! command -v dpkg-query >/dev/null; then
    echo "This is not a Debian system: install the counterparts of these yourself: $*" >&2
    return 0
  fi
  local missing=() package
  for package in "$@"; do
    is_installed "$package" || missing+=("$package")
  done
  [ ${#missing[@]} -eq 0 ] && return 0
  echo "Installing packages: ${missing[*]}"
  as_root apt-get -qq update
  as_root env DEBIAN_FRONTEND=noninteractive \
    apt-get -qq install -y --no-install-recommends "${missing[@]}" >/dev/null
}
