//! The page and the drawings in it: every feature is drawn, every figure is a number inside its sheet, and in a real
//! browser no text overlaps or is cut off, nothing is asked of the network and the paper has the sheets it should have.
#![allow(clippy::disallowed_methods, reason = "tests read files and start a browser")]
#![allow(clippy::unwrap_used, reason = "a test fails by a panic")]

mod common;

use roxmltree::{Document, Node};
use std::ffi::OsString;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::Mutex;
use turnwright::cli::{Exit, World, run};
use turnwright::model::Part;
use turnwright::model::part::Kind;
use turnwright::report::drawing::{self, Source};

/// Every part of the demo and of this test, with the text it was read from.
fn parts() -> Vec<(Part, String, String)> {
    let files: Vec<PathBuf> = common::turn_files("parts").into_iter().chain(common::turn_files("tests/page")).collect();
    let mut all = Vec::new();
    for (name, text) in common::texts(files) {
        for part in common::parts([(name.clone(), text.clone())]) {
            all.push((part, name.clone(), text.clone()));
        }
    }
    assert!(all.len() > 20);
    all
}

fn svg(part: &Part, file: &str, text: &str) -> String {
    drawing::drawing(part, Source { file, text }, &format!("{}-drawing", part.name))
}

/// A part of a spec that is not a file.
fn drawn(spec: &str) -> String {
    let part = common::parts([("spec.turn".to_owned(), spec.to_owned())]).remove(0);
    svg(&part, "spec.turn", spec)
}

fn has_class(node: &Node, class: &str) -> bool {
    node.attribute("class").is_some_and(|c| c.split(' ').any(|c| c == class))
}

/// All text of a group, in the order of drawing.
fn words(node: &Node) -> Vec<String> {
    node.descendants().filter(|n| n.has_tag_name("text")).filter_map(|n| n.text()).map(str::to_owned).collect()
}

#[test]
fn every_drawing_is_well_formed_and_lies_within_its_sheet() {
    for (part, file, text) in parts() {
        let svg = svg(&part, &file, &text);
        let doc = Document::parse(&svg).unwrap_or_else(|e| panic!("{}: {e}", part.name));
        let root = doc.root_element();
        let sheet: Vec<f64> = root.attribute("viewBox").unwrap().split(' ').map(|n| n.parse().unwrap()).collect();
        let (w, h) = (sheet[2], sheet[3]);
        assert!(h > 60.0 && h < 262.0, "{}: {h} mm high does not go on a sheet of paper", part.name);
        let inside = |x: f64, y: f64, node: &Node| {
            assert!(
                (-0.01..=w + 0.01).contains(&x) && (-0.01..=h + 0.01).contains(&y),
                "{}: {x}, {y} is outside {w} x {h}: {:?}",
                part.name,
                &svg[node.range()]
            );
        };
        for node in root.descendants().filter(|n| n.is_element() && n.ancestors().all(|a| !a.has_tag_name("defs"))) {
            let number = |name: &str| {
                node.attribute(name).map(|v| {
                    let n: f64 = v.parse().unwrap_or_else(|_| panic!("{}: {name}={v}", part.name));
                    assert!(n.is_finite());
                    n
                })
            };
            for (x, y) in [("x", "y"), ("x1", "y1"), ("x2", "y2"), ("cx", "cy")] {
                if let (Some(x), Some(y)) = (number(x), number(y)) {
                    inside(x, y, &node);
                }
            }
            for pair in node.attribute("points").unwrap_or_default().split_whitespace() {
                let (x, y) = pair.split_once(',').unwrap();
                inside(x.parse().unwrap(), y.parse().unwrap(), &node);
            }
        }
    }
}

