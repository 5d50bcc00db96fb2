//! Files, streams and the terminal: everything outside the program, in one place.

use super::{ColorChoice, Exit};
use crate::lang::syntax::LARGEST;
use crate::lang::{Diagnostic, Sources, render};
use crate::quantity::print;
use crate::report::text::Style;
use std::io::{IsTerminal, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};

/// The outside as a command sees it.
pub struct World<'w> {
    out: &'w mut dyn Write,
    err: &'w mut dyn Write,
    /// What `-` reads; the process's standard input where there is none.
    input: Option<&'w mut dyn Read>,
    /// The process's own, and not a test's.
    process: bool,
    terminal: bool,
    no_color: bool,
    color: ColorChoice,
    columns: u16,
    trouble: Option<Exit>,
}

impl std::fmt::Debug for World<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("World").field("columns", &self.columns).finish_non_exhaustive()
    }
}

/// As a shell tells of a program that Ctrl-C ended.
const INTERRUPTED: i32 = 130;

impl<'w> World<'w> {
    /// The process's own: its terminal and environment decide about colour and width.
    #[expect(clippy::disallowed_methods, reason = "this is the one place that reads the environment")]
    pub fn process(out: &'w mut dyn Write, err: &'w mut dyn Write) -> World<'w> {
        let terminal = std::io::stdout().is_terminal();
        let columns = std::env::var("COLUMNS").ok().and_then(|c| c.parse().ok()).filter(|c| *c >= 40);
        let no_color = std::env::var("NO_COLOR").is_ok_and(|v| !v.is_empty());
        let seen = terminal.then(terminal_columns).flatten();
        World { columns: seen.or(columns).unwrap_or(100), terminal, no_color, process: true, ..World::new(out, err) }
    }

    /// Streams of a test or another program: no terminal, 100 columns.
    pub fn new(out: &'w mut dyn Write, err: &'w mut dyn Write) -> World<'w> {
        World {
            out,
            err,
            input: None,
            terminal: false,
            process: false,
            no_color: false,
            color: ColorChoice::Auto,
            columns: 100,
            trouble: None,
        }
    }

    /// With what `-` reads.
    #[must_use]
    pub fn with_input(mut self, input: &'w mut dyn Read) -> World<'w> {
        self.input = Some(input);
        self
    }

    pub(super) fn set(&mut self, color: ColorChoice, width: Option<u16>) {
        self.color = color;
        self.columns = width.unwrap_or(self.columns);
    }

    /// How text is printed: the flag, then NO_COLOR, then whether a person is looking.
    pub fn style(&self) -> Style {
        let color = match self.color {
            ColorChoice::Always => true,
            ColorChoice::Never => false,
            ColorChoice::Auto => self.terminal && !self.no_color,
        };
        Style { width: self.columns, color }
    }

    /// Tells why nothing can be answered; gives the exit for that.
    pub(super) fn unable(&mut self, words: impl std::fmt::Display) -> Exit {
        self.complain(&format!("error: {words}"));
        Exit::Unable
    }

    /// Data and answers, to the standard output.
    pub fn say(&mut self, text: &str) {
        let done = self.out.write_all(text.as_bytes()).and_then(|()| self.out.flush());
        if let Err(e) = done {
            // A reader that closed the pipe has seen enough.
            let quiet = e.kind() == std::io::ErrorKind::BrokenPipe;
            self.trouble.get_or_insert(if quiet { Exit::Fine } else { Exit::Unable });
        }
    }

    /// Data as JSON, to the standard output.
    ///
    /// # Errors
    /// [`Exit::Unable`] where the data cannot be written as JSON.
    pub fn say_json(&mut self, data: &impl serde::Serialize) -> Result<(), Exit> {
        let text = self.as_json(data)?;
        self.say(&text);
        self.say("\n");
        Ok(())
    }

    /// Data as JSON, indented.
    pub(super) fn as_json(&mut self, data: &impl serde::Serialize) -> Result<String, Exit> {
        serde_json::to_string_pretty(data)
            .map_err(|e| self.unable(format!("the answer cannot be written as JSON: {e}")))
    }

    /// Words for people, to the standard error.
    pub fn complain(&mut self, text: &str) {
        // There is nowhere left to tell of a standard error that cannot be written.
        let _ = writeln!(self.err, "{text}");
    }

    pub(super) fn trouble(&self) -> Option<Exit> {
        self.trouble
    }

    /// The text of a file, `-` for the standard input.
    ///
    /// # Errors
    /// [`Exit::Unable`], told to the user, where it cannot be read, is too large or is no text.
    pub fn read(&mut self, path: &Path) -> Result<String, Exit> {
        self.text_of(path).map_err(|words| self.unable(words))
    }

    /// As [`World::read`], with what is wrong for the caller to tell.
    pub(super) fn text_of(&mut self, path: &Path) -> Result<String, String> {
        let bytes = self.bytes_of(path, LARGEST as u64)?;
        String::from_utf8(bytes).map_err(|e| {
            let at = e.utf8_error().valid_up_to();
            let line = e.as_bytes()[..at].iter().filter(|b| **b == b'\n').count() + 1;
            format!(
                "`{}` is not UTF-8 text: line {line} holds a byte that is no letter; save it as UTF-8",
                path.display()
            )
        })
    }

    /// The bytes of a file up to a size, `-` for the standard input, or what is wrong.
    #[expect(clippy::disallowed_methods, reason = "this is the one place that reads files")]
    pub(super) fn bytes_of(&mut self, path: &Path, largest: u64) -> Result<Vec<u8>, String> {
        let read = if path.as_os_str() == "-" {
            let mut bytes = Vec::new();
            match self.input.as_mut() {
                Some(input) => input.take(largest + 1).read_to_end(&mut bytes),
                None => std::io::stdin().lock().take(largest + 1).read_to_end(&mut bytes),
            }
            .map(|_| bytes)
        } else {
            match std::fs::metadata(path) {
                Ok(m) if m.len() > largest => {
                    let size = |bytes: u64| print::number(bytes as f64 / 1_048_576.0, 1);
                    return Err(format!(
                        "`{}` has {} MiB; files of its kind are read up to {} MiB",
                        path.display(),
                        size(m.len()),
                        size(largest)
                    ));
                }
                _ => std::fs::read(path),
            }
        };
        read.map_err(|e| format!("`{}` cannot be read: {e}", path.display()))
    }

    /// A bar on the standard error that shows how far a long run is; hidden where nobody looks.
    pub(super) fn progress(&self, steps: usize) -> indicatif::ProgressBar {
        let bar = indicatif::ProgressBar::new(steps as u64);
        if !std::io::stderr().is_terminal() {
            bar.set_draw_target(indicatif::ProgressDrawTarget::hidden());
        }
        if let Ok(style) = indicatif::ProgressStyle::with_template("{wide_bar} {pos} of {len}, {eta} to go") {
            bar.set_style(style);
        }
        bar
    }

    /// Writes a file as a whole: to a new file beside it, which then takes its place, so that a crash leaves one of both. What
    /// is no plain file, such as a device or a pipe, is written to as it is.
    ///
    /// # Errors
    /// [`Exit::Unable`], told to the user, where it cannot be written.
    #[expect(clippy::disallowed_methods, reason = "this is the one place that writes files")]
    pub fn write(&mut self, path: &Path, content: &[u8]) -> Result<(), Exit> {
        // A link stays one: what it leads to is replaced.
        let place = std::fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
        let mut beside = place.as_os_str().to_owned();
        beside.push(".new");
        let beside = PathBuf::from(beside);
        let done = match std::fs::metadata(&place) {
            Ok(there) if !there.is_file() => std::fs::write(&place, content),
            _ => std::fs::write(&beside, content).and_then(|()| std::fs::rename(&beside, &place)),
        };
        done.map_err(|e| {
            let _ = std::fs::remove_file(&beside);
            self.unable(format!("`{}` cannot be written: {e}", path.display()))
        })
    }

    /// Writes an answer to a file that is no folder and was not read for it: a slip of the keyboard must not cost a spec.
    ///
    /// # Errors
    /// [`Exit::Unable`], told to the user.
    pub(super) fn write_answer(&mut self, path: &Path, content: &[u8], read: &Sources) -> Result<(), Exit> {
        if path.is_dir() {
            let inside = path.join("answer").display().to_string();
            return Err(self.unable(format!("`{}` is a folder: name a file in it, such as `{inside}`", path.display())));
        }
        if read.iter().any(|(_, name, _)| Path::new(name) == path) {
            return Err(self.unable(format!("`{}` was read for this answer: name another file", path.display())));
        }
        self.write(path, content)
    }

    /// Writes a workbook, as [`World::write_answer`] does.
    ///
    /// # Errors
    /// [`Exit::Unable`], told to the user.
    pub(super) fn write_workbook(
        &mut self,
        path: &Path,
        made: Result<Vec<u8>, impl std::fmt::Display>,
        read: &Sources,
    ) -> Result<(), Exit> {
        match made {
            Ok(bytes) => self.write_answer(path, &bytes, read),
            Err(e) => Err(self.unable(format!("`{}` is not written: {e}", path.display()))),
        }
    }

    /// Makes a folder where there is none.
    ///
    /// # Errors
    /// [`Exit::Unable`], told to the user, where it cannot be made.
    pub(super) fn make_folder(&mut self, path: &Path) -> Result<(), Exit> {
        std::fs::create_dir_all(path)
            .map_err(|e| self.unable(format!("the folder `{}` cannot be made: {e}", path.display())))
    }

    /// A flag that Ctrl-C raises from now on, for a search that gives the best it has; a second Ctrl-C ends the program.
    pub(super) fn interruption(&self) -> &'static AtomicBool {
        static RAISED: AtomicBool = AtomicBool::new(false);
        if self.process {
            let raise = || {
                if RAISED.swap(true, Ordering::Relaxed) {
                    std::process::exit(INTERRUPTED);
                }
            };
            // Where there is no such signal, or it is taken already, the search runs to its end.
            let _ = ctrlc::set_handler(raise);
        }
        &RAISED
    }

    /// A clock that starts now.
    #[expect(clippy::disallowed_methods, reason = "this is the one place that reads the clock")]
    pub(super) fn stopwatch(&self) -> impl Fn() -> std::time::Duration + Sync + use<> {
        let begun = std::time::Instant::now();
        move || begun.elapsed()
    }

    /// The time now, in universal time to the second: `2026-11-25T10:31:00Z`.
    pub(super) fn now(&self) -> String {
        jiff::Timestamp::now().round(jiff::Unit::Second).map_or_else(|_| String::new(), |t| t.to_string())
    }

    /// A spec file, or those of a folder in order of name.
    ///
    /// # Errors
    /// [`Exit::Unable`], told to the user, where the path is neither.
    #[expect(clippy::disallowed_methods, reason = "this is the one place that lists folders")]
    pub fn turn_files(&mut self, path: &Path) -> Result<Vec<PathBuf>, Exit> {
        if !path.is_dir() {
            return Ok(vec![path.to_owned()]);
        }
        let listed =
            std::fs::read_dir(path).and_then(|d| d.map(|e| e.map(|e| e.path())).collect::<std::io::Result<Vec<_>>>());
        match listed {
            Ok(mut files) => {
                files.retain(|p| p.extension().is_some_and(|e| e == "turn") && p.is_file());
                files.sort();
                Ok(files)
            }
            Err(e) => Err(self.unable(format!("the folder `{}` cannot be read: {e}", path.display()))),
        }
    }

    /// Prints diagnostics with their source, to the standard error.
    pub fn tell(&mut self, sources: &Sources, diagnostics: &[Diagnostic]) {
        let color = match self.color {
            ColorChoice::Always => true,
            ColorChoice::Never => false,
            ColorChoice::Auto => !self.no_color && self.terminal && std::io::stderr().is_terminal(),
        };
        for d in diagnostics {
            self.complain(&render::drawn(d, sources, color));
            self.complain("");
        }
    }
}

/// The columns of the terminal, where it tells them.
fn terminal_columns() -> Option<u16> {
    comfy_table::Table::new().width().filter(|w| *w >= 40)
}
