#!/bin/sh
# Silences each rule in turn and says whether a test misses it. Works on a copy of the project in the folder given, whose
# ranking is changed to leave out the rule that an environment variable names; nothing here changes:
#     tests/mutate_rules.sh /tmp/mutated
# A rule that no test misses is printed as SURVIVES, and the script ends with 1.
set -eu
here=$(cd "$(dirname "$0")/.." && pwd)
copy=${1:?the folder for the copy}
judge=src/matching/ranking.rs
mkdir -p "$copy"
for kept in Cargo.toml Cargo.lock README.md DEVELOPERS.md grammar machines parts src tests; do
    rm -rf "${copy:?}/$kept"
    cp -r "$here/$kept" "$copy/$kept"
done
cd "$copy"
spoken='for rule in RULES.iter().filter(|r| std::env::var("WITHOUT_RULE").map_or(true, |w| w != r.name())) {'
sed "s/for rule in RULES {/$spoken/" "$here/$judge" > "$judge"
if cmp -s "$here/$judge" "$judge"; then
    echo "the loop over the rules is not in $judge" >&2
    exit 2
fi
tests="--test rules --test practice"
# shellcheck disable=SC2086
cargo test --quiet $tests > /dev/null || { echo "the tests fail with every rule" >&2; exit 2; }
survivors=0
for rule in $(cargo run --quiet -- explain --list | cut -d' ' -f1); do
    # shellcheck disable=SC2086
    if told=$(WITHOUT_RULE=$rule RUST_BACKTRACE=0 cargo test --no-fail-fast --quiet $tests 2>&1); then
        echo "SURVIVES  $rule"
        survivors=1
    else
        echo "missed    $rule: by $(echo "$told" | grep -c '^---- .* stdout ----$') tests"
    fi
done
exit $survivors
