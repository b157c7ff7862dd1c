#!/usr/bin/env bash
# What one check costs beyond an empty process: `asleft check` on one site against `/bin/true`, in
# alternation, in one run. Prints means and the ratio; asserts nothing.
set -euo pipefail
cd "$(dirname "$0")/.."
runs=${1:-200}

cargo build --release --quiet
asleft=${CARGO_TARGET_DIR:-target}/release/asleft
site=tests/sites/larkspur-row-3.yaml

# microseconds, by the shell itself: starting `date` would cost as much as what is measured
now() { at=${EPOCHREALTIME//[!0-9]/}; }
empty=0 check=0
for _ in $(seq "$runs"); do
  now; start=$at; /bin/true; now; empty=$((empty + at - start))
  now; start=$at; "$asleft" check "$site" >/dev/null; now; check=$((check + at - start))
done

awk -v e="$empty" -v c="$check" -v n="$runs" 'BEGIN {
  e /= n * 1e3; c /= n * 1e3
  printf "%d runs of each, mean\n  /bin/true             %6.2f ms\n  asleft check, a site  %6.2f ms\n", n, e, c
  printf "  beyond an empty run   %6.2f ms\n  ratio                 %6.1f\n", c - e, c / e
}'
