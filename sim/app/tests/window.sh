#!/usr/bin/env bash
# The simulator as a user meets it: one frame into a file, a window on a virtual display, and
# the sentences where there is neither display nor adapter.
# Usage: window.sh FOLDER_OF_BINARIES SCRATCH_FOLDER [inside]; with the last word it is already
# on the virtual display.
set -euo pipefail
binaries=$1 scratch=$2
here=$(dirname "$0")
sim="$binaries/jigwise-sim" jig="$binaries/jig"
export XDG_RUNTIME_DIR="$scratch/runtime" XDG_CONFIG_HOME="$scratch/config"
mkdir -p -m 700 "$XDG_RUNTIME_DIR"

fail() { echo "window: $*" >&2; exit 1; }

# A window: it opens and shows many colours.
look() {
  local colors=0
  "$sim" &
  local window=$!
  for _ in $(seq 60); do
    sleep 0.5
    kill -0 "$window" 2>/dev/null || fail "the window closed by itself"
    colors=$(import -window root -format '%k' info:- 2>/dev/null || echo 0)
    [ "$colors" -gt 40 ] && break
  done
  import -window root "$scratch/window.png"
  kill "$window"
  [ "$colors" -gt 40 ] || fail "the window shows $colors colours after 30 s"
  echo "window: open, $colors colours on the screen"
}
if [ "${3:-}" = inside ]; then
  look
  exit
fi

# One frame of each shipped scenario, its readings against those of the text command.
for scenario in "$here"/../../../exercises/scenarios/*.toml; do
  picture="$scratch/$(basename "$scenario" .toml).png"
  env -u DISPLAY -u WAYLAND_DISPLAY "$sim" --snapshot "$picture" --scenario "$scenario"
  "$jig" read "$scenario" --json > "$scratch/read.json"
  python3 "$here/compare_readings.py" "${picture%.png}.txt" "$scratch/read.json"
done

# No display, no adapter, no scenario: one sentence, exit code 2.
sentence() {
  local expected=$1 code=0
  shift
  "$@" 2> "$scratch/said" || code=$?
  [ "$code" = 2 ] || fail "exit code $code instead of 2: $*"
  [ "$(wc -l < "$scratch/said")" = 1 ] || fail "not one line: $(cat "$scratch/said")"
  grep -q -- "$expected" "$scratch/said" || fail "no '$expected' in: $(cat "$scratch/said")"
}
sentence "--snapshot" env -u DISPLAY -u WAYLAND_DISPLAY "$sim"
sentence "takes no window" env -u WAYLAND_DISPLAY DISPLAY=:4711 "$sim"
sentence "cargo jig" env -u DISPLAY -u WAYLAND_DISPLAY WGPU_BACKEND=vulkan \
  VK_DRIVER_FILES=/nowhere VK_ICD_FILENAMES=/nowhere "$sim" --snapshot "$scratch/never.png"
sentence "can't be written" env -u DISPLAY "$sim" --snapshot /nowhere/picture.png
sentence "nowhere.toml" "$sim" --scenario "$scratch/nowhere.toml"

xvfb-run --auto-servernum --server-args="-screen 0 1280x720x24" \
  bash "$0" "$binaries" "$scratch" inside
