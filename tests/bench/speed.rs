//! How fast: reading, resolving, and evaluating a part on a machine in a mode. Run with `cargo bench`; results with date
//! and machine stand in DEVELOPERS.md.
#![allow(clippy::disallowed_methods, clippy::unwrap_used, reason = "benches read files")]

use criterion::{BatchSize, Criterion, Throughput, criterion_group, criterion_main};
use std::hint::black_box;
use turnwright::lang::{self, Sources, syntax};
use turnwright::matching::{By, rank};
use turnwright::model::part::End;
use turnwright::model::{Machine, Part, Shop};
use turnwright::planning::{PartView, Reach, Task, plan};
use turnwright::tables::thresholds::Thresholds;

/// Every spec of the demo, one text after the other, as often as needed for about a megabyte.
fn long_text() -> String {
    let mut text = String::new();
    let demo = demo_files();
    while text.len() < 900_000 {
        for (_, t) in &demo {
            text.push_str(t);
        }
    }
    text.truncate(text.char_indices().take_while(|(i, _)| *i < 1_000_000).last().map_or(0, |(i, _)| i));
    text
}

fn demo_files() -> Vec<(String, String)> {
    let mut files = Vec::new();
    for folder in ["parts", "machines"] {
        let mut paths: Vec<_> = std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()).collect();
        paths.retain(|p| p.extension().is_some_and(|e| e == "turn"));
        paths.sort();
        files.extend(paths.iter().map(|p| (p.display().to_string(), std::fs::read_to_string(p).unwrap())));
    }
    files
}

fn demo() -> (Vec<Part>, Vec<Machine>, Shop) {
    let mut sources = Sources::default();
    for (name, text) in demo_files() {
        sources.add(&name, text);
    }
    let reading = lang::read(&sources);
    let shop = std::fs::read_to_string("machines/shop.yaml").unwrap();
    let (shop, _) = lang::shop::read_shop(0, &shop);
    (reading.parts, reading.machines, shop.unwrap())
}

fn parse(c: &mut Criterion) {
    let text = long_text();
    let mut group = c.benchmark_group("parse");
    group.throughput(Throughput::Bytes(text.len() as u64));
    group.sample_size(20);
    group.bench_function("a megabyte of specs", |b| {
        b.iter_batched(
            Vec::new,
            |mut out| black_box(syntax::parse(0, &text, &mut out)).lines.len(),
            BatchSize::SmallInput,
        );
    });
    group.finish();
}

fn resolve(c: &mut Criterion) {
    let mut sources = Sources::default();
    let mut bytes = 0;
    for (name, text) in demo_files() {
        bytes += text.len() as u64;
        sources.add(&name, text);
    }
    let mut group = c.benchmark_group("resolve");
    group.throughput(Throughput::Bytes(bytes));
    group.bench_function("the demo, text to model", |b| b.iter(|| black_box(lang::read(&sources)).parts.len()));
    group.finish();
}

fn evaluate(c: &mut Criterion) {
    let (parts, machines, shop) = demo();
    let modes: usize = machines.iter().map(|m| m.modes.len()).sum();
    let mut group = c.benchmark_group("rank");
    group.sample_size(20);
    // One evaluation is a part on a machine in a mode, both ends planned and judged.
    group.throughput(Throughput::Elements((parts.len() * modes) as u64));
    group.bench_function("all demo parts on all machines and modes", |b| {
        b.iter(|| parts.iter().map(|p| rank(black_box(p), &machines, &shop, None, By::Cost).rows.len()).sum::<usize>());
    });
    group.finish();
}

/// The full plan, both ends, of the demo part with the most operations on every machine in every mode.
fn full_plan(c: &mut Criterion) {
    let (parts, machines, shop) = demo();
    let thresholds = Thresholds::with(&shop.thresholds);
    let all = |part: &Part| {
        let view = PartView::new(part);
        let mut operations = 0;
        for machine in &machines {
            for mode in &machine.modes {
                for first in [End::Front, End::Back] {
                    let task = Task::new(&view, machine, mode, &shop, &thresholds, first);
                    let task = Task { reach: Reach::Purchasable, lot: 500, ..task };
                    operations += plan(&task).unwrap().operations.len();
                }
            }
        }
        operations
    };
    let most = parts.iter().max_by_key(|p| all(p)).unwrap();
    let mut group = c.benchmark_group("plan");
    group.sample_size(20);
    let name = format!("{} on all machines and modes, both ends", most.name);
    group.bench_function(&name, |b| b.iter(|| all(black_box(most))));
    group.finish();
}

criterion_group!(benches, parse, resolve, evaluate, full_plan);
criterion_main!(benches);
