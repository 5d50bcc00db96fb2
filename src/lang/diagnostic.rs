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

/// Every code with what it is about, in the order of the alphabet.
pub const CATALOGUE: &[(&str, &str)] = &[
    ("arithmetic", "terms of an expression that cannot be combined"),
    ("as-stock-differs", "flats left as bought differ from the bar"),
    ("backward-range", "a range whose first end is the greater one"),
    ("bar-out-of-range", "bar that the machine does not take"),
    ("bore-through-wall", "a bore that leaves no wall"),
    ("bore-without-surface", "a bore within a larger one"),
    ("coarse-finish", "a roughness that no cut leaves"),
    ("contour-too-deep", "a sculpted surface past the axis"),
    ("contradiction", "words that exclude each other"),
    ("core-over-major", "a thread whose core is not smaller than its major diameter"),
    ("corner-too-large", "a chamfer or radius larger than its shoulder"),
    ("corners-beyond-segment", "corners of flats that the cylinder does not have"),
    ("crossed-limits", "an upper deviation below the lower one"),
    ("cut-no-deeper", "a groove that takes nothing off"),
    ("datum-does-not-fit", "a datum that cannot be one for its demand"),
    ("datum-is-itself", "a feature measured against itself"),
    ("datum-missing", "a demand without its datum"),
    ("declared-twice", "two declarations of one name"),
    ("demand-does-not-fit", "a demand that the feature cannot carry"),
    ("duplicate-key", "a key of the shop twice"),
    ("empty-stretch", "a stretch along z without length"),
    ("end-hole-without-circle", "several end holes in one place"),
    ("face-groove-off-face", "a face groove beyond its face"),
    ("face-groove-without-width", "a face groove whose diameters leave no width"),
    ("family-line", "a family without its parameter, or with a value twice"),
    ("features-coincide", "two features in one place"),
    ("file-too-large", "a file over the limit"),
    ("flat-outside-diameter", "a flat that does not touch its cylinder"),
    ("gap-between-segments", "a stretch that nothing makes"),
    ("groove-radius-too-large", "a bottom radius that the groove has no room for"),
    ("groove-without-bore", "an internal groove without a bore"),
    ("hole-angle", "a hole's angle beyond 0 to 90 deg"),
    ("hole-comes-out", "a blind hole that comes out again"),
    ("hole-into-solid", "a hole that ends in nothing that it names"),
    ("hole-leans", "an inclined hole that does not say to which end it leans"),
    ("hole-misses-bore", "a hole that passes the bore that it names"),
    ("hole-mouth-across-shoulder", "a hole's mouth over two diameters"),
    ("hole-mouth-off-end", "a hole's mouth over an end face"),
    ("hole-off-face", "an end hole beside its face"),
    ("hole-off-side", "a hole that misses the part"),
    ("hole-opens-into-bore", "a blind hole that opens a bore"),
    ("hole-without-end", "a hole that does not say where it ends"),
    ("holes-overlap", "holes that run into each other"),
    ("incomplete-material", "a material that does not state what planning needs"),
    ("keyway-shorter-than-wide", "a keyway without room for its ends"),
    ("keyway-too-deep", "a keyway past the axis"),
    ("knurl-across-step", "a knurl over two diameters"),
    ("knurl-on-thread", "a knurl over a thread"),
    ("lead-and-pitch", "a lead that is no multiple of the pitch"),
    ("left-over", "words that nothing takes"),
    ("let-line", "a `let` that names no value"),
    ("like-chain", "machines like each other in too long a chain"),
    ("too-many-faults", "a file with more faults than are told"),
    ("too-many-statements", "a part with more statements than are planned"),
    ("like-circle", "machines like each other in a circle"),
    ("markup-of-what", "a markup that does not say of what"),
    ("missing-clause", "a statement without a clause that it needs"),
    ("missing-key", "a key that the shop must state"),
    ("missing-statement", "a statement that a part or a machine must have"),
    ("missing-unit", "a number without the unit that it needs"),
    ("missing-value", "a word without its value"),
    ("mode-not-there", "a mode that the machine does not have"),
    ("mounted-not-owned", "an attachment mounted and not owned"),
    ("name-twice", "two features of one name"),
    ("no-body", "a declaration without braces"),
    ("no-corner-there", "a chamfer or radius where no corner is"),
    ("no-fit", "a class that ISO 286 does not give for the size"),
    ("no-name", "a declaration without a name"),
    ("no-places", "a carrier without tool places"),
    ("no-units", "a bare length in a file without a `units` line"),
    ("not-a-count", "a number that is not whole where things are counted"),
    ("not-a-number", "something else than a number"),
    ("not-positive", "a size that must be greater than 0"),
    ("not-yaml", "a shop file that cannot be read"),
    ("open-brace", "braces that are not closed"),
    ("open-bracket", "a bracket that is not closed"),
    ("open-parenthesis", "a parenthesis that is not closed"),
    ("open-stretch", "a stretch along z with one end"),
    ("open-title", "a title without its closing quote"),
    ("out-of-range", "a value of the shop beyond what makes sense"),
    ("outside-length", "a feature past the ends of the part"),
    ("outside-stock", "a diameter beyond the bar"),
    ("overlapping-segments", "two turned segments over one stretch"),
    ("pitch-too-large", "a pitch that is no fraction of the diameter"),
    ("polygon-outside-segment", "flats over more than one segment"),
    ("reserved-word", "a word of the language as a name"),
    ("repeated-clause", "a clause twice in one statement"),
    ("repeated-statement", "a statement twice in one declaration"),
    ("slot-too-deep", "a slot past the far side"),
    ("socket-deeper-than-head", "a drive deeper than its head"),
    ("socket-wider-than-face", "a drive wider than its face"),
    ("socket-within-bore", "a drive that the bore swallows"),
    ("sphere-too-long", "a sphere longer than its diameter"),
    ("strange-sign", "a sign that means nothing in the language"),
    ("stray-brace", "a brace in the wrong place"),
    ("tap-drill-against-class", "a bore against the minor diameter limits of its thread"),
    ("thin-ligament", "little material between cuts"),
    ("thin-wall", "a thin wall"),
    ("thin-web", "a thin web"),
    ("thread-against-segment", "a thread against the diameter beneath it"),
    ("thread-blank-against-class", "a blank against the major diameter limits of its thread"),
    ("thread-deeper-than-bore", "a thread deeper than its bore"),
    ("thread-shorter-than-pitch", "a thread without one full turn"),
    ("threads-overlap", "two threads over one stretch"),
    ("through-holes-coincide", "holes through the part that meet from both sides"),
    ("too-deep", "parentheses nested too deep"),
    ("too-many-around", "more features round the part than have room"),
    ("tube-too-hollow", "a tube whose bore is larger than the part allows"),
    ("units-line", "a `units` line that names no unit of length"),
    ("units-twice", "two `units` lines in one file"),
    ("unknown-chance", "a word that does not say how sure a job of a mix is"),
    ("unknown-carrier", "a carrier that the machine does not have"),
    ("unknown-class", "a class that no thread has"),
    ("unknown-clause", "a word that a statement does not know"),
    ("unknown-country", "a country by no code of ISO 3166-1"),
    ("unknown-currency", "a currency that is not in ISO 4217"),
    ("unknown-declaration", "a word that a file does not know"),
    ("unknown-feature", "a feature that the part does not have"),
    ("unknown-key", "a key that the shop does not know"),
    ("unknown-machine", "a machine that nobody declares"),
    ("unknown-material", "a material that nobody knows"),
    ("unknown-mode", "a way of holding that does not exist"),
    ("unknown-name", "a value that no `let` names"),
    ("unknown-option", "an attachment that the machine does not have"),
    ("unknown-setup-time", "a setup step that the shop does not know"),
    ("unknown-size", "a size number that its table does not have"),
    ("unknown-statement", "a word that a part or a machine does not know"),
    ("unknown-thread", "a designation that the thread tables do not have"),
    ("unknown-threshold", "a threshold that the shop does not know"),
    ("unknown-tool", "a tool of a kind that nobody knows"),
    ("unknown-treatment", "a treatment that no spec can ask for"),
    ("unknown-unit", "a unit that does not exist"),
    ("unknown-word", "a word that is none of those that may stand there"),
    ("unreadable", "a file that is no text of the language"),
    ("wider-than-part", "a cut wider than the part"),
    ("wrong-currency", "an amount in another currency than the shop's"),
    ("wrong-dimension", "a value of another kind than is wanted"),
    ("wrong-shape", "a value where a group is wanted, or the other way round"),
];
