//! The shop file: the demo reads, and every message stands beside the mistake that it is about.
#![allow(clippy::disallowed_methods, reason = "tests read files")]
#![allow(clippy::unwrap_used, reason = "a test fails by a panic")]

use std::fs;
use turnwright::lang::Diagnostic;
use turnwright::lang::shop::read_shop;
use turnwright::model::machine::ModeKind;
use turnwright::model::shop::Markup;
use turnwright::quantity::{HourRate, Length, Ratio, Time};

fn words(text: &str, d: &Diagnostic) -> String {
    text[d.place.start as usize..d.place.end as usize].to_owned()
}

/// `# error[code]: message | underlined: words`, as the bad files write it.
fn said(text: &str, d: &Diagnostic) -> String {
    format!("{}[{}]: {} | underlined: {}", d.severity.word(), d.code, d.message, words(text, d))
}

fn expected(text: &str) -> Vec<String> {
    text.lines()
        .filter_map(|line| line.split_once("# error[").map(|(_, rest)| format!("error[{}", rest.trim_end())))
        .collect()
}

#[test]
fn every_bad_shop_file_is_told_what_is_wrong() {
    let mut files: Vec<_> = fs::read_dir("tests/bad").unwrap().map(|e| e.unwrap().path()).collect();
    files.retain(|p| p.extension().is_some_and(|e| e == "yaml"));
    files.sort();
    assert!(files.len() >= 25, "{} files", files.len());
    let mut wrong = String::new();
    for path in files {
        let text = fs::read_to_string(&path).unwrap();
        let (shop, mut found) = read_shop(0, &text);
        assert!(shop.is_none(), "{} reads", path.display());
        found.sort_by_key(|d| d.place);
        for d in &found {
            assert!(d.help.as_ref().is_some_and(|h| !h.is_empty()), "no remedy: {}", d.message);
        }
        let found: Vec<String> = found.iter().map(|d| said(&text, d).trim_end().to_owned()).collect();
        if found != expected(&text) {
            wrong += &format!("{}\n  expected {:#?}\n  found {found:#?}\n", path.display(), expected(&text));
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

#[test]
fn the_demo_shop_reads() {
    let text = fs::read_to_string("machines/shop.yaml").unwrap();
    let (shop, found) = read_shop(3, &text);
    assert!(found.is_empty(), "{found:#?}");
    let shop = shop.unwrap();
    assert_eq!(shop.name, "Fernhollow Turned Parts");
    assert_eq!(shop.currency.code(), "EUR");
    assert_eq!(shop.machines.len(), 7);
    assert_eq!(shop.markup, Markup::OfCost(Ratio::percent(22.0)));
    assert_eq!(shop.setup_times["first-article-per-dimension"], Time::minutes(3.0));
    let tilt = &shop.machines["tilt-32"];
    assert_eq!(tilt.owned["whirling"], 2);
    assert_eq!(tilt.now[0].mode, Some(ModeKind::Collet));
    assert_eq!(tilt.now[0].bar, Some(Length::mm(16.0)));
    assert_eq!(tilt.now[0].mounted.len(), 1);
    assert_eq!((tilt.now[0].mounted[0].name.as_str(), tilt.now[0].mounted[0].angle), ("whirling", None));
    assert_eq!((tilt.now[0].tools.len(), tilt.now[0].job.as_deref()), (5, Some("sensor-body")));
    let hourly = tilt.hourly.unwrap();
    assert_eq!(hourly.value, HourRate::per_hour(118.0));
    assert_eq!(hourly.place.file, 3);
    assert_eq!(&text[hourly.place.start as usize..hourly.place.end as usize], "118 EUR/h");
    assert!((shop.finance.unwrap().life_years - 8.0).abs() < 1e-9);
}

#[test]
fn thresholds_are_kept_in_the_unit_of_their_table() {
    let text = fs::read_to_string("machines/shop.yaml").unwrap();
    let text = text + "thresholds: { cp-fits: 1.67, thermal-drift: 0.005 mm, contingency: 15 % }\n";
    let (shop, found) = read_shop(0, &text);
    assert!(found.is_empty(), "{found:#?}");
    let thresholds = shop.unwrap().thresholds;
    assert_eq!(thresholds["cp-fits"], 1.67);
    assert!((thresholds["thermal-drift"] - 5.0).abs() < 1e-9, "in um");
    assert!((thresholds["contingency"] - 15.0).abs() < 1e-9, "in %");
}

#[test]
fn a_list_counts_what_is_owned() {
    let text = fs::read_to_string("machines/shop.yaml").unwrap();
    let text = text.replace("{ whirling: 2 }", "[whirling, whirling]");
    let (shop, found) = read_shop(0, &text);
    assert!(found.is_empty(), "{found:#?}");
    assert_eq!(shop.unwrap().machines["tilt-32"].owned["whirling"], 2);
}

#[test]
fn collets_are_listed_by_kind() {
    use turnwright::model::part::BarShape::{Hex, Round};
    use turnwright::model::shop::Holding;
    let text = fs::read_to_string("machines/shop.yaml").unwrap();
    let text = text.replace(
        "hourly: 96 EUR/h",
        "hourly: 96 EUR/h\n    collets: { main: [20 mm, 24 .. 26 mm, hex 24 mm], sub: [] }",
    );
    let (shop, found) = read_shop(0, &text);
    assert!(found.is_empty(), "{found:#?}");
    let holdings = &shop.unwrap().machines["fixed-65"].holdings;
    let main: Vec<_> = holdings[&Holding::Main].iter().map(|h| (h.shape, h.low.to_mm(), h.high.to_mm())).collect();
    assert_eq!(main, [(Round, 20.0, 20.0), (Round, 24.0, 26.0), (Hex, 24.0, 24.0)]);
    // An empty list says that there are none; a list that is left out says nothing.
    assert!(holdings[&Holding::Sub].is_empty() && !holdings.contains_key(&Holding::Bushing));
}

#[test]
fn hostile_files_end_in_a_message() {
    let deep = "a: ".to_owned() + &"[".repeat(100_000);
    let bomb = "a: &a [x, x]\nb: &b [*a, *a]\nc: &c [*b, *b]\nd: [*c, *c, *c, *c]\n".to_owned();
    let large = "a".repeat(2 << 20);
    for text in [deep, bomb, large, String::new(), "\u{feff}".to_owned(), "- 1".to_owned(), "a: !!binary x".to_owned()]
    {
        let (shop, found) = read_shop(0, &text);
        assert!(shop.is_none());
        assert!(!found.is_empty());
        for d in found {
            assert!(d.place.start <= d.place.end && d.place.end as usize <= text.len());
            assert!(text.is_char_boundary(d.place.start as usize) && text.is_char_boundary(d.place.end as usize));
        }
    }
}

#[test]
fn names_are_held_against_the_machines() {
    let mut sources = turnwright::lang::Sources::default();
    sources.add("m.turn", fs::read_to_string("machines/gang-20.turn").unwrap());
    let machines = turnwright::lang::read(&sources).machines;
    let head = "shop: Invented\ncurrency: EUR\nmarkup: 22 % of cost\nscrap: 2 %\nsetup pieces: 4\n\
                people: { setters: 2, setter: 58 EUR/h, operator: 42 EUR/h, machines per operator: 4 }\nmachines:\n";
    let told = |machine: &str| {
        let text = format!("{head}  {machine}\n");
        let (_, found) = turnwright::lang::shop::read_shop_with(0, &text, &machines);
        found.iter().map(|d| (d.code, words(&text, d), d.help.clone().unwrap())).collect::<Vec<_>>()
    };
    assert!(told("gang-20: { hourly: 64 EUR/h, owned: [angle-head], now: [{ mode: guided, bar: 20 mm }] }").is_empty());
    let one = |code: &'static str, words: &str, help: &str| vec![(code, words.to_owned(), help.to_owned())];
    assert_eq!(told("gang-02: { hourly: 64 EUR/h }"), one("unknown-machine", "gang-02", "did you mean `gang-20`?"));
    let owned = "gang-20: { hourly: 64 EUR/h, owned: { angel-head: 2 } }";
    assert_eq!(told(owned), one("unknown-option", "angel-head", "did you mean `angle-head`?"));
    let mode = "gang-20: { hourly: 64 EUR/h, now: [{ mode: collet }] }";
    assert_eq!(told(mode), one("mode-not-there", "collet", "it has guided"));
    let flat = "fixed: { hourly: 64 EUR/h, collets: { sub: [8 mm] } }";
    let fixed = "units mm\nmachine fixed {\nheadstock fixed\nspindle main { bore 26 }\nmode collet { bar 3 .. 20 }\n\
                 carrier gang { serves main fixed 6 }\n}\n";
    let mut sources = turnwright::lang::Sources::default();
    sources.add("f.turn", fixed.to_owned());
    let read = turnwright::lang::read(&sources).machines;
    for (list, help) in [("sub", "no sub-spindle"), ("bushing", "no mode `guided`")] {
        let text = format!("{head}  {}\n", flat.replace("sub", list));
        let (_, found) = turnwright::lang::shop::read_shop_with(0, &text, &read);
        assert_eq!(
            found.iter().map(|d| (d.code, d.message.contains(help))).collect::<Vec<_>>(),
            [("contradiction", true)]
        );
    }
    let bar = "gang-20: { hourly: 64 EUR/h, now: [{ mode: guided, bar: 25 mm }] }";
    assert_eq!(told(bar), one("bar-out-of-range", "25 mm", "it takes 2 mm to 20 mm"));
}
