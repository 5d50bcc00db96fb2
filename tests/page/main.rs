//! The page and the drawings in it: every feature is drawn, every figure is a number inside its sheet, a customer reads
//! nothing of the shop's own, and in a real browser no text overlaps or is cut off, nothing is asked of the network and the
//! paper has the sheets it should have.
#![allow(clippy::disallowed_methods, reason = "tests read files and start a browser")]
#![allow(clippy::unwrap_used, reason = "a test fails by a panic")]

mod browser;
#[path = "../common/mod.rs"]
mod common;
mod drawn;
mod written;

use std::ffi::OsString;
use std::path::PathBuf;
use turnwright::cli::{Exit, World, run};

/// Demo parts whose pages are looked at, each with a machine that makes it: long and broken, angled holes, inches, an
/// eccentric, a deep cup.
const LOOKED_AT: &[(&str, &str)] = &[
    ("parts/valve-spool.turn", "gang-20"),
    ("parts/anchor-screw.turn", "tilt-32"),
    ("parts/port-collar.turn", "switch-36"),
    ("parts/eccentric-shaft.turn", "tilt-32"),
    ("parts/sensor-body.turn", "tilt-32"),
];

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
    let (exit, _, told) = answered(args);
    (exit, told)
}

/// The same with what it wrote on the standard output between them.
fn answered(args: &[&str]) -> (Exit, String, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let args = std::iter::once("turnwright").chain(args.iter().copied()).map(OsString::from);
    let exit = run(args, &mut World::new(&mut out, &mut err));
    (exit, String::from_utf8(out).unwrap(), String::from_utf8(err).unwrap())
}

/// The page that a command writes.
fn page(folder: &Folder, command: &[&str]) -> String {
    let path = folder.path("page.html");
    let mut args = command.to_vec();
    args.extend(["--html", path.to_str().unwrap()]);
    let (exit, told) = turnwright(&args);
    assert_ne!(exit, Exit::Unable, "{command:?}: {told}");
    std::fs::read_to_string(&path).unwrap()
}
