//! Files, streams and the terminal: everything outside the program, in one place.

use super::{ColorChoice, Exit};
use crate::lang::syntax::LARGEST;
use crate::lang::{Diagnostic, Sources, render};
use crate::report::text::Style;
use std::io::{IsTerminal, Read, Write};
use std::path::{Path, PathBuf};

/// The outside as a command sees it.
pub struct World<'w> {
    out: &'w mut dyn Write,
    err: &'w mut dyn Write,
    /// What `-` reads; the process's standard input where there is none.
    input: Option<&'w mut dyn Read>,
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

impl<'w> World<'w> {
    /// The process's own: its terminal and environment decide about colour and width.
    #[expect(clippy::disallowed_methods, reason = "this is the one place that reads the environment")]
    pub fn process(out: &'w mut dyn Write, err: &'w mut dyn Write) -> World<'w> {
        let terminal = std::io::stdout().is_terminal();
        let columns = std::env::var("COLUMNS").ok().and_then(|c| c.parse().ok()).filter(|c| *c >= 40);
        let no_color = std::env::var("NO_COLOR").is_ok_and(|v| !v.is_empty());
        let seen = terminal.then(terminal_columns).flatten();
        World { columns: seen.or(columns).unwrap_or(100), terminal, no_color, ..World::new(out, err) }
    }

    /// Streams of a test or another program: no terminal, 100 columns.
    pub fn new(out: &'w mut dyn Write, err: &'w mut dyn Write) -> World<'w> {
        World {
            out,
            err,
            input: None,
            terminal: false,
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
        match serde_json::to_string_pretty(data) {
            Ok(text) => {
                self.say(&text);
                self.say("\n");
                Ok(())
            }
            Err(e) => {
                self.complain(&format!("error: the answer cannot be written as JSON: {e}"));
                Err(Exit::Unable)
            }
        }
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
    #[expect(clippy::disallowed_methods, reason = "this is the one place that reads files")]
    pub fn read(&mut self, path: &Path) -> Result<String, Exit> {
        let read = if path.as_os_str() == "-" {
            let mut bytes = Vec::new();
            let limit = LARGEST as u64 + 1;
            match self.input.as_mut() {
                Some(input) => input.take(limit).read_to_end(&mut bytes),
                None => std::io::stdin().lock().take(limit).read_to_end(&mut bytes),
            }
            .map(|_| bytes)
        } else {
            match std::fs::metadata(path) {
                Ok(m) if m.len() > LARGEST as u64 => {
                    let size = m.len() as f64 / 1_048_576.0;
                    self.complain(&format!(
                        "error: `{}` has {size:.1} MiB; specs up to 1 MiB are read",
                        path.display()
                    ));
                    return Err(Exit::Unable);
                }
                _ => std::fs::read(path),
            }
        };
        match read {
            Ok(bytes) => String::from_utf8(bytes).map_err(|e| {
                let at = e.utf8_error().valid_up_to();
                let line = e.as_bytes()[..at].iter().filter(|b| **b == b'\n').count() + 1;
                self.complain(&format!(
                    "error: `{}` is not UTF-8 text: line {line} holds a byte that is no letter; save it as UTF-8",
                    path.display()
                ));
                Exit::Unable
            }),
            Err(e) => {
                self.complain(&format!("error: `{}` cannot be read: {e}", path.display()));
                Err(Exit::Unable)
            }
        }
    }

    /// Writes a file as a whole: to a new file beside it, which then takes its place, so that a crash leaves one of both.
    ///
    /// # Errors
    /// [`Exit::Unable`], told to the user, where it cannot be written.
    #[expect(clippy::disallowed_methods, reason = "this is the one place that writes files")]
    pub fn write(&mut self, path: &Path, text: &str) -> Result<(), Exit> {
        let mut beside = path.as_os_str().to_owned();
        beside.push(".new");
        let beside = PathBuf::from(beside);
        let done = std::fs::write(&beside, text).and_then(|()| std::fs::rename(&beside, path));
        done.map_err(|e| {
            let _ = std::fs::remove_file(&beside);
            self.complain(&format!("error: `{}` cannot be written: {e}", path.display()));
            Exit::Unable
        })
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
            Err(e) => {
                self.complain(&format!("error: the folder `{}` cannot be read: {e}", path.display()));
                Err(Exit::Unable)
            }
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
