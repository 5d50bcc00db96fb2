//! Hostile input: whatever bytes come, reading ends, and soon, without a panic; what passes the checks can be ranked.
#![allow(clippy::disallowed_methods, clippy::unwrap_used, reason = "tests read files, and a panic is their failure")]

use proptest::prelude::*;
use std::fs;
use std::time::{Duration, Instant};
use turnwright::cli::{self, World};
use turnwright::lang::{self, Sources};
use turnwright::matching::{By, rank};
use turnwright::model::{Machine, Shop};

fn demo(folder: &str) -> Vec<String> {
    let mut paths: Vec<_> = fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()).collect();
    paths.retain(|p| p.extension().is_some_and(|e| e == "turn"));
    paths.sort();
    paths.iter().map(|p| fs::read_to_string(p).unwrap()).collect()
}

fn shop_and_machines() -> (Shop, Vec<Machine>) {
    let mut sources = Sources::default();
    for (i, text) in demo("machines").into_iter().enumerate() {
        sources.add(&format!("m{i}.turn"), text);
    }
    let shop = lang::shop::read_shop(99, &fs::read_to_string("machines/shop.yaml").unwrap()).0.unwrap();
    (shop, lang::read(&sources).machines)
}

fn read(text: &str) -> lang::Reading {
    let mut sources = Sources::default();
    sources.add("hostile.turn", text.to_owned());
    let reading = lang::read(&sources);
    for d in reading.diagnostics.iter().take(50) {
        // Drawing must not panic either, whatever lies under the words.
        lang::render::drawn(d, &sources, false);
        lang::render::short(d, &sources);
    }
    let _ = lang::format::format(text);
    reading
}

/// Reading ends within a second. The debug build is slower by ten and the machine may be busy, hence the factor.
fn soon(what: &str, text: &str) {
    let start = Instant::now();
    read(text);
    let limit = Duration::from_secs(if cfg!(debug_assertions) { 10 } else { 1 });
    assert!(start.elapsed() < limit, "{what}: {:?}", start.elapsed());
}

#[test]
fn large_and_deep_texts_end_soon() {
    let n = 100_000;
    soon("deep parentheses", &format!("units mm\nlet a = {}1{}\n", "(".repeat(n), ")".repeat(n)));
    soon("braces", &"{".repeat(1_000_000));
    soon("closing braces", &"}".repeat(1_000_000));
    soon("one long line", &format!("part a \"{}\" {{", "x".repeat(1_000_000)));
    soon("one long word", &"a".repeat(1_000_000));
    soon("strange signs", &"§ ".repeat(300_000));
    soon("lets", &(0..40_000).map(|i| format!("let a{i} = {i} mm\n")).collect::<String>());
    let lines: String = (0..4_000).map(|i| format!("  turn t{i} dia 8 z {i} .. {}\n", i + 1)).collect();
    soon("statements", &format!("units mm\npart p \"p\" {{\n  material 303\n  length 4_000\n{lines}}}\n"));
    soon("unknown statements", &format!("part p \"p\" {{\n{}}}", "  foo bar\n".repeat(50_000)));
    let like: String = (0..4_000).map(|i| format!("machine m{i} like m{} with {{ }}\n", i + 1)).collect();
    soon("a chain of likeness", &like);
    let family = (1..10_000).map(|i| i.to_string()).collect::<Vec<_>>().join(", ");
    soon(
        "a large family",
        &format!("units mm\nfamily f \"f\" (length: {family}) {{\n material 303\n length (length)\n}}\n"),
    );
}

#[test]
fn what_no_drawing_needs_is_refused_in_words() {
    let codes = |text: &str| read(text).diagnostics.into_iter().map(|d| d.code).collect::<Vec<_>>();
    let like: String = (0..40).map(|i| format!("machine m{i} like m{} with {{ }}\n", i + 1)).collect();
    assert!(codes(&like).contains(&"like-chain"));
    let signs = codes(&"§ ".repeat(2_000));
    assert_eq!(signs.len(), lang::MOST_FAULTS + 1);
    assert_eq!(signs.last(), Some(&"too-many-faults"));
    let many = format!("part p \"p\" {{\n{}}}", "  face front\n".repeat(3_000));
    assert!(codes(&many).contains(&"too-many-statements"));
}

