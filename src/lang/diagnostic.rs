//! What is wrong with a spec: a plain value that knows nothing of how it is drawn.

use crate::model::figure::Place;
use std::borrow::Cow;

/// How bad it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    Error,
    Warning,
}

impl Severity {
    /// The reader's word.
    pub fn word(self) -> &'static str {
        match self {
            Severity::Error => "error",
            Severity::Warning => "warning",
        }
    }
}

/// Words of the source with a remark.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Label {
    pub place: Place,
    pub text: Cow<'static, str>,
}

/// A replacement that mends the fault.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fix {
    pub place: Place,
    pub text: String,
}

/// One fault, with the words that it is about and its remedy.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Diagnostic {
    pub severity: Severity,
    /// A stable name of the kind of fault, one of [`CATALOGUE`].
    pub code: &'static str,
    /// Lower case, no full stop, the user's words in backticks.
    pub message: String,
    /// The words underlined first.
    pub place: Place,
    /// What is said under them; empty for nothing.
    pub label: Cow<'static, str>,
    /// Other words that belong to it.
    pub others: Vec<Label>,
    /// The remedy.
    pub help: Option<String>,
    pub fix: Option<Fix>,
}

impl Diagnostic {
    /// An error at a place.
    pub fn error(code: &'static str, place: Place, message: impl Into<String>) -> Diagnostic {
        Diagnostic {
            severity: Severity::Error,
            code,
            message: message.into(),
            place,
            label: Cow::Borrowed(""),
            others: Vec::new(),
            help: None,
            fix: None,
        }
    }

    /// A warning at a place.
    pub fn warning(code: &'static str, place: Place, message: impl Into<String>) -> Diagnostic {
        Diagnostic { severity: Severity::Warning, ..Diagnostic::error(code, place, message) }
    }

    /// With what is said under the underlined words.
    #[must_use]
    pub fn label(mut self, text: impl Into<Cow<'static, str>>) -> Diagnostic {
        self.label = text.into();
        self
    }

    /// With other words that belong to it.
    #[must_use]
    pub fn also(mut self, place: Place, text: impl Into<Cow<'static, str>>) -> Diagnostic {
        self.others.push(Label { place, text: text.into() });
        self
    }

    /// With the remedy.
    #[must_use]
    pub fn help(mut self, text: impl Into<String>) -> Diagnostic {
        self.help = Some(text.into());
        self
    }

    /// With a replacement of the underlined words.
    #[must_use]
    pub fn fix(mut self, text: impl Into<String>) -> Diagnostic {
        self.fix = Some(Fix { place: self.place, text: text.into() });
        self
    }

    /// Whether it stops an answer.
    pub fn is_error(&self) -> bool {
        self.severity == Severity::Error
    }
}
