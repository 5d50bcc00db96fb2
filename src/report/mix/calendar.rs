//! The order of the lots as a calendar after RFC 5545 (iCalendar): an event for each lot, on the machine's own days. Times are
//! floating, as a clock on the wall of the shop reads: they are spread evenly over the year and no shift plan.

use super::MixAnswer;
use super::order::at;
use jiff::civil::Date;

/// Octets of a line of content, without its end (RFC 5545, section 3.1).
const LINE: usize = 75;

/// The calendar; `start` is the day on which the mix begins.
pub fn calendar(a: &MixAnswer, start: Date) -> String {
    let mut out = Lines(String::new());
    out.add("BEGIN:VCALENDAR");
    out.add("VERSION:2.0");
    out.add("PRODID:-//turnwright//mix//EN");
    // Nothing of the clock goes in, so that the same inputs give the same bytes.
    let stamp = start.strftime("%Y%m%dT000000Z").to_string();
    for s in &a.sequence {
        let machine = super::words::unit(&s.machine, s.number, s.of);
        for r in &s.runs {
            let time = |day: f64| at(start, day).strftime("%Y%m%dT%H%M%S").to_string();
            out.add("BEGIN:VEVENT");
            out.add(&format!("UID:{}-{}-{}-{}-{}@turnwright", s.machine, s.number, r.part, r.job, r.lot));
            out.add(&format!("DTSTAMP:{stamp}"));
            out.add(&format!("DTSTART:{}", time(r.setup_day)));
            out.add(&format!("DTEND:{}", time(r.end_day)));
            out.add(&format!("SUMMARY:{}", escaped(&format!("{} lot {} of {}", r.part, r.lot, r.lots))));
            out.add(&format!("LOCATION:{}", escaped(&machine)));
            let words = format!("setting {:.1} h, cutting {:.1} h", r.setting_h, r.cutting_h);
            out.add(&format!("DESCRIPTION:{}", escaped(&words)));
            out.add("END:VEVENT");
        }
    }
    out.add("END:VCALENDAR");
    out.0
}

/// Text as RFC 5545, section 3.3.11, writes it.
fn escaped(text: &str) -> String {
    text.replace('\\', "\\\\").replace(';', "\\;").replace(',', "\\,").replace('\n', "\\n")
}

struct Lines(String);

impl Lines {
    /// A line of content, folded where it is long: a blank begins what goes on.
    fn add(&mut self, line: &str) {
        let mut room = LINE;
        for letter in line.chars() {
            if letter.len_utf8() > room {
                self.0.push_str("\r\n ");
                room = LINE - 1;
            }
            room -= letter.len_utf8();
            self.0.push(letter);
        }
        self.0.push_str("\r\n");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_line_is_folded_at_seventy_five_octets() {
        let mut lines = Lines(String::new());
        lines.add(&"ü".repeat(100));
        assert!(lines.0.split("\r\n").all(|l| l.len() <= LINE));
        assert_eq!(lines.0.replace("\r\n ", ""), format!("{}\r\n", "ü".repeat(100)));
    }

    #[test]
    fn separators_in_text_are_escaped() {
        assert_eq!(escaped("a,b;c\\d"), "a\\,b\\;c\\\\d");
    }
}
