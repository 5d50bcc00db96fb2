//! The register: nothing that was saved is ever lost, whoever writes beside, and whatever breaks off.
#![allow(clippy::disallowed_methods, reason = "tests read files and start programs")]
#![allow(clippy::unwrap_used, reason = "a test fails by a panic")]

use rusqlite::Connection;
use std::fs;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use turnwright::register::{Entry, Register, RegisterError, VERSION};

/// A folder of its own that goes with the test.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Folder {
        let path = std::env::temp_dir().join(format!("turnwright-{name}-{}", std::process::id()));
        let _ = fs::remove_dir_all(&path);
        fs::create_dir_all(&path).unwrap();
        Folder(path)
    }

    fn file(&self, name: &str) -> PathBuf {
        self.0.join(name)
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}

fn entry(identity: &str) -> Entry {
    Entry {
        identity: identity.to_owned(),
        saved: "2026-11-25T10:00:00Z".to_owned(),
        currency: "EUR".to_owned(),
        total: "12.50".to_owned(),
        parts: "5 x pin".to_owned(),
        answer: "{}".to_owned(),
        printed: "a pin\n".to_owned(),
        texts: vec![("pin.turn".to_owned(), "part pin".to_owned()), ("shop.yaml".to_owned(), "shop: x".to_owned())],
        ..Entry::default()
    }
}

#[test]
fn what_is_saved_comes_back_and_twice_the_same_is_once() {
    let folder = Folder::new("round");
    let path = folder.file("quotes.sqlite");
    let mut register = Register::open(&path).unwrap();
    let first = Entry { customer: Some("Example".to_owned()), ..entry("aaaa-0000-0001") };
    assert!(register.save(&first).unwrap());
    assert!(!register.save(&Entry { total: "0.00".to_owned(), ..first.clone() }).unwrap());
    assert!(register.save(&entry("aaab-0000-0002")).unwrap());
    drop(register);
    let register = Register::open(&path).unwrap();
    assert_eq!(register.find("aaaa").unwrap(), first);
    assert_eq!(register.list().unwrap().len(), 2);
    assert!(matches!(register.find("aaa"), Err(RegisterError::Ambiguous(_))));
    assert!(matches!(register.find("b%"), Err(RegisterError::Unknown(_))));
    // One text that two quotes share is kept once.
    let db = Connection::open(&path).unwrap();
    assert_eq!(db.query_row("SELECT count(*) FROM text", [], |r| r.get::<_, i64>(0)).unwrap(), 2);
}

#[test]
fn an_older_register_is_brought_up_to_date_and_a_newer_one_is_left_alone() {
    let folder = Folder::new("versions");
    let path = folder.file("quotes.sqlite");
    Register::open(&path).unwrap().save(&entry("aaaa-0000-0001")).unwrap();
    // As version 1 was: without the texts.
    let db = Connection::open(&path).unwrap();
    db.execute_batch("DROP TABLE quote_text; DROP TABLE text; PRAGMA user_version = 1;").unwrap();
    drop(db);
    let mut register = Register::open(&path).unwrap();
    assert_eq!(register.find("aaaa").unwrap(), Entry { texts: Vec::new(), ..entry("aaaa-0000-0001") });
    assert!(register.save(&entry("bbbb-0000-0002")).unwrap());
    assert_eq!(register.find("bbbb").unwrap().texts.len(), 2);
    drop(register);

    let db = Connection::open(&path).unwrap();
    db.execute_batch(&format!("PRAGMA user_version = {};", VERSION + 1)).unwrap();
    drop(db);
    let before = fs::read(&path).unwrap();
    let told = Register::open(&path).unwrap_err().to_string();
    assert!(told.contains("newer program") && told.contains(&(VERSION + 1).to_string()), "{told}");
    assert_eq!(fs::read(&path).unwrap(), before);
}

#[test]
fn a_file_of_something_else_is_not_touched() {
    let folder = Folder::new("other");
    let path = folder.file("other.sqlite");
    Connection::open(&path).unwrap().execute_batch("CREATE TABLE pump (name TEXT);").unwrap();
    assert!(matches!(Register::open(&path), Err(RegisterError::NoRegister)));
    let db = Connection::open(&path).unwrap();
    assert_eq!(db.query_row("SELECT count(*) FROM sqlite_schema", [], |r| r.get::<_, i64>(0)).unwrap(), 1);
    let text = folder.file("text.sqlite");
    fs::write(&text, "part pin \"no register at all, but a text that is long enough\"\n".repeat(20)).unwrap();
    let before = fs::read(&text).unwrap();
    assert!(Register::open(&text).is_err());
    assert_eq!(fs::read(&text).unwrap(), before);
}

/// The program keeps quotes of several quantities, each its own quote, and says which are kept.
fn keeping(register: &Path, quantities: std::ops::Range<u64>, folder: &Folder) -> std::process::Child {
    let sheet = folder.file(&format!("from-{}.csv", quantities.start));
    let spec = fs::canonicalize("parts/valve-spool.turn").unwrap();
    let lines: String = quantities.map(|q| format!("{},{q}\n", spec.display())).collect();
    fs::write(&sheet, format!("part,quantity\n{lines}")).unwrap();
    Command::new(env!("CARGO_BIN_EXE_turnwright"))
        .args(["quote", "--save", "--format", "csv", "--machine", "gang-20", "--register"])
        .args([register, &sheet])
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap()
}