#[test]
fn every_feature_is_said_and_drawn() {
    for (part, file, text) in parts() {
        let svg = svg(&part, &file, &text);
        let doc = Document::parse(&svg).unwrap();
        for f in &part.features {
            let said = doc.descendants().filter(|n| n.attribute("data-feature") == Some(&f.name));
            let groups: Vec<&str> = said.filter_map(|n| n.attribute("class")).collect();
            // The blank of a thread that has no turn beneath it is said by its thread.
            let blank = matches!(&f.kind, Kind::Turn(t) if t.thread_blank);
            let label = if matches!(f.kind, Kind::Edges(_)) { "note" } else { "callout" };
            assert_eq!(
                groups.iter().filter(|g| **g == label).count(),
                usize::from(!blank),
                "{}: {}",
                part.name,
                f.name
            );
            assert!(groups.contains(&"shape"), "{}: {} has no shape", part.name, f.name);
        }
        // What is more than a surface of revolution has lines of its own.
        for f in &part.features {
            let own = matches!(
                f.kind,
                Kind::Hole(_)
                    | Kind::Thread(_)
                    | Kind::Keyway(_)
                    | Kind::Slot(_)
                    | Kind::Flat(_)
                    | Kind::Polygon(_)
                    | Kind::Knurl(_)
                    | Kind::Contour(_)
                    | Kind::Engrave(_)
            );
            if own {
                let shape = doc
                    .descendants()
                    .find(|n| n.attribute("data-feature") == Some(&f.name) && has_class(n, "shape"))
                    .unwrap();
                assert!(shape.children().any(|c| c.is_element()), "{}: {} is not drawn", part.name, f.name);
            }
        }
        let demands = doc.descendants().filter(|n| n.is_element() && has_class(n, "demand")).count();
        assert_eq!(demands, part.demands.len(), "{}", part.name);
        let block = doc.descendants().find(|n| n.is_element() && has_class(n, "title-block")).unwrap();
        let said = words(&block).join(" ");
        for wanted in [&part.name, &part.material.name, "Turnwright from", "Scale"] {
            assert!(said.contains(wanted), "{}: no {wanted} in {said}", part.name);
        }
    }
}

#[test]
fn sizes_stand_as_they_were_written() {
    let svg = drawn(
        "units in\npart p \"p\" {\n  material c45\n  length 1.50 ±0.01\n  order 10\n  general two-place ±0.01, three-place ±0.005\n  \
         turn a dia 1-1/4 ±0.002 z 0 .. 0.750\n  turn b dia 0.9990 | 1.0000 z 0.75 .. 1.5 finish 32 uin\n  bore c dia 3/8 through\n}\n",
    );
    let doc = Document::parse(&svg).unwrap();
    let of = |name: &str| {
        let callout = doc.descendants().find(|n| n.attribute("data-feature") == Some(name) && has_class(n, "callout"));
        words(&callout.unwrap()).join(" ")
    };
    assert!(of("a").contains("Ø1-1/4 ±0.002"), "{}", of("a"));
    assert!(of("b").contains("Ø 1.0000 0.9990") && of("b").contains("Ra 32"), "{}", of("b"));
    assert!(of("c").contains("Ø3/8"), "{}", of("c"));
    let lengths = doc.descendants().find(|n| n.is_element() && has_class(n, "lengths")).unwrap();
    assert_eq!(words(&lengths), ["0", "0.75", "1.50 ±0.01"]);
}

/// The scale of a drawing, in paper a millimetre, from the words of its title block, and whether it is shortened.
fn scale(doc: &Document) -> (f64, bool) {
    let words: Vec<String> =
        doc.descendants().filter(|n| n.has_tag_name("text")).filter_map(|n| n.text()).map(str::to_owned).collect();
    let at = words.iter().position(|w| w == "Scale").unwrap() + 1;
    let (a, b) = words[at].trim_end_matches(", shortened").split_once(':').unwrap();
    (a.parse::<f64>().unwrap() / b.parse::<f64>().unwrap(), words[at].ends_with("shortened"))
}

