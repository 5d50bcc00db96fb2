//! The command line as a user meets it: what goes to which stream, how it ends, and how its text looks.
//!
//! The texts in tests/snapshots hold the layout; `UPDATE=1 cargo test --test commands` writes them anew. The numbers in
//! them follow from the demo and are held by the tests of the decisive cases.
#![allow(clippy::unwrap_used, reason = "a test fails by a panic")]
#![allow(clippy::disallowed_methods, reason = "tests read and write files")]

use std::ffi::OsString;
use std::fs;
use std::io::{self, Write};
use std::path::PathBuf;
use turnwright::cli::{self, Exit, World};

struct Ran {
    exit: Exit,
    out: String,
    err: String,
}

fn run_with(args: &[&str], input: &str) -> Ran {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let mut input = input.as_bytes();
    let mut world = World::new(&mut out, &mut err).with_input(&mut input);
    let words = std::iter::once("turnwright").chain(args.iter().copied()).map(OsString::from);
    let exit = cli::run(words, &mut world);
    Ran { exit, out: String::from_utf8(out).unwrap(), err: String::from_utf8(err).unwrap() }
}

fn run(args: &[&str]) -> Ran {
    run_with(args, "")
}

/// A folder for files of one test, empty.
fn scratch(name: &str) -> PathBuf {
    let dir = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = fs::remove_dir_all(&dir);
    fs::create_dir_all(&dir).unwrap();
    dir
}

fn json(ran: &Ran) -> serde_json::Value {
    serde_json::from_str(&ran.out).unwrap_or_else(|e| panic!("not JSON: {e}\n{}", ran.out))
}

#[test]
fn help_of_every_command_shows_an_example_that_runs() {
    for command in ["check", "fmt", "rank", "mode", "explain"] {
        let ran = run(&[command, "--help"]);
        assert_eq!((ran.exit, ran.err.as_str()), (Exit::Fine, ""), "{command}");
        let example = ran.out.lines().find_map(|l| l.strip_prefix("Example: turnwright ")).unwrap();
        let words: Vec<&str> = example.split_whitespace().collect();
        assert_eq!(words[0], command);
        let ran = run(&words);
        // `fmt --check` may find something to lay out.
        assert_ne!(ran.exit, Exit::Unable, "{example}: {}{}", ran.out, ran.err);
        assert_eq!(ran.err, "", "{example}");
    }
    let ran = run(&["--help"]);
    assert_eq!(ran.exit, Exit::Fine);
    for words in ["Example: turnwright rank", "Exit codes: 0 fine, 1 findings or nothing fits, 2 could not run."] {
        assert!(ran.out.contains(words), "`{words}` is not in {}", ran.out);
    }
    let ran = run(&["--version"]);
    assert_eq!((ran.exit, ran.out.as_str()), (Exit::Fine, concat!("turnwright ", env!("CARGO_PKG_VERSION"), "\n")));
}

#[test]
fn exits_are_0_fine_1_findings_2_could_not_run() {
    let folder = scratch("exits");
    let huge = fs::read_to_string("parts/flange-45.turn").unwrap().replace("dia 45", "dia 95");
    let bad = folder.join("huge.turn");
    fs::write(&bad, huge).unwrap();
    let bad = bad.to_str().unwrap();
    let none = folder.join("none");
    fs::create_dir(&none).unwrap();
    let none = none.to_str().unwrap();
    let fine: &[&[&str]] = &[
        &["check", "parts", "machines", "machines/shop.yaml"],
        &["rank", "parts/contact-pin.turn"],
        &["mode", "parts/contact-pin.turn", "--machine", "gang-12"],
        &["explain", "--list"],
    ];
    let findings: &[&[&str]] =
        &[&["check", "tests/bad"], &["rank", bad], &["mode", "parts/flange-45.turn", "--machine", "gang-12"]];
    let unable: &[&[&str]] = &[
        &[],
        &["frobnicate"],
        &["rank"],
        &["rank", "parts/contact-pin.turn", "--quantity", "0"],
        &["rank", "parts/contact-pin.turn", "--width", "12"],
        &["rank", "parts/contact-pin.turn", "--by", "luck"],
        &["rank", "no-such-file.turn"],
        &["check", "no-such-file.turn"],
        &["fmt", "no-such-file.turn"],
        &["rank", none],
        &["rank", "parts/contact-pin.turn", "--machines", none],
        &["mode", "parts/contact-pin.turn", "--machine", "gang-21"],
        &["explain", "hand-ovr"],
    ];
    for (code, lines) in [(0, fine), (1, findings), (2, unable)] {
        for args in lines {
            let ran = run(args);
            assert_eq!(ran.exit.code(), code, "{args:?}\n{}{}", ran.out, ran.err);
            if code == 2 {
                assert_eq!(ran.out, "", "{args:?} writes to the standard output");
                assert!(!ran.err.trim().is_empty(), "{args:?} says nothing");
            } else {
                assert_eq!(ran.err, "", "{args:?}");
            }
        }
    }
}