#[test]
fn numbers_without_sense_are_errors_and_not_panics() {
    for value in ["0", "1e308", "99999999999999999999999999", "0/0", "1/0", "-5", "3/0", "1-1/0", "0.0000000001"] {
        let text = format!(
            "units mm\npart p \"p\" {{\n  material 303\n  length {value}\n  order {value}\n  turn a dia {value} z 0 .. {value}\n  hole h dia {value} at {value} angle {value} deg opens front count {value}\n  thread M{value} x {value} z 0 .. {value}\n}}\n"
        );
        read(&text);
    }
}

#[test]
fn a_file_that_is_too_large_or_no_text_is_refused() {
    for (input, words) in [(vec![b'#'; (1 << 20) + 1], "1 MiB"), (b"part \xff".to_vec(), "UTF-8")] {
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let mut input = input.as_slice();
        let mut world = World::new(&mut out, &mut err).with_input(&mut input);
        let exit = cli::run(["turnwright", "check", "-"].map(Into::into), &mut world);
        let told = String::from_utf8(out).unwrap() + &String::from_utf8(err).unwrap();
        assert_ne!(exit, cli::Exit::Fine);
        assert!(told.contains(words), "{told}");
    }
}

/// A demo text with pieces deleted, doubled, swapped or replaced by signs that hurt.
fn mutated() -> impl Strategy<Value = String> {
    let texts: Vec<String> = demo("parts").into_iter().chain(demo("machines")).collect();
    let bits = [
        "{",
        "}",
        "(",
        ")",
        "\"",
        "..",
        "±",
        "0",
        "-1",
        "1e9",
        "mm",
        "in",
        "|",
        "[",
        "ø",
        "\u{0}",
        "é",
        "#",
        "like",
        "99999999999",
    ];
    (
        prop::sample::select(texts),
        prop::collection::vec(
            (0..5_u8, any::<prop::sample::Index>(), any::<prop::sample::Index>(), 0..bits.len()),
            1..6,
        ),
    )
        .prop_map(move |(text, edits)| {
            let mut words: Vec<String> = text.split_inclusive([' ', '\n']).map(str::to_owned).collect();
            for (kind, a, b, bit) in edits {
                let (a, b) = (a.index(words.len()), b.index(words.len()));
                match kind {
                    0 => drop(words.remove(a)),
                    1 => words.insert(a, words[b].clone()),
                    2 => words.swap(a, b),
                    3 => words[a] = format!("{} ", bits[bit]),
                    _ => words.truncate(a.max(1)),
                }
                if words.is_empty() {
                    words.push(String::new());
                }
            }
            words.concat()
        })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_text_is_read_without_a_panic(text in "\\PC*|[ -~\n{}()\"#.]{0,400}") {
        read(&text);
    }

    #[test]
    fn any_bytes_are_taken(bytes in prop::collection::vec(any::<u8>(), 0..600)) {
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let mut input = bytes.as_slice();
        let mut world = World::new(&mut out, &mut err).with_input(&mut input);
        cli::run(["turnwright", "check", "-"].map(Into::into), &mut world);
    }

    #[test]
    fn mutated_specs_are_read_and_what_passes_is_ranked(text in mutated()) {
        let reading = read(&text);
        if reading.diagnostics.iter().any(lang::Diagnostic::is_error) {
            return Ok(());
        }
        let (shop, demo_machines) = shop_and_machines();
        let machines = if reading.machines.is_empty() { &demo_machines } else { &reading.machines };
        for part in reading.parts.iter().take(4) {
            let ranking = rank(part, machines, &shop, None, By::Cost);
            for row in &ranking.rows {
                prop_assert!(row.cost.cost.is_finite() && row.judged.plan.cycle.total.is_finite());
            }
        }
        if reading.parts.is_empty() {
            let mut sources = Sources::default();
            sources.add("p.turn", fs::read_to_string("parts/anchor-screw.turn").unwrap());
            for part in lang::read(&sources).parts {
                let ranking = rank(&part, machines, &shop, None, By::Cost);
                prop_assert!(ranking.rows.iter().all(|r| r.cost.cost.is_finite()));
            }
        }
    }

    #[test]
    fn layout_is_the_same_when_done_twice(text in mutated()) {
        if let Ok(once) = lang::format::format(&text) {
            let twice = lang::format::format(&once);
            prop_assert_eq!(twice.ok(), Some(once));
        }
    }
}