/// The identity in `quote 3f2a-91bc-07de kept in ...`.
fn kept(line: &str) -> Option<String> {
    line.strip_prefix("quote ")?.split_once(" kept in").map(|(identity, _)| identity.to_owned())
}

#[test]
fn two_processes_at_once_lose_nothing() {
    let folder = Folder::new("two");
    let path = folder.file("quotes.sqlite");
    let children = [keeping(&path, 1..41, &folder), keeping(&path, 101..141, &folder)];
    for child in children {
        let done = child.wait_with_output().unwrap();
        assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    }
    let register = Register::open(&path).unwrap();
    assert!(register.is_sound().unwrap());
    assert_eq!(register.list().unwrap().len(), 80);
}

#[test]
fn a_crash_in_the_middle_of_a_save_loses_nothing_saved_before() {
    let folder = Folder::new("crash");
    let path = folder.file("quotes.sqlite");
    let mut told = Vec::new();
    for round in 0..4u64 {
        let mut child = keeping(&path, round * 1000 + 1..round * 1000 + 400, &folder);
        let mut lines = BufReader::new(child.stderr.take().unwrap()).lines();
        // Killed after some saves, at whatever it does just then.
        for line in lines.by_ref().take(3 + 7 * round as usize) {
            told.extend(kept(&line.unwrap()));
        }
        child.kill().unwrap();
        child.wait().unwrap();
        told.extend(lines.map_while(Result::ok).filter_map(|l| kept(&l)));
        let register = Register::open(&path).unwrap();
        assert!(register.is_sound().unwrap());
        for identity in &told {
            let found = register.find(identity).unwrap();
            assert!(!found.texts.is_empty() && found.answer.ends_with('}'), "{identity}");
        }
    }
    assert!(told.len() > 30, "{}", told.len());
}

/// A shell command in which no file can grow beyond some kilobytes, as on a disk without room for more.
#[cfg(unix)]
fn without_room(kilobytes: u64, args: &[&std::ffi::OsStr]) -> std::process::Output {
    Command::new("bash")
        .args(["-c", &format!("trap '' XFSZ; ulimit -f {kilobytes}; exec \"$0\" \"$@\"")])
        .arg(env!("CARGO_BIN_EXE_turnwright"))
        .args(args)
        .output()
        .unwrap()
}

#[test]
#[cfg(unix)]
fn a_full_disk_loses_nothing_and_what_is_kept_can_be_read() {
    if Command::new("bash").arg("-c").arg("true").status().is_err() {
        eprintln!("skipped: no shell that limits the size of files");
        return;
    }
    let folder = Folder::new("full");
    let path = folder.file("quotes.sqlite");
    assert!(keeping(&path, 1..21, &folder).wait_with_output().unwrap().status.success());
    let kept_before = Register::open(&path).unwrap().list().unwrap();
    assert_eq!(kept_before.len(), 20);

    // No room for a byte: the list is read as it stands.
    let list = without_room(0, &["quotes".as_ref(), "--register".as_ref(), path.as_ref(), "list".as_ref()]);
    let told = String::from_utf8_lossy(&list.stdout).into_owned();
    assert!(list.status.success(), "{told}{}", String::from_utf8_lossy(&list.stderr));
    assert!(kept_before.iter().all(|e| told.contains(&e.identity)), "{told}");

    // Room for the register as it is, not for more quotes in it.
    let room = fs::metadata(&path).unwrap().len() / 1024;
    let spec = fs::canonicalize("parts/valve-spool.turn").unwrap();
    let quote: [&std::ffi::OsStr; 9] = [
        "quote".as_ref(),
        "--save".as_ref(),
        "--machine".as_ref(),
        "gang-20".as_ref(),
        "--quantity".as_ref(),
        "77".as_ref(),
        "--register".as_ref(),
        path.as_ref(),
        spec.as_ref(),
    ];
    for room in [0, 8, 40, room / 2] {
        let said = without_room(room, &quote);
        let err = String::from_utf8_lossy(&said.stderr).into_owned();
        if said.status.success() {
            assert!(err.contains("kept in"), "{err}");
        } else {
            assert!(err.contains("the register `"), "{room} kB: {err}");
        }
    }
    assert!(!without_room(0, &quote).status.success());
    let register = Register::open(&path).unwrap();
    assert!(register.is_sound().unwrap());
    let after = register.list().unwrap();
    assert!(kept_before.iter().all(|e| after.contains(e)));
}

#[test]
#[cfg(unix)]
fn a_register_of_another_version_says_so_where_nothing_can_be_written() {
    let folder = Folder::new("older");
    let path = folder.file("quotes # 100 %.sqlite");
    Register::open(&path).unwrap().save(&entry("aaaa-0000-0001")).unwrap();
    let list = || {
        let done = without_room(0, &["quotes".as_ref(), "--register".as_ref(), path.as_ref(), "list".as_ref()]);
        String::from_utf8_lossy(&done.stdout).into_owned() + &String::from_utf8_lossy(&done.stderr)
    };
    assert!(list().contains("aaaa-0000-0001"), "{}", list());
    for (version, told) in [(VERSION - 1, "older version"), (VERSION + 1, "newer program")] {
        Connection::open(&path).unwrap().execute_batch(&format!("PRAGMA user_version = {version};")).unwrap();
        let log = folder.file("quotes # 100 %.sqlite-wal");
        assert!(!log.exists() || fs::metadata(log).unwrap().len() == 0);
        assert!(list().contains(told), "{}", list());
    }
}