#[test]
fn mistakes_are_told_with_what_to_do() {
    for (args, words) in [
        (&["mode", "parts/contact-pin.turn", "--machine", "swich-36"] as &[&str], "did you mean `switch-36`?"),
        (&["mode", "parts/contact-pin.turn", "--machine", "zzz"], "known are fixed-65, gang-12"),
        (&["explain", "hand-ovr"], "did you mean `hand-over`?"),
        (&["explain", "zzz"], "`explain --list` names them"),
        (&["rank", "no-such-file.turn"], "`no-such-file.turn` cannot be read"),
        (&["rank", "machines"], "no part in the files given"),
        (&["rank", "parts/contact-pin.turn", "--machines", "parts"], "shop.yaml` cannot be read"),
        (&["rank", "parts/contact-pin.turn", "--shop", "no.yaml"], "`no.yaml` cannot be read"),
    ] {
        let ran = run(args);
        assert_eq!(ran.exit, Exit::Unable, "{args:?}");
        assert!(ran.err.contains(words), "{args:?}: `{words}` is not in {}", ran.err);
    }
}

#[test]
fn json_goes_alone_to_the_standard_output_with_its_schema() {
    let ran = run(&["rank", "parts/anchor-screw.turn", "parts/nozzle-3.turn", "--format", "json"]);
    assert_eq!((ran.exit, ran.err.as_str()), (Exit::Fine, ""));
    let answers = json(&ran);
    let answers = answers.as_array().unwrap();
    assert_eq!(answers.len(), 2);
    for (answer, part) in answers.iter().zip(["anchor-screw", "nozzle-3"]) {
        assert_eq!(answer["schema"], 1);
        assert_eq!(answer["part"], part);
        assert_eq!(answer["rows"].as_array().unwrap().len(), 11);
    }
    let ran = run(&["mode", "parts/port-collar.turn", "--machine", "switch-36", "--format", "json"]);
    assert_eq!(json(&ran)[0]["schema"], 1);
    assert_eq!(json(&ran)[0]["rows"].as_array().unwrap().len(), 2);
    let ran = run(&["check", "--format", "json", "tests/bad"]);
    assert_eq!((ran.exit, ran.err.as_str()), (Exit::Findings, ""));
    let told = json(&ran);
    assert_eq!(told["schema"], 1);
    assert!(told["errors"].as_u64().unwrap() > 20);
    assert!(!told["faults"].as_array().unwrap().is_empty());
    let ran = run(&["explain", "hand-over", "--format", "json"]);
    assert_eq!(json(&ran)["schema"], 1);
    assert_eq!(json(&ran)["rule"], "hand-over");
    let ran = run(&["explain", "--list", "--format", "json"]);
    assert!(json(&ran).as_array().unwrap().iter().all(|r| r["schema"] == 1));
}

