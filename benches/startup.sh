#!/usr/bin/env bash
# What one check costs beyond an empty process: `asleft check` on one site against `/bin/true`, in
# alternation, in one run. Prints means and the ratio; asserts nothing.
set -euo pipefail
cd "$(dirname "$0")/.."
runs=${1:-200}

cargo build --release --quiet
asleft=target/release/asleft
site=tests/sites/larkspur-row-3.yaml

now() { date +%s%N; }
empty=0 check=0
for _ in $(seq "$runs"); do
  t=$(now); /bin/true; empty=$((empty + $(now) - t))
  t=$(now); "$asleft" check "$site" >/dev/null; check=$((check + $(now) - t))
done

awk -v e="$empty" -v c="$check" -v n="$runs" 'BEGIN {
  e /= n * 1e6; c /= n * 1e6
  printf "%d runs of each, mean\n  /bin/true             %6.2f ms\n  asleft check, a site  %6.2f ms\n", n, e, c
  printf "  beyond an empty run   %6.2f ms\n  ratio                 %6.1f\n", c - e, c / e
}'
