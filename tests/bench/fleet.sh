#!/bin/sh
# The optimisation core on public research instances.
# Usage: tests/bench/fleet.sh FOLDER [SECONDS]
# FOLDER holds instance files (generalised assignment in the OR-Library format; unrelated machines with setups; one machine
# with setups and weighted tardiness) and best_known.csv, at any depth; archives *.tar.xz are unpacked to the side.
set -eu
folder=${1:?folder of instances}
seconds=${2:-10}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cp -r "$folder" "$work/instances"
find "$work/instances" -name '*.tar.xz' | while read -r archive; do
    tar -xJf "$archive" -C "$(dirname "$archive")"
done
cd "$(dirname "$0")/../.."
date -u +%Y-%m-%d
grep -m1 'model name' /proc/cpuinfo || true
cargo bench --locked --bench fleet -- "$work/instances" "$seconds"