#[test]
fn csv_has_the_same_columns_in_every_line() {
    let ran = run(&["rank", "parts/anchor-screw.turn", "parts/nozzle-3.turn", "--format", "csv"]);
    assert_eq!((ran.exit, ran.err.as_str()), (Exit::Fine, ""));
    let head = "part,rank,machine,mode,first_end,standing,verdict,setup_min,cycle_s,quantity,cost,price,currency,stock,\
                to_buy,reason,due,reference";
    let lines: Vec<&str> = ran.out.split_terminator("\r\n").collect();
    assert_eq!(lines[0], head);
    // Eleven rows a part, at three and at four quantities.
    assert_eq!(lines.len(), 1 + 11 * 3 + 11 * 4);
    let columns = head.split(',').count();
    for line in &lines[1..] {
        let quoted: usize = line.split('"').skip(1).step_by(2).map(|q| q.matches(',').count()).sum();
        assert_eq!(line.matches(',').count() - quoted + 1, columns, "{line}");
    }
}

#[test]
fn colour_is_a_choice_and_never_in_data() {
    let colourless = run(&["rank", "parts/contact-pin.turn"]);
    assert!(!colourless.out.contains('\u{1b}'), "no terminal, no colour");
    let never = run(&["rank", "parts/contact-pin.turn", "--color", "never"]);
    assert_eq!(never.out, colourless.out);
    let always = run(&["rank", "parts/contact-pin.turn", "--color", "always"]);
    assert!(always.out.contains("\u{1b}["));
    // Colour changes no word and no column.
    assert_eq!(without_colour(&always.out), never.out);
    let data = run(&["rank", "parts/contact-pin.turn", "--color", "always", "--format", "json"]);
    assert!(!data.out.contains('\u{1b}'));
    let told = run(&["check", "tests/bad", "--color", "always"]);
    assert!(told.out.contains("\u{1b}["));
}

fn without_colour(text: &str) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once("\u{1b}[") {
        out.push_str(before);
        rest = after.split_once('m').unwrap().1;
    }
    out + rest
}

/// A reader that closed the pipe.
struct Closed;

