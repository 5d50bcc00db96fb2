//! Tools and attachments that stand on a machine: `live drill 1.5 mm at 90 deg on cross for sub`.

use super::Diagnostic;
use super::nearest;
use super::values::{self, Words};
use crate::model::Place;
use crate::model::machine::Side;
use crate::model::shop::{Mounted, StandingTool};
use crate::model::tooling::ToolKind;
use crate::quantity::{Angle, Length};

/// A piece of some words, which is one of their slices.
fn part<'a>(words: Words<'a>, text: &'a str) -> Words<'a> {
    let offset = |n: usize| u32::try_from(n).unwrap_or(0);
    let start = words.place.start + offset(text.as_ptr() as usize - words.text.as_ptr() as usize);
    Words { text, place: Place { start, end: start + offset(text.len()), ..words.place } }
}

/// What is said of a tool or a head behind its name: `at 35 deg`, `on cross`, `for sub`, in any order, each once.
#[derive(Default)]
struct Said<'a> {
    at: Option<Words<'a>>,
    on: Option<Words<'a>>,
    of: Option<Words<'a>>,
}

/// The name, and what is said behind it by some of the joints.
fn split<'a>(words: Words<'a>, joints: &[&str]) -> Result<(Words<'a>, Said<'a>), Diagnostic> {
    let text = words.text;
    let mut found: Vec<(usize, &str)> =
        joints.iter().flat_map(|j| text.match_indices(j).map(|(at, _)| (at, *j))).collect();
    found.sort_unstable_by_key(|(at, _)| *at);
    let mut said = Said::default();
    for (n, (at, joint)) in found.iter().enumerate() {
        let end = found.get(n + 1).map_or(text.len(), |(next, _)| (*next).max(at + joint.len()));
        let tail = part(words, text[at + joint.len()..end].trim());
        let slot = match *joint {
            " at " => &mut said.at,
            " on " => &mut said.on,
            _ => &mut said.of,
        };
        if slot.replace(tail).is_some() {
            let message = format!("`{}` is said twice", joint.trim());
            return Err(Diagnostic::error("repeated-clause", tail.place, message).help("keep one of them"));
        }
    }
    let head = found.first().map_or(text, |(at, _)| text[..*at].trim_end());
    Ok((part(words, head), said))
}

fn angle(words: Words, example: &str) -> Result<Angle, Diagnostic> {
    let angle: Angle = values::quantity(words, example)?;
    values::within(words, angle.to_deg(), -180.0, 180.0, "an angle of -180 deg to 180 deg")?;
    Ok(angle)
}

/// A tool as a setter writes it: its kind, then what is known of diameter, angle, carrier and spindle. The place is that of
/// the carrier's name.
pub(super) fn tool(words: Words) -> Result<(StandingTool, Option<Place>), Diagnostic> {
    let (rest, said) = split(words, &[" for ", " on ", " at "])?;
    let named =
        |k: &ToolKind| rest.text.strip_prefix(k.word()).is_some_and(|tail| tail.is_empty() || tail.starts_with(' '));
    let kind = ToolKind::ALL.iter().copied().filter(named).max_by_key(|k| k.word().len());
    let Some(kind) = kind else {
        let names: Vec<&str> = ToolKind::ALL.iter().map(|k| k.word()).collect();
        let message = format!("`{}` does not begin with a kind of tool", rest.text);
        let first = rest.text.find(|c: char| c.is_ascii_digit()).map_or(rest.text, |at| rest.text[..at].trim_end());
        return Err(Diagnostic::error("unknown-tool", rest.place, message).help(nearest(
            first,
            &names,
            "kind of tool",
        )));
    };
    let dia = match rest.text[kind.word().len()..].trim_start() {
        "" => None,
        text => {
            let size = part(rest, text);
            let dia: Length = values::quantity(size, "3.3 mm")?;
            values::within(size, dia.to_mm(), 0.01, 200.0, "a tool of 0.01 to 200 mm")?;
            Some(dia)
        }
    };
    let side = match said.of {
        None => None,
        Some(w) if w.text == "main" => Some(Side::Main),
        Some(w) if w.text == "sub" => Some(Side::Sub),
        Some(w) => {
            let message = format!("`{}` is not a spindle", w.text);
            return Err(Diagnostic::error("unknown-word", w.place, message).help("write `for main` or `for sub`"));
        }
    };
    let angle = said.at.map(|w| angle(w, "90 deg")).transpose()?;
    let carrier = said.on.map(|w| w.text.to_owned());
    Ok((StandingTool { kind, dia, angle, carrier, side, form: None }, said.on.map(|w| w.place)))
}

/// An attachment, with the angle that it stands at where one is said: `angle-head at 35 deg`.
pub(super) fn mounted(words: Words) -> Result<(Mounted, Place), Diagnostic> {
    let (name, said) = split(words, &[" at "])?;
    let angle = said.at.map(|w| angle(w, "35 deg")).transpose()?;
    Ok((Mounted { name: name.text.to_owned(), angle }, name.place))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(text: &str) -> Words<'_> {
        Words { text, place: Place { file: 0, start: 100, end: 100 + text.len() as u32 } }
    }

    #[test]
    fn a_tool_is_read_as_far_as_it_is_said() {
        let (all, place) = tool(words("live drill 1.5 mm at 35 deg on cross for sub")).unwrap();
        let expected = StandingTool {
            kind: ToolKind::LiveDrill,
            dia: Some(Length::mm(1.5)),
            angle: Some(Angle::deg(35.0)),
            carrier: Some("cross".to_owned()),
            side: Some(Side::Sub),
            form: None,
        };
        assert_eq!(all, expected);
        assert_eq!(place.map(|p| (p.start, p.end)), Some((131, 136)));
        let (bare, _) = tool(words("finishing tool")).unwrap();
        assert_eq!((bare.kind, bare.dia, bare.carrier), (ToolKind::FinishingTool, None, None));
        let (turned, _) = tool(words("live drill 1.5 mm for sub on cross at 35 deg")).unwrap();
        assert_eq!(turned, expected, "in any order");
        assert_eq!(tool(words("cut-off tool 2mm")).unwrap().0.dia, Some(Length::mm(2.0)));
    }

    #[test]
    fn a_slip_is_told_at_its_place() {
        let fault = tool(words("dril 3 mm")).unwrap_err();
        assert_eq!((fault.code, fault.help.as_deref()), ("unknown-tool", Some("did you mean `drill`?")));
        let fault = tool(words("drill 3 MM on end")).unwrap_err();
        assert_eq!((fault.code, fault.place.start, fault.place.end), ("unknown-unit", 108, 110));
        assert_eq!(tool(words("drill 3 mm on end on gang")).unwrap_err().code, "repeated-clause");
        assert_eq!(tool(words("drilling tool 3 mm")).unwrap_err().code, "unknown-tool");
        assert_eq!(tool(words("drill on")).unwrap_err().code, "not-a-number");
        for out in ["drill 0 mm", "drill -3 mm", "drill 1 m", "live drill at 400 deg"] {
            assert_eq!(tool(words(out)).unwrap_err().code, "out-of-range", "{out}");
        }
        assert_eq!(tool(words("tap 4 mm for left")).unwrap_err().code, "unknown-word");
        assert_eq!(mounted(words("angle-head at 35 deg")).unwrap().0.angle, Some(Angle::deg(35.0)));
    }
}
