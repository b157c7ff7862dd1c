#!/bin/sh
# Makes the records and the register beside it anew, with a key that is thrown away. For when the
# format of records moves, or a shipped profile that they were judged against: sh tests/register/make.sh,
# then ASLEFT_REWRITE=1 cargo test -p cli cases
set -eu
cd "$(dirname "$0")/../.."
cargo build --quiet -p cli
asleft=target/debug/asleft here=tests/register day=2026-11-25
keys=$(mktemp -d)
trap 'rm -rf "$keys"' EXIT
rm -f $here/office.db* $here/records/*.json
for site in barley-court-13 causeway-track-9 larkspur-row-3 orchard-close-5 osier-bank-27; do
  with=""
  if [ -f "$here/commissioning/$site.yaml" ]; then with="--commissioning $here/commissioning/$site.yaml"; fi
  # not everything complies, which is no fault of this script
  $asleft close-out tests/sites/$site.yaml $with --as-of $day --out $here/records/$site.json >/dev/null || [ $? -eq 1 ]
done
$asleft keys new --out "$keys/office" >/dev/null 2>&1
cp "$keys/office.pub" $here/office.pub
$asleft seal $here/records/larkspur-row-3.json --key "$keys/office"
$asleft register add --register $here/office.db $here/records/*.json
python3 $here/alter.py
