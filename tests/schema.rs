//! Every answer's JSON is of its published shape.
#![allow(clippy::unwrap_used, reason = "a test fails by a panic")]
#![allow(clippy::disallowed_methods, reason = "tests write files")]

use serde_json::{Value, json};
use std::ffi::OsString;
use turnwright::cli::{self, World};

fn run(args: &[&str]) -> Value {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let args = ["turnwright"].iter().chain(args).map(OsString::from);
    cli::run(args, &mut World::new(&mut out, &mut err));
    let text = String::from_utf8(out).unwrap();
    serde_json::from_str(&text).unwrap_or_else(|e| panic!("{e}\n{text}\n{}", String::from_utf8_lossy(&err)))
}

/// Objects take no field that the schema does not know.
fn closed(schema: &mut Value) {
    match schema {
        Value::Object(map) => {
            if map.contains_key("properties") && !map.contains_key("$ref") {
                map.insert("unevaluatedProperties".to_owned(), json!(false));
            }
            map.values_mut().for_each(closed);
        }
        Value::Array(list) => list.iter_mut().for_each(closed),
        _ => {}
    }
}

#[test]
fn every_answer_is_of_its_published_shape() {
    let folder = std::env::temp_dir().join(format!("turnwright-schema-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let register = folder.join("quotes.sqlite").display().to_string();
    let spool = "parts/valve-spool.turn";
    let quote = |quantity| {
        run(&[
            "quote",
            spool,
            "--quantity",
            quantity,
            "--save",
            "--register",
            &register,
            "--date",
            "2026-11-25",
            "--format",
            "json",
        ])
    };
    let (one, other) = (quote("500"), quote("600"));
    let identity = |q: &Value| q[0]["identity"].as_str().unwrap().to_owned();
    let (one_of, other_of) = (identity(&one), identity(&other));
    let giant = folder.join("giant.turn");
    std::fs::write(&giant, "units mm\npart giant \"too large\" {\n  material 11smn30\n  length 20\n  order 10\n  turn body dia 300 z 0 .. 20\n}\n").unwrap();
    let cases: Vec<(&str, Vec<&str>)> = vec![
        ("ranking", vec!["rank", "parts", "--format", "json", "--fit"]),
        ("ranking", vec!["mode", spool, "--machine", "switch-36", "--format", "json"]),
        ("plan", vec!["plan", spool, "--machine", "gang-20", "--alternatives", "--compare", "--format", "json"]),
        ("quote", vec!["quote", "parts", "--format", "json"]),
        ("sold", vec!["quote", "parts", "--reader", "customer", "--format", "json"]),
        ("sold", vec!["quote", giant.to_str().unwrap(), "--reader", "customer", "--format", "json"]),
        ("quote", vec!["quote", giant.to_str().unwrap(), "--format", "json"]),
        ("setup", vec!["setup", "now", spool, "--machine", "gang-20", "--format", "json"]),
        ("matrix", vec!["setup", "--matrix", "parts/cortex-screw.turn", "--machine", "tilt-32", "--format", "json"]),
        ("why", vec!["why", spool, "gang-20", "--format", "json"]),
        ("before", vec!["why", spool, "gang-20", "switch-36", "--format", "json"]),
        ("rule", vec!["explain", "hand-over", "--format", "json"]),
        ("lookup", vec!["lookup", "material", "42crmo4", "--format", "json"]),
        ("calibration", vec!["calibrate", "parts/records.csv", "--format", "json"]),
        ("mix", vec!["mix", "parts/mix.yaml", "--format", "json"]),
        (
            "buy",
            vec![
                "buy",
                "parts/mix.yaml",
                "--candidate",
                "machines/candidates/long-42.turn",
                "--option",
                "gang-20:whirling",
                "--draws",
                "2",
                "--most",
                "1",
                "--format",
                "json",
            ],
        ),
        ("quotes", vec!["quotes", "list", "--register", &register, "--format", "json"]),
        ("differences", vec!["quotes", "compare", &one_of, &other_of, "--register", &register, "--format", "json"]),
    ];
    let mut wrong = String::new();
    for (answer, args) in cases {
        let mut schema = run(&["schema", answer]);
        closed(&mut schema);
        let shape = jsonschema::validator_for(&schema).unwrap();
        let told = run(&args);
        for e in shape.iter_errors(&told).take(3) {
            wrong += &format!("{args:?}: {} at {}\n", e, e.instance_path());
        }
        // A shape that takes anything would be no shape.
        let mut less = told.clone();
        let object =
            less.as_array_mut().and_then(|l| l.first_mut()).unwrap_or(&mut Value::Null).as_object_mut().is_some();
        if object {
            let first = less[0].as_object_mut().unwrap();
            first.insert("unheard-of".to_owned(), json!(1));
            assert!(!shape.is_valid(&less), "{answer} takes any field");
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
    let _ = std::fs::remove_dir_all(&folder);
}
