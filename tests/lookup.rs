//! Look-ups against published figures, and what they say of what is not there.
#![allow(clippy::unwrap_used, reason = "a panic is a test's failure")]

use turnwright::cli::{self, Exit, World};

fn run(command: &str) -> (Exit, String, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let args = std::iter::once("turnwright").chain(command.split(' ')).map(Into::into);
    let exit = cli::run(args, &mut World::new(&mut out, &mut err));
    (exit, String::from_utf8(out).unwrap(), String::from_utf8(err).unwrap())
}

fn fact(command: &str, name: &str) -> f64 {
    let (exit, out, _) = run(&format!("lookup {command} --format json"));
    assert_eq!(exit, Exit::Fine);
    let answer: serde_json::Value = serde_json::from_str(&out).unwrap();
    assert_eq!(answer["schema"], 1);
    assert!(!answer["sources"].as_array().unwrap().is_empty(), "{command}: no source");
    let facts = answer["facts"].as_array().unwrap();
    let found = facts.iter().find(|f| f["name"] == name).unwrap_or_else(|| panic!("{command}: no {name}"));
    found["value"].as_f64().unwrap()
}

#[test]
fn published_figures_come_back() {
    // ISO 724: M8 x 1 has d3 6.773 and D1 6.917.
    assert!((fact("thread M8x1", "minor diameter, external") - 6.773).abs() < 5e-4);
    assert!((fact("thread M8x1", "minor diameter, internal") - 6.917).abs() < 6e-4);
    // ASME B1.1: 1/4-20 UNC has a basic internal minor diameter of 0.1959 in.
    assert!((fact("thread 1/4-20 UNC", "minor diameter, internal") / 25.4 - 0.1959).abs() < 5e-5);
    // ISO 286-2: 25 h7 is 0 / -21 um.
    assert_eq!(fact("fit 25 h7", "lower deviation"), -21.0);
    assert_eq!(fact("fit 25 h7", "upper deviation"), 0.0);
    // Callister, appendix B: austenitic stainless 8000 kg/m3, 193 GPa.
    assert_eq!(fact("material 303", "density"), 8000.0);
    assert_eq!(fact("material 1.4305", "density"), fact("material x8crnis18-9", "density"));
    assert_eq!(fact("bar 11.3", "smallest stocked size that is not smaller"), 12.0);
}

#[test]
fn what_is_not_there_is_said_with_a_remedy() {
    let (exit, out, err) = run("lookup material 30x");
    assert_eq!((exit, out.as_str()), (Exit::Findings, ""));
    assert!(err.contains("did you mean `303`?"), "{err}");
    let (exit, _, err) = run("lookup thread Mx");
    assert_eq!(exit, Exit::Findings);
    assert!(err.contains("designations are written like"), "{err}");
    assert!(run("lookup fit 25 q7").2.contains("no class"));
    assert!(run("lookup fit -25 h7").0 == Exit::Unable, "clap takes a leading minus for an option");
    assert!(run("lookup bar 8kg").2.contains("is no size"));
}

#[test]
fn a_provisional_row_says_so_and_a_size_outside_the_series_has_no_limits() {
    assert!(run("lookup thread HA 3.5").1.contains("provisional"));
    let (exit, out, _) = run("lookup thread M7.3x0.8");
    assert_eq!(exit, Exit::Fine);
    assert!(out.contains("gives no '6g with pitch 0.8 mm'"), "{out}");
}