#[test]
fn the_view_is_drawn_to_its_scale() {
    for (part, file, text) in parts() {
        let svg = svg(&part, &file, &text);
        let doc = Document::parse(&svg).unwrap();
        let (s, shortened) = scale(&doc);
        let row = [0.02, 0.01, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0];
        assert!(row.contains(&s), "{}: {s} is no scale of ISO 5455", part.name);
        let face = |end: &str| {
            let line = doc.descendants().find(|n| n.attribute("data-face") == Some(end)).unwrap();
            let points = line.attribute("points").unwrap();
            points.split([' ', ',']).map(|n| n.parse::<f64>().unwrap()).collect::<Vec<_>>()
        };
        let (front, back) = (face("front"), face("back"));
        let found = back[0] - front[0];
        let wanted = part.length.nominal.to_mm() * s;
        assert!(
            if shortened { found < wanted } else { (found - wanted).abs() < 0.03 },
            "{}: {found} {wanted}",
            part.name
        );
        // The contour of the section reaches the largest diameter, to scale.
        let outline = doc.descendants().find(|n| n.is_element() && has_class(n, "outline")).unwrap();
        let ys = outline.descendants().filter_map(|n| n.attribute("points")).flat_map(|p| {
            p.split_whitespace().map(|pair| pair.split_once(',').unwrap().1.parse::<f64>().unwrap()).collect::<Vec<_>>()
        });
        let (low, high) = ys.fold((f64::MAX, f64::MIN), |(l, h), y| (l.min(y), h.max(y)));
        let dia = turnwright::model::profile::contour(&part).iter().map(|x| x.largest().to_mm()).fold(0.0, f64::max);
        let eccentric = part.features.iter().any(|f| matches!(&f.kind, Kind::Turn(t) if t.offset.is_some()));
        assert!(eccentric || (high - low - dia * s).abs() < 0.05, "{}: {} {}", part.name, high - low, dia * s);
    }
}

#[test]
fn the_same_inputs_give_the_same_bytes() {
    let (part, file, text) = parts().remove(0);
    assert_eq!(svg(&part, &file, &text), svg(&part, &file, &text));
}

#[test]
fn words_of_the_spec_cannot_become_markup() {
    let spec = "units mm\npart p \"a <script>alert(1)</script> & b\" {\n  material c45\n  length 10 ±0.1\n  order 10\n  \
                turn a dia 8 z 0 .. 10\n  engrave \"<b>&\" height 1 depth 0.1 at 5\n}\n";
    let folder = Folder::new("escape");
    let (file, page) = (folder.path("p.turn"), folder.path("p.html"));
    std::fs::write(&file, spec).unwrap();
    let (exit, told) = turnwright(&["rank", file.to_str().unwrap(), "--html", page.to_str().unwrap()]);
    assert_eq!(exit, Exit::Fine, "{told}");
    let html = std::fs::read_to_string(&page).unwrap();
    assert!(!html.contains("<script") && !html.contains("<b>"));
    assert!(html.contains("&lt;script&gt;"));
}

#[test]
fn a_page_asks_for_nothing() {
    let folder = Folder::new("alone");
    let page = folder.path("all.html");
    let (exit, told) = turnwright(&["rank", "parts", "--html", page.to_str().unwrap()]);
    assert_eq!(exit, Exit::Fine, "{told}");
    let html = std::fs::read_to_string(&page).unwrap();
    for asking in ["src=", "@import", "<script", "<iframe", "<object", "http-equiv"] {
        assert!(!html.contains(asking), "{asking}");
    }
    for place in html.match_indices("href=").map(|(i, _)| &html[i + 6..i + 12]) {
        assert!(place.starts_with('#') || place.starts_with("data:,"), "{place}");
    }
    for place in html.match_indices("url(").map(|(i, _)| &html[i + 4..i + 5]) {
        assert_eq!(place, "#");
    }
    for place in html.match_indices("http").map(|(i, _)| &html[i..i + 26]) {
        assert_eq!(place, "http://www.w3.org/2000/svg");
    }
    // A name that is used twice in the page would lead to the wrong drawing.
    let mut ids: Vec<&str> = html
        .match_indices(" id=\"")
        .map(|(i, m)| {
            let rest = &html[i + m.len()..];
            &rest[..rest.find('"').unwrap()]
        })
        .collect();
    let count = ids.len();
    ids.sort_unstable();
    ids.dedup();
    assert_eq!(ids.len(), count, "an id stands twice");
}

