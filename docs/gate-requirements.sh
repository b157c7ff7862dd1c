#!/bin/sh
# Gates a change to a folder of requirements: what is published stays as it is, every file makes
# sense, every version number promises no more than it keeps, and somebody has seen whom it strands.
#
#   [AS_OF=2026-12-01] gate-requirements.sh PUBLISHED PROPOSED SITES [ACCEPTED]
#
# PUBLISHED  the folder as it stands (overlays/<network>/<version>.yaml)
# PROPOSED   the folder as it would be
# SITES      a folder of site files, or a file of one site a line
# ACCEPTED   a work list that somebody has read and accepts, as this script writes it
# AS_OF      the day asked about, such as the first on which the change is in force; today without it
#
# Leaves work-list.csv in the current folder. Exit 0: may be published. 1: may not. 2: could not tell.
set -u
published=$1 proposed=$2 sites=$3 accepted=${4:-/dev/null}
as_of=${AS_OF:-$(date +%Y-%m-%d)}
verdict=0

note() { printf '== %s\n' "$1"; }
worse() { [ "$1" -le "$verdict" ] || verdict=$1; }

# the version of a folder that comes just before another one; signatures and notes beside them are no versions
before() {
  for of in "$1"/*.yaml; do basename "$of" .yaml; done | sort -t. -k1,1n -k2,2n -k3,3n |
    awk -v until="$2" '$0 == until { exit } /^[0-9]+\.[0-9]+\.[0-9]+/ { last = $0 } END { print last }'
}

note "what is published never changes"
(cd "$published" && find . -name '*.yaml' | sort) | while read -r file; do
  cmp "$published/$file" "$proposed/$file" || exit 1
done || worse 1

note "every file makes sense"
asleft lint --profiles "$proposed"
worse $?

: > work-list.csv
for file in "$proposed"/overlays/*/*.yaml; do
  network=$(basename "$(dirname "$file")")
  version=$(basename "$file" .yaml)
  [ -e "$published/overlays/$network/$version.yaml" ] && continue
  older=$(before "$proposed/overlays/$network" "$version")
  [ -n "$older" ] || continue

  note "$network $version after $older: what it deserves"
  asleft revision-check "$network/$older" "$network/$version" --profiles "$proposed"
  worse $?

  note "$network $version: whom it strands"
  asleft affected "$network/$older" "$network/$version" "$sites" --profiles "$proposed" --as-of "$as_of"
  case $? in 2) worse 2 ;; esac
  asleft affected "$network/$older" "$network/$version" "$sites" --profiles "$proposed" --as-of "$as_of" --format csv >> work-list.csv
done

# a version that strands sites is no fault, once somebody has read the list
cmp -s work-list.csv "$accepted" || {
  [ "$(wc -l < work-list.csv)" -le 1 ] || { note "work-list.csv has to be read and accepted"; worse 1; }
}
note "verdict $verdict"
exit "$verdict"
