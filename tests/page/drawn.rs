//! The drawing of a part.

use crate::common;
use roxmltree::{Document, Node};
use std::path::PathBuf;
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

/// The labels of a part's features, by name.
fn label(svg: &str, name: &str) -> String {
    let doc = Document::parse(svg).unwrap();
    let callout = doc.descendants().find(|n| n.attribute("data-feature") == Some(name) && has_class(n, "callout"));
    words(&callout.unwrap()).join(" ")
}

/// A clock position has its meaning against the others: each is told, that of an eccentric and of holes in the face too,
/// and none where all are 0.
#[test]
fn clock_positions_are_told_against_each_other() {
    let part = |eccentric: u32, face: u32| {
        drawn(&format!(
            "units mm\npart p \"p\" {{\n  material c45\n  length 30 ±0.1\n  order 10\n  general iso-2768-m\n  \
             turn cam dia 20 z 0 .. 12 offset 1 ±0.02 clock {eccentric} deg\n  turn body dia 24 z 12 .. 30\n  \
             hole screws dia 2 angle 0 deg on circle 18 at 30 opens back depth 4 count 3 clock {face} deg\n  \
             keyway key width 3 P9 depth 1.8 z 15 .. 25 clock 0 deg\n}}\n"
        ))
    };
    let turned = part(30, 45);
    assert!(label(&turned, "cam").contains("clock 30°"), "{}", label(&turned, "cam"));
    assert!(label(&turned, "screws").contains("clock 45°"), "{}", label(&turned, "screws"));
    assert!(label(&turned, "key").contains("clock 0°"), "{}", label(&turned, "key"));
    let straight = part(0, 0);
    for name in ["cam", "screws", "key"] {
        assert!(!label(&straight, name).contains("clock"), "{}", label(&straight, name));
    }
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