impl Write for Closed {
    fn write(&mut self, _: &[u8]) -> io::Result<usize> {
        Err(io::ErrorKind::BrokenPipe.into())
    }
    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// A disk that is full.
struct Full;

impl Write for Full {
    fn write(&mut self, _: &[u8]) -> io::Result<usize> {
        Err(io::ErrorKind::StorageFull.into())
    }
    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[test]
fn a_closed_pipe_is_quiet_and_a_full_disk_is_not_fine() {
    let args = ["turnwright", "rank", "parts/contact-pin.turn"];
    let mut err = Vec::new();
    let exit = cli::run(args.map(OsString::from), &mut World::new(&mut Closed, &mut err));
    assert_eq!((exit, err.as_slice()), (Exit::Fine, b"".as_slice()));
    let exit = cli::run(args.map(OsString::from), &mut World::new(&mut Full, &mut err));
    assert_eq!(exit, Exit::Unable);
}

#[test]
fn explain_lists_and_explains_every_rule() {
    let list = run(&["explain", "--list"]);
    assert_eq!(list.exit, Exit::Fine);
    for line in list.out.lines() {
        let (rule, question) = line.split_once(' ').unwrap();
        assert!(question.trim().ends_with('?'), "{line}");
        let ran = run(&["explain", rule, "--width", "80"]);
        assert_eq!(ran.exit, Exit::Fine, "{rule}");
        for title in ["compares", "why", "source", "a spec that trips it", "one that does not"] {
            assert!(ran.out.contains(&format!("\n{title}\n")), "{rule}: no `{title}`");
        }
    }
}

#[test]
fn check_tells_faults_drawn_short_or_as_data() {
    let file = "tests/bad/geometry-bore-through-wall.turn";
    let drawn = run(&["check", file]);
    assert!(drawn.out.contains("error[bore-through-wall]") && drawn.out.contains("^"), "{}", drawn.out);
    assert!(drawn.out.ends_with("1 file: 1 error, 0 warnings\n"), "{}", drawn.out);
    let short = run(&["check", "--format", "short", file]);
    assert_eq!(short.out.lines().count(), 1);
    assert!(short.out.starts_with(&format!("{file}:")) && short.out.contains("error[bore-through-wall]: "));
    let data = json(&run(&["check", "--format", "json", file]));
    assert_eq!((&data["files"], &data["errors"]), (&1.into(), &1.into()));
    let clean = run(&["check", "parts", "machines"]);
    assert_eq!(clean.out, "23 files: 0 errors, 0 warnings\n");
}

#[test]
fn fmt_checks_writes_and_filters() {
    let laid_out = run_with(&["fmt", "-"], &fs::read_to_string("parts/contact-pin.turn").unwrap()).out;
    let loose = laid_out.replacen("  turn", "      turn   ", 1);
    assert_ne!(loose, laid_out);
    let filtered = run_with(&["fmt", "-"], &loose);
    assert_eq!((filtered.exit, filtered.out.as_str()), (Exit::Fine, laid_out.as_str()));
    let file = scratch("fmt").join("pin.turn");
    fs::write(&file, &loose).unwrap();
    let path = file.to_str().unwrap();
    let checked = run(&["fmt", "--check", path]);
    assert_eq!((checked.exit, checked.out), (Exit::Findings, format!("{path}\n")));
    assert_eq!(fs::read_to_string(&file).unwrap(), loose, "--check changes nothing");
    assert_eq!(run(&["fmt", path]).exit, Exit::Fine);
    assert_eq!(fs::read_to_string(&file).unwrap(), laid_out);
    assert_eq!(run(&["fmt", "--check", path]).exit, Exit::Fine);
    // A file with faults is left as it is.
    let broken = run_with(&["fmt", "-"], "part x {");
    assert_eq!((broken.exit, broken.out.as_str()), (Exit::Findings, "part x {"));
    assert!(broken.err.contains("was left as it is"));
}

#[test]
fn a_part_comes_through_the_standard_input() {
    let text = fs::read_to_string("parts/contact-pin.turn").unwrap();
    let piped = run_with(&["rank", "-"], &text);
    let named = run(&["rank", "parts/contact-pin.turn"]);
    assert_eq!((piped.exit, piped.out), (named.exit, named.out));
}

#[test]
fn no_line_is_wider_than_asked() {
    for width in ["60", "80", "100", "120"] {
        let most: usize = width.parse().unwrap();
        for part in ["anchor-screw", "valve-spool", "nozzle-3", "flange-45"] {
            let file = format!("parts/{part}.turn");
            for args in [
                vec!["rank", &file, "--width", width],
                vec!["rank", &file, "--width", width, "--all-reasons"],
                vec!["mode", &file, "--machine", "switch-36", "--width", width],
                vec!["plan", &file, "--machine", "turret-32", "--alternatives", "--compare", "--width", width],
                vec!["why", &file, "tilt-32", "--width", width],
                vec!["why", &file, "gang-20", "turret-32", "--width", width],
                vec!["setup", "now", &file, "--machine", "tilt-32", "--width", width],
                vec!["setup", "--matrix", &file, "parts/cortex-screw.turn", "--machine", "tilt-32", "--width", width],
            ] {
                for line in run(&args).out.lines() {
                    assert!(line.chars().count() <= most, "{args:?}: {} columns: {line}", line.chars().count());
                    assert_eq!(line.trim_end(), line, "{args:?}: blanks at the end");
                }
            }
        }
    }
}

/// The operation sheets of the demo that a setter has read.
fn sheets() -> impl Iterator<Item = (String, Vec<String>)> {
    let sheets = [
        ("anchor-screw", "tilt-32", "100"),
        ("valve-spool", "gang-20", "80"),
        ("port-collar", "switch-36", "120"),
        ("drive-shaft", "turret-32", "120"),
        ("eccentric-shaft", "tilt-32", "120"),
        ("flange-45", "fixed-65", "120"),
        ("hex-fitting", "plain-32", "120"),
        ("nozzle-3", "tilt-32", "120"),
        ("sensor-body", "tilt-32", "120"),
        ("valve-sleeve", "tilt-32", "120"),
        ("worm-shaft", "turret-32", "120"),
        ("contact-pin", "gang-12", "120"),
    ];
    sheets.into_iter().map(|(part, machine, width)| {
        let args = ["plan", &format!("parts/{part}.turn"), "--machine", machine, "--alternatives", "--width", width];
        (format!("plan-{part}-{machine}"), args.map(str::to_owned).to_vec())
    })
}

#[test]
fn texts_look_as_they_did() {
    let mut differ = Vec::new();
    for (name, args) in [
        ("rank-anchor-screw-80", vec!["rank", "parts/anchor-screw.turn", "--width", "80"]),
        ("rank-anchor-screw-120", vec!["rank", "parts/anchor-screw.turn", "--width", "120"]),
        ("mode-port-collar-80", vec!["mode", "parts/port-collar.turn", "--machine", "switch-36", "--width", "80"]),
        ("mode-port-collar-120", vec!["mode", "parts/port-collar.turn", "--machine", "switch-36", "--width", "120"]),
        (
            "setup-spool-to-shaft-80",
            vec![
                "setup",
                "parts/valve-spool.turn",
                "parts/drive-shaft.turn",
                "--machine",
                "turret-32",
                "--width",
                "80",
            ],
        ),
        (
            "setup-spool-to-screw-120",
            vec![
                "setup",
                "parts/valve-spool.turn",
                "parts/anchor-screw.turn",
                "--machine",
                "tilt-32",
                "--width",
                "120",
            ],
        ),
        ("setup-now-spool-80", vec!["setup", "now", "parts/valve-spool.turn", "--machine", "gang-20", "--width", "80"]),
        ("setup-matrix-all-80", vec!["setup", "--matrix", "parts", "--machine", "tilt-32", "--width", "80"]),
        ("setup-matrix-all-120", vec!["setup", "--matrix", "parts", "--machine", "fixed-65", "--width", "120"]),
        (
            "setup-matrix-100",
            vec![
                "setup",
                "--matrix",
                "parts/cortex-screw.turn",
                "parts/anchor-screw.turn",
                "parts/valve-spool.turn",
                "--machine",
                "tilt-32",
                "--width",
                "100",
            ],
        ),
    ]
    .into_iter()
    .map(|(name, args)| (name.to_owned(), args.into_iter().map(str::to_owned).collect::<Vec<_>>()))
    .chain(sheets())
    {
        let file = format!("tests/snapshots/{name}.txt");
        let found = run(&args.iter().map(String::as_str).collect::<Vec<_>>()).out;
        if std::env::var("UPDATE").is_ok_and(|v| v == "1") {
            fs::write(&file, &found).unwrap();
        }
        let kept = fs::read_to_string(&file).unwrap_or_default();
        if kept != found {
            let first = kept.lines().zip(found.lines()).find(|(a, b)| a != b);
            differ.push(format!("{file}: {first:?}"));
        }
    }
    assert!(differ.is_empty(), "UPDATE=1 writes them anew, where the change is meant:\n{}", differ.join("\n"));
}

/// The one test of the binary itself: its streams, its environment and its exit code.
#[test]
fn the_binary_runs() {
    let bin = env!("CARGO_BIN_EXE_turnwright");
    let ran = std::process::Command::new(bin)
        .args(["rank", "parts/contact-pin.turn"])
        .env("NO_COLOR", "1")
        .env("COLUMNS", "80")
        .output()
        .unwrap();
    assert_eq!(ran.status.code(), Some(0));
    assert!(ran.stderr.is_empty());
    let out = String::from_utf8(ran.stdout).unwrap();
    assert_eq!(out, run(&["rank", "parts/contact-pin.turn", "--width", "80"]).out);
    let ran = std::process::Command::new(bin).arg("frobnicate").output().unwrap();
    assert_eq!((ran.status.code(), ran.stdout.len()), (Some(2), 0));
}

#[test]
fn parts_beside_the_machines_are_not_asked_about() {
    let folder = scratch("beside");
    for file in ["parts/anchor-screw.turn", "parts/port-collar.turn", "machines/tilt-32.turn", "machines/shop.yaml"] {
        let name = std::path::Path::new(file).file_name().unwrap();
        std::fs::copy(file, folder.join(name)).unwrap();
    }
    let (part, machines) = (folder.join("anchor-screw.turn"), folder.display().to_string());
    let ran = run(&["rank", &part.display().to_string(), "--machines", &machines, "--format", "json"]);
    let answers = json(&ran);
    assert_eq!(answers.as_array().map(Vec::len), Some(1), "only the part named is ranked");
    assert_eq!(answers[0]["part"], "anchor-screw");
}

#[test]
fn a_plan_comes_as_data_too() {
    let args =
        ["plan", "parts/port-collar.turn", "--machine", "switch-36", "--alternatives", "--compare", "angle-head"];
    let json = run(&[&args[..], &["--format", "json"]].concat());
    assert_eq!(json.exit, Exit::Fine);
    let data: serde_json::Value = serde_json::from_str(&json.out).unwrap();
    let sheet = &data[0];
    assert_eq!(sheet["schema"], 1);
    assert!(sheet["lines"].as_array().unwrap().len() > 15);
    assert!(sheet["timeline"].as_array().unwrap().iter().any(|r| r["name"] == "cross"));
    assert!(sheet["alternatives"].as_array().unwrap().iter().any(|a| a["taken"] == true));
    assert_eq!(sheet["worth"][0]["without"]["possible"], false);
    assert_eq!(sheet["worth"][0]["with"]["possible"], true);
    let csv = run(&[&args[..], &["--format", "csv"]].concat()).out;
    let columns = csv.lines().next().unwrap().split(',').count();
    for section in ["operation", "hand-over", "programmed", "share", "cycle", "place", "setup", "way", "worth"] {
        assert!(csv.lines().any(|l| l.split(',').next() == Some(section)), "{section}");
    }
    // No field of this answer holds a quoted comma, so the columns can be counted so.
    assert!(csv.lines().filter(|l| !l.contains('"')).all(|l| l.split(',').count() == columns));
    let all = run(&["plan", "parts", "--machine", "tilt-32", "--format", "json"]);
    assert!(serde_json::from_str::<serde_json::Value>(&all.out).unwrap().as_array().unwrap().len() >= 17);
}

#[test]
fn plan_and_setup_say_what_is_wrong() {
    let spool = "parts/valve-spool.turn";
    for (args, exit, words) in [
        (vec!["plan", spool, "--machine", "gan-20"], Exit::Unable, "did you mean `gang-20`?"),
        (vec!["plan", spool, "--machine", "gang-20", "--mode", "collet"], Exit::Unable, "it has guided"),
        (
            vec!["plan", spool, "--machine", "gang-20", "--option", "angle-hed"],
            Exit::Unable,
            "did you mean `angle-head`?",
        ),
        (vec!["plan", spool, "--machine", "gang-20", "--compare", "magic"], Exit::Unable, "known are"),
        (vec!["setup", spool, "--machine", "gang-20"], Exit::Unable, "one job before and one after"),
        (vec!["setup", "now", "--machine", "gang-20"], Exit::Unable, "no job is named"),
        (vec!["setup", "--matrix", spool, "--machine", "x"], Exit::Unable, "known are"),
    ] {
        let ran = run(&args);
        assert_eq!(ran.exit, exit, "{args:?}");
        assert!(ran.err.contains(words), "{args:?}: {}", ran.err);
        assert!(ran.out.is_empty(), "{args:?}");
    }
    assert_eq!(run(&["plan", "parts/flange-45.turn", "--machine", "gang-12"]).exit, Exit::Findings);
    let same = run(&["setup", spool, spool, "--machine", "gang-20"]);
    assert!(same.out.contains("Nothing to change"));
    let more =
        run(&["plan", "parts/port-collar.turn", "--machine", "gang-20", "--option", "angle-head", "--format", "json"]);
    assert!(more.err.is_empty());
}

#[test]
fn a_setup_comes_as_data_too() {
    let (spool, screws) = ("parts/valve-spool.turn", "parts/cortex-screw.turn");
    let change = ["setup", spool, "parts/abutment.turn", "--machine", "tilt-32"];
    let data = json(&run(&[&change[..], &["--format", "json"]].concat()));
    assert_eq!((&data["schema"], &data["from"], &data["to"]), (&1.into(), &"valve-spool".into(), &"abutment".into()));
    let minutes =
        |lines: &str| -> f64 { data[lines].as_array().unwrap().iter().map(|l| l["minutes"].as_f64().unwrap()).sum() };
    assert!((minutes("lines") - data["total_min"].as_f64().unwrap()).abs() < 1e-9);
    assert!((minutes("off_machine") - data["off_machine_min"].as_f64().unwrap()).abs() < 1e-9);
    let collet = data["off_machine"].as_array().unwrap().iter().find(|l| l["kind"] == "special-collet").unwrap();
    assert_eq!(collet["weeks"], serde_json::json!([2.0, 3.0]));
    assert!(data["staying"].as_array().unwrap().iter().any(|t| t == "finishing tool"));
    let csv = run(&[&change[..], &["--format", "csv"]].concat()).out;
    let head = "machine,from,to,where,kind,what,minutes,weeks,reason";
    assert_eq!(csv.lines().next(), Some(head));
    for place in ["machine", "beside", "stays", "may-stay"] {
        assert!(csv.lines().any(|l| l.split(',').nth(3) == Some(place)), "{place}");
    }
    let now = json(&run(&["setup", "now", spool, "--machine", "gang-20", "--format", "json"]));
    assert_eq!((&now["from"], &now["machine_number"]), (&serde_json::Value::Null, &serde_json::json!([1, 3])));

    let matrix = ["setup", "--matrix", screws, spool, "parts/flange-45.turn", "--machine", "tilt-32"];
    let ran = run(&[&matrix[..], &["--format", "json"]].concat());
    assert_eq!(ran.exit, Exit::Findings, "one of them is refused there");
    let data = json(&ran);
    assert_eq!((data["jobs"].as_array().unwrap().len(), &data["refused"]), (5, &serde_json::json!(["flange-45"])));
    assert!((0..5).all(|i| data["change_min"][i][i] == 0.0));
    assert_eq!(run(&[&matrix[..], &["--format", "csv"]].concat()).out.lines().count(), 1 + 5 * 5);
    let alone = run(&["setup", "--matrix", "parts/flange-45.turn", "--machine", "tilt-32"]);
    assert_eq!(alone.exit, Exit::Findings);
    assert!(alone.out.contains("flange-45 is refused there"));
}

/// Colour adds signs and takes none away; the examples of the help run.
#[test]
fn a_setup_reads_alike_without_colour() {
    let plain = |text: &str| {
        let mut out = String::new();
        for (i, piece) in text.split('\u{1b}').enumerate() {
            out.push_str(if i == 0 { piece } else { piece.split_once('m').unwrap().1 });
        }
        out
    };
    let help = run(&["setup", "--help"]).out;
    let examples: Vec<Vec<&str>> = help
        .lines()
        .filter_map(|l| l.trim().strip_prefix("turnwright "))
        .map(|l| l.split_whitespace().collect())
        .collect();
    assert!(examples.len() >= 3, "{help}");
    for example in examples {
        let colour = run(&[&example[..], &["--color", "always"]].concat());
        assert_eq!((colour.exit, colour.err.as_str()), (Exit::Fine, ""), "{example:?}");
        assert!(colour.out.contains('\u{1b}'));
        assert_eq!(plain(&colour.out), run(&[&example[..], &["--color", "never"]].concat()).out);
    }
}
