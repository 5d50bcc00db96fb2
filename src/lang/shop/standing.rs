//! Tools and attachments that stand on a machine: `live drill 1.5 mm at 90 deg on cross for sub`.

use super::Diagnostic;
use super::nearest;
use super::values::{self, Words};
use crate::model::Place;
use crate::model::machine::Side;
use crate::model::shop::{Mounted, StandingTool};
use crate::model::tooling::ToolKind;

/// The words after a joint, and what is left before it: `drill 3 mm on end` at `on` gives `end` and `drill 3 mm`.
fn split_off<'a>(words: Words<'a>, joint: &str) -> (Words<'a>, Option<Words<'a>>) {
    let Some(at) = words.text.rfind(joint) else { return (words, None) };
    let (head, tail) = (words.text[..at].trim_end(), words.text[at + joint.len()..].trim());
    (
        part(words, 0, head),
        Some(part(words, words.text.len() - words.text[at + joint.len()..].trim_start().len(), tail)),
    )
}

/// A piece of some words, so many bytes after their start.
fn part<'a>(words: Words<'a>, skip: usize, text: &'a str) -> Words<'a> {
    let offset = |n: usize| u32::try_from(n).unwrap_or(0);
    let start = words.place.start + offset(skip);
    Words { text, place: Place { start, end: start + offset(text.len()), ..words.place } }
}

/// A tool as a setter writes it: kind, then what is known of diameter, angle, carrier and spindle, in this order.
pub(super) fn tool(words: Words) -> Result<(StandingTool, Option<Place>), Diagnostic> {
    let (rest, spindle) = split_off(words, " for ");
    let (rest, carrier) = split_off(rest, " on ");
    let (rest, angle) = split_off(rest, " at ");
    let kinds = ToolKind::ALL.iter().copied();
    let kind = kinds.filter(|k| rest.text.starts_with(k.word())).max_by_key(|k| k.word().len());
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
    let size = rest.text[kind.word().len()..].trim_start();
    let dia = match size {
        "" => None,
        text => Some(values::quantity(part(rest, rest.text.len() - text.len(), text), "3.3 mm")?),
    };
    let angle = angle.map(|w| values::quantity(w, "90 deg")).transpose()?;
    let side = match spindle {
        None => None,
        Some(w) if w.text == "main" => Some(Side::Main),
        Some(w) if w.text == "sub" => Some(Side::Sub),
        Some(w) => {
            let message = format!("`{}` is not a spindle", w.text);
            return Err(Diagnostic::error("unknown-word", w.place, message).help("write `for main` or `for sub`"));
        }
    };
    let place = carrier.map(|w| w.place);
    let carrier = carrier.map(|w| w.text.to_owned());
    Ok((StandingTool { kind, dia, angle, carrier, side }, place))
}

/// An attachment, with the angle that it stands at where one is said: `angle-head at 35 deg`.
pub(super) fn mounted(words: Words) -> Result<(Mounted, Place), Diagnostic> {
    let (name, angle) = split_off(words, " at ");
    let angle = angle.map(|w| values::quantity(w, "35 deg")).transpose()?;
    Ok((Mounted { name: name.text.to_owned(), angle }, name.place))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Angle, Length};

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
        };
        assert_eq!(all, expected);
        assert_eq!(place.map(|p| (p.start, p.end)), Some((131, 136)));
        let (bare, _) = tool(words("finishing tool")).unwrap();
        assert_eq!((bare.kind, bare.dia, bare.carrier), (ToolKind::FinishingTool, None, None));
        assert_eq!(tool(words("cut-off tool 2mm")).unwrap().0.dia, Some(Length::mm(2.0)));
    }

    #[test]
    fn a_slip_is_told_at_its_place() {
        let fault = tool(words("dril 3 mm")).unwrap_err();
        assert_eq!((fault.code, fault.help.as_deref()), ("unknown-tool", Some("did you mean `drill`?")));
        let fault = tool(words("drill 3 MM on end")).unwrap_err();
        assert_eq!((fault.code, fault.place.start, fault.place.end), ("unknown-unit", 108, 110));
        assert_eq!(tool(words("tap 4 mm for left")).unwrap_err().code, "unknown-word");
        assert_eq!(mounted(words("angle-head at 35 deg")).unwrap().0.angle, Some(Angle::deg(35.0)));
    }
}