#[test]
fn where_a_page_cannot_be_written_that_is_said() {
    let folder = Folder::new("errors");
    let part = folder.path("p.turn");
    std::fs::copy("parts/valve-spool.turn", &part).unwrap();
    let part = part.to_str().unwrap();
    for (place, words) in [
        (folder.path(""), "is a folder"),
        (folder.path("none/answer.html"), "cannot be written"),
        (PathBuf::from(part), "was read for this answer"),
    ] {
        for command in [vec!["rank", part], vec!["mode", part, "--machine", "gang-20"]] {
            let mut args = command.clone();
            args.extend(["--html", place.to_str().unwrap()]);
            let (exit, told) = turnwright(&args);
            assert_eq!(exit, Exit::Unable, "{args:?}: {told}");
            assert!(told.contains(words), "{told}");
        }
    }
    assert_eq!(std::fs::read_to_string(part).unwrap(), std::fs::read_to_string("parts/valve-spool.turn").unwrap());
    let left: Vec<_> = std::fs::read_dir(&folder.0).unwrap().map(|e| e.unwrap().file_name()).collect();
    assert_eq!(left, ["p.turn"], "a file was left behind");
}

/// A folder for a test, gone when the test ends.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Folder {
        let path = std::env::temp_dir().join(format!("turnwright-page-{name}-{}", std::process::id()));
        std::fs::create_dir_all(&path).unwrap();
        Folder(path)
    }
    fn path(&self, name: &str) -> PathBuf {
        if name.is_empty() { self.0.clone() } else { self.0.join(name) }
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

/// Runs a command line in process; gives its exit and what it told on the standard error.
fn turnwright(args: &[&str]) -> (Exit, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let args = std::iter::once("turnwright").chain(args.iter().copied()).map(OsString::from);
    let exit = run(args, &mut World::new(&mut out, &mut err));
    (exit, String::from_utf8(err).unwrap())
}

/// A browser to look with, where there is one.
fn chromium() -> Option<PathBuf> {
    let places = ["/usr/bin/chromium", "/usr/bin/chromium-browser"];
    let found = places.iter().map(PathBuf::from).find(|p| p.is_file());
    if found.is_none() {
        // Not by a macro: the test runner keeps those lines to itself.
        let words =
            format!("skipped: no Chromium at {}; install it to have the pages looked at\n", places.join(" or "));
        std::io::stderr().write_all(words.as_bytes()).unwrap();
    }
    found
}

/// One browser at a time: it takes most of a small machine.
static BROWSER: Mutex<()> = Mutex::new(());

/// Runs the browser without a window and without a network; gives its standard output.
fn browse(browser: &Path, folder: &Folder, args: &[&str], page: &Path) -> String {
    let _one = BROWSER.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
    let out = Command::new(browser)
        .args(["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync"])
        .args(["--disable-background-networking", "--disable-component-update", "--enable-logging=stderr"])
        .args(["--host-resolver-rules=MAP * ~NOTFOUND", "--hide-scrollbars", "--window-size=1500,1000"])
        .arg(format!("--user-data-dir={}", folder.path("profile").display()))
        .args(args)
        .arg(format!("file://{}", page.display()))
        .stdin(Stdio::null())
        .output()
        .unwrap();
    let told = String::from_utf8_lossy(&out.stderr);
    let console: Vec<&str> = told.lines().filter(|l| l.contains("CONSOLE")).collect();
    assert!(console.is_empty(), "the page complains:\n{}", console.join("\n"));
    String::from_utf8_lossy(&out.stdout).into_owned()
}

/// Parts whose pages are looked at: long and broken, angled holes, inches, an eccentric, a deep cup, and the awkward ones.
const LOOKED_AT: &[&str] = &[
    "parts/valve-spool.turn",
    "parts/anchor-screw.turn",
    "parts/port-collar.turn",
    "parts/eccentric-shaft.turn",
    "parts/sensor-body.turn",
    "tests/page",
];

#[test]
fn in_a_browser_no_text_overlaps_or_is_cut_off() {
    let Some(browser) = chromium() else { return };
    let folder = Folder::new("look");
    let mut commands: Vec<Vec<&str>> = LOOKED_AT.iter().map(|p| vec!["rank", *p]).collect();
    commands.push(vec!["mode", "parts/port-collar.turn", "--machine", "switch-36"]);
    for command in commands {
        let page = folder.path("page.html");
        let mut args = command.clone();
        args.extend(["--html", page.to_str().unwrap()]);
        turnwright(&args);
        let html = std::fs::read_to_string(&page).unwrap().replace('&', "&amp;").replace('"', "&quot;");
        let frames: String = [360, 800, 1400]
            .iter()
            .map(|w| format!("<iframe width=\"{w}\" height=\"900\" style=\"border:0\" srcdoc=\"{html}\"></iframe>"))
            .collect();
        let script = std::fs::read_to_string("tests/page/look.js").unwrap();
        let harness = folder.path("harness.html");
        let text = format!(
            "<!doctype html><meta charset=\"utf-8\"><link rel=\"icon\" href=\"data:,\"><script>{script}</script>{frames}"
        );
        std::fs::write(&harness, text).unwrap();
        let dom = browse(&browser, &folder, &["--dump-dom"], &harness);
        let at = dom.find("<pre id=\"found\">").unwrap_or_else(|| panic!("{command:?}: the browser measured nothing"));
        let found = &dom[at + 16..];
        let found = &found[..found.find("</pre>").unwrap()];
        assert_eq!(found, "[]", "{command:?}");
    }
}

/// Pages of a PDF.
fn sheets(browser: &Path, folder: &Folder, page: &Path) -> usize {
    let pdf = folder.path("page.pdf");
    let print = format!("--print-to-pdf={}", pdf.display());
    browse(browser, folder, &[&print, "--no-pdf-header-footer"], page);
    let bytes = std::fs::read(&pdf).unwrap();
    let text = String::from_utf8_lossy(&bytes);
    text.match_indices("/Type /Page").filter(|(i, m)| !text[i + m.len()..].starts_with('s')).count()
}

#[test]
fn on_paper_every_part_begins_a_sheet() {
    let Some(browser) = chromium() else { return };
    let folder = Folder::new("paper");
    for paper in ["A4", "letter"] {
        let print = |parts: &[&str]| {
            let page = folder.path("page.html");
            let mut args = vec!["rank"];
            args.extend(parts);
            args.extend(["--html", page.to_str().unwrap()]);
            turnwright(&args);
            let html = std::fs::read_to_string(&page).unwrap();
            assert!(html.contains("@page {"));
            std::fs::write(&page, html.replace("@page {", &format!("@page {{ size: {paper};"))).unwrap();
            sheets(&browser, &folder, &page)
        };
        let (spool, collar) = (print(&["parts/valve-spool.turn"]), print(&["parts/port-collar.turn"]));
        assert!((4..=10).contains(&spool), "{spool} sheets of {paper} for one part");
        assert!((4..=12).contains(&collar), "{collar} sheets of {paper} for one part");
        let both = print(&["parts/valve-spool.turn", "parts/port-collar.turn"]);
        assert_eq!(both, spool + collar + 1, "both parts on {paper}, after a sheet of contents");
    }
}
