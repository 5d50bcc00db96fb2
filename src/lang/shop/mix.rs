//! What a shop expects to make, as YAML or as a sheet with one line a job. Both are read into one tree first, so that a key and
//! a column of one name mean the same and are refused in the same words.

use super::group::Group;
use super::tree::{self, Entry, Node, Value};
use super::values::{self, Words};
use super::{Reader, nearest};
use crate::lang::inquiries::{Kind, SheetError, cells};
use crate::lang::{Diagnostic, Sources};
use crate::model::figure::{Place, Stated};
use crate::model::mix::{BuyOut, Chance, Mix, MixJob};
use crate::quantity::measure::Currency;
use crate::quantity::{Money, Time};

const HOURS_OF_YEAR: f64 = 365.25 * 24.0;
/// More jobs than this are no mix of one shop.
const MOST_JOBS: usize = 100_000;

/// The text of a mix as a tree. It is read before its currency is known, since a job may name a spec that is not read otherwise.
pub struct MixText {
    text: String,
    tree: Tree,
}

/// Its places lie in a file that has no number yet.
enum Tree {
    Yaml(Result<Node, Diagnostic>),
    /// One node a line.
    Sheet(Vec<Node>),
}

impl MixText {
    /// A mix as YAML.
    pub fn yaml(text: String) -> MixText {
        let tree = Tree::Yaml(tree::read(0, &text));
        MixText { text, tree }
    }

    /// A sheet with one line a job over one year.
    ///
    /// # Errors
    /// [`SheetError`] where the sheet as a whole is of no use.
    pub fn sheet(kind: Kind, bytes: &[u8]) -> Result<MixText, SheetError> {
        let (text, jobs) = as_tree(&cells::rows(kind, bytes)?).ok_or(SheetError::Empty)?;
        Ok(MixText { text, tree: Tree::Sheet(jobs) })
    }

    /// What its jobs call their parts.
    pub fn parts(&self) -> impl Iterator<Item = &str> {
        let jobs = match &self.tree {
            Tree::Sheet(jobs) => jobs.as_slice(),
            Tree::Yaml(Ok(Node { value: Value::Map(entries), .. })) => {
                match entries.iter().find(|e| e.key == "jobs").map(|e| &e.node.value) {
                    Some(Value::List(jobs)) => jobs.as_slice(),
                    _ => &[],
                }
            }
            Tree::Yaml(_) => &[],
        };
        jobs.iter().filter_map(part)
    }

    /// The mix. Every fault of it is found in one reading; a job with a fault is left out, and there is no mix only where the
    /// file as a whole is of no use. Its text, of a sheet its cells, is added to `sources`, so that a fault shows its line.
    pub fn read(self, name: &str, currency: Currency, sources: &mut Sources) -> (Option<Mix>, Vec<Diagnostic>) {
        let file = sources.add(name, self.text);
        let mut reader = Reader { out: Vec::new(), currency: Some(currency), named: Vec::new() };
        let mix = match self.tree {
            Tree::Yaml(Ok(root)) => reader.mix(&in_file(root, file)),
            Tree::Yaml(Err(fault)) => {
                reader.out.push(Diagnostic { place: Place { file, ..fault.place }, ..fault });
                None
            }
            Tree::Sheet(jobs) => {
                let jobs = jobs.into_iter().filter_map(|job| reader.job(&in_file(job, file))).collect();
                Some(Mix { years: 1.0, jobs })
            }
        };
        (mix, reader.out)
    }
}

fn part(job: &Node) -> Option<&str> {
    let Value::Map(entries) = &job.value else { return None };
    let named = entries.iter().find(|e| e.key == "part")?;
    if let Value::Scalar(text) = &named.node.value { Some(text) } else { None }
}

/// The rows as a text, each on the line of its number, and each line below the head as a group of keys.
fn as_tree(rows: &[(usize, Vec<String>)]) -> Option<(String, Vec<Node>)> {
    let mut text = String::new();
    let mut jobs = Vec::new();
    let mut lines = 1;
    let (_, head) = rows.first()?;
    let keys: Vec<String> = head.iter().map(|k| k.trim().trim_start_matches('\u{feff}').to_lowercase()).collect();
    for (i, (row, cells)) in rows.iter().enumerate() {
        while lines < *row {
            text.push('\n');
            lines += 1;
        }
        let start = at(&text);
        let mut entries = Vec::new();
        for (column, cell) in cells.iter().enumerate() {
            let cell = cell.trim().replace(['\n', '\r'], " ");
            if column > 0 {
                text.push_str(", ");
            }
            let from = at(&text);
            text.push_str(&cell);
            let place = Place { file: 0, start: from, end: at(&text) };
            if i > 0 && !cell.is_empty() {
                let key = keys.get(column).cloned().unwrap_or_else(|| format!("column {}", column + 1));
                let node = Node { place, named_at: place, value: Value::Scalar(cell) };
                entries.push(Entry { key, key_place: place, node });
            }
        }
        let place = Place { file: 0, start, end: at(&text) };
        if !entries.is_empty() {
            jobs.push(Node { place, named_at: place, value: Value::Map(entries) });
        }
    }
    text.push('\n');
    Some((text, jobs))
}

fn at(text: &str) -> u32 {
    u32::try_from(text.len()).unwrap_or(u32::MAX)
}

/// A tree whose places lie in another file.
fn in_file(node: Node, file: u32) -> Node {
    let place = |p: Place| Place { file, ..p };
    let entry = |e: Entry| Entry { key_place: place(e.key_place), node: in_file(e.node, file), ..e };
    let value = match node.value {
        Value::Map(entries) => Value::Map(entries.into_iter().map(entry).collect()),
        Value::List(nodes) => Value::List(nodes.into_iter().map(|n| in_file(n, file)).collect()),
        other => other,
    };
    Node { place: place(node.place), named_at: place(node.named_at), value }
}

impl Reader {
    fn mix(&mut self, root: &Node) -> Option<Mix> {
        let mut top = Group::of(root, "the mix", &mut self.out)?;
        let years = match top.optional("horizon") {
            Some(node) => self.horizon(node),
            None => Some(1.0),
        };
        let jobs = top.required("jobs", "jobs: [{ part: valve-spool, yearly: 40_000, lots: 12, price: 6.20 EUR }]");
        let nodes = jobs.map(|n| self.items(n, "jobs: [{ part: valve-spool, yearly: 40_000, lots: 12 }]"));
        top.finish(&mut self.out);
        let nodes = nodes?;
        if nodes.len() > MOST_JOBS {
            let message = format!("the mix has {} jobs", nodes.len());
            self.out.push(Diagnostic::error("out-of-range", root.shown(), message).help("a mix may have 100,000 jobs"));
            return None;
        }
        let jobs = nodes.iter().filter_map(|n| self.job(n)).collect();
        Some(Mix { years: years?, jobs })
    }

    fn horizon(&mut self, node: &Node) -> Option<f64> {
        let words = self.words(node)?;
        let time: Time = self.keep(values::quantity(words, "1 year"))?;
        let years = time.to_hours() / HOURS_OF_YEAR;
        self.keep(values::within(words, years, 0.01, 10.0, "half a week to 10 years"))?;
        Some(years)
    }

    /// One job; nothing where one of its values has a fault.
    fn job(&mut self, node: &Node) -> Option<MixJob> {
        let faults = self.out.len();
        let mut group = Group::of(node, "a job", &mut self.out)?;
        let part = group.required("part", "part: valve-spool");
        let part = part.and_then(|n| self.words(n)).map(|w| Stated { value: w.text.to_owned(), place: w.place });
        let yearly = group.required("yearly", "yearly: 40_000").and_then(|n| self.pieces(n, "40_000"));
        let lots = group.optional("lots").map(|n| self.whole(n, "12", 1, 100_000));
        let due = group.optional("due").map(|n| self.wanted(n));
        let price = group.optional("price").map(|n| self.positive(n, "6.20 EUR"));
        let buy_out = group.optional("buy-out").map(|n| self.buy_out(n));
        let chance = group.optional("chance").map(|n| self.chance(n));
        let customer = group.optional("customer").and_then(|n| self.text(n));
        let validated_on = group.optional("validated on").map(|n| self.names(n)).unwrap_or_default();
        let moving = group.optional("moving").map(|n| self.moving(n));
        let must = group.optional("must").is_some_and(|n| self.yes_or_no(n));
        let split = group.optional("split").is_some_and(|n| self.yes_or_no(n));
        group.finish(&mut self.out);
        let (yearly, lots) = (yearly?, lots.unwrap_or(Some(1))?);
        if u64::from(lots) > yearly {
            let message = format!("{lots} lots of {yearly} pieces");
            self.out
                .push(Diagnostic::error("contradiction", node.shown(), message).help("a lot has at least one piece"));
        }
        let job = MixJob {
            place: node.place,
            part: part?,
            yearly,
            lots,
            due: due.map_or(Some(None), |d| d.map(Some))?,
            price: price.map_or(Some(None), |p| p.map(Some))?,
            buy_out: buy_out.map_or(Some(None), |b| b.map(Some))?,
            chance: chance.unwrap_or(Some(Chance::Booked))?,
            customer,
            validated_on,
            moving: moving.map_or(Some(None), |m| m.map(Some))?,
            must,
            split,
        };
        (!self.out[faults..].iter().any(Diagnostic::is_error)).then_some(job)
    }

    fn pieces(&mut self, node: &Node, example: &str) -> Option<u64> {
        let words = self.words(node)?;
        let pieces = self.keep(values::bare(words, example))?;
        let whole = if pieces.fract() == 0.0 { pieces } else { f64::NAN };
        self.keep(values::within(words, whole, 1.0, 1e9, "a whole number of pieces, 1 to 1_000_000_000"))?;
        Some(whole as u64)
    }

    fn wanted(&mut self, node: &Node) -> Option<Time> {
        let words = self.words(node)?;
        let time: Time = self.keep(values::quantity(words, "3 weeks"))?;
        self.keep(values::within(words, time.to_weeks(), 0.0, 522.0, "no less than nothing and at most ten years"))?;
        Some(time)
    }

    fn positive(&mut self, node: &Node, example: &str) -> Option<Money> {
        let words = self.words(node)?;
        let money: Money = self.keep(values::money(words, self.currency, example))?;
        self.keep(values::within(words, money.to_units(), 0.0001, 1e9, "an amount above nothing"))?;
        Some(money)
    }

    /// `5.60 EUR`, or `{ piece: 5.60 EUR, lot: 90 EUR }`.
    fn buy_out(&mut self, node: &Node) -> Option<BuyOut> {
        if let Value::Scalar(_) = node.value {
            return Some(BuyOut { piece: self.positive(node, "5.60 EUR")?, lot: Money::ZERO });
        }
        let mut group = Group::of(node, "buy-out", &mut self.out)?;
        let piece = group.required("piece", "piece: 5.60 EUR").and_then(|n| self.positive(n, "5.60 EUR"));
        let lot = group.optional("lot").map(|n| self.positive(n, "90 EUR"));
        group.finish(&mut self.out);
        Some(BuyOut { piece: piece?, lot: lot.unwrap_or(Some(Money::ZERO))? })
    }

    fn chance(&mut self, node: &Node) -> Option<Chance> {
        let words = self.words(node)?;
        let found = Chance::ALL.into_iter().find(|c| c.word() == words.text);
        if found.is_none() {
            let names = Chance::ALL.map(Chance::word);
            let message = format!("`{}` does not say how sure a job is", words.text);
            self.out.push(
                Diagnostic::error("unknown-chance", words.place, message).help(nearest(words.text, &names, "chance")),
            );
        }
        found
    }

    /// `tilt-32`, or `[tilt-32, turret-32]`.
    fn names(&mut self, node: &Node) -> Vec<Stated<String>> {
        let named = |w: Words| Stated { value: w.text.to_owned(), place: w.place };
        match &node.value {
            Value::List(items) => items.iter().filter_map(|n| self.words(n).map(named)).collect(),
            _ => self.words(node).map(named).into_iter().collect(),
        }
    }

    /// `12_000 EUR takes 16 weeks`.
    fn moving(&mut self, node: &Node) -> Option<(Money, Time)> {
        let words = self.words(node)?;
        let Some((cost, time)) = words.text.split_once(" takes ") else {
            let message = format!("`{}` does not say what moving costs and takes", words.text);
            self.out
                .push(Diagnostic::error("wrong-shape", words.place, message).help("write `12_000 EUR takes 16 weeks`"));
            return None;
        };
        let middle = words.place.start + at(cost);
        let cost_words = Words { text: cost.trim_end(), place: Place { end: middle, ..words.place } };
        let time_words = Words { text: time.trim(), place: Place { start: middle, ..words.place } };
        let cost = self.keep(values::money(cost_words, self.currency, "12_000 EUR"))?;
        let time = self.keep(values::quantity(time_words, "16 weeks"))?;
        Some((cost, time))
    }

    /// `true`, or `yes` of a sheet.
    fn yes_or_no(&mut self, node: &Node) -> bool {
        let Some(words) = self.words(node) else { return false };
        let known = ["true", "yes", "false", "no"].contains(&words.text);
        if !known {
            let message = format!("`{}` is neither yes nor no", words.text);
            self.out.push(Diagnostic::error("wrong-shape", words.place, message).help("write `yes` or `no`"));
        }
        matches!(words.text, "true" | "yes")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const EUR: Currency = Currency(*b"EUR");

    /// Read behind another file, in which no place may lie.
    fn read(text: MixText) -> (Option<Mix>, Vec<Diagnostic>) {
        let mut sources = Sources::default();
        sources.add("shop.yaml", String::new());
        let (mix, found) = text.read("mix", EUR, &mut sources);
        let places = found.iter().map(|d| d.place).chain(mix.iter().flat_map(|m| &m.jobs).map(|j| j.part.place));
        places.for_each(|place| assert_eq!(place.file, 1, "{found:?}"));
        (mix, found)
    }

    fn of_yaml(text: &str) -> (Option<Mix>, Vec<Diagnostic>) {
        read(MixText::yaml(text.to_owned()))
    }

    fn of_sheet(text: &str) -> (Option<Mix>, Vec<Diagnostic>) {
        read(MixText::sheet(Kind::Csv, text.as_bytes()).unwrap())
    }

    fn told(text: &str) -> String {
        let (_, out) = of_yaml(text);
        out.iter().map(|d| format!("{}: {}\n", d.code, d.message)).collect()
    }

    #[test]
    fn a_job_is_read_from_yaml_and_from_a_sheet_alike() {
        let yaml = "jobs:\n  - { part: a, yearly: 40_000, lots: 12, price: 6.20 EUR, buy-out: 5.60 EUR, chance: likely, \
                    validated on: tilt-32, must: true, due: 3 weeks }\n";
        let sheet = "part,yearly,lots,price,buy-out,chance,validated on,must,due\n\
                     a,40_000,12,6.20 EUR,5.60 EUR,likely,tilt-32,yes,3 weeks\n";
        let (of_yaml, faults) = of_yaml(yaml);
        assert!(faults.is_empty(), "{faults:?}");
        let (of_sheet, faults) = of_sheet(sheet);
        assert!(faults.is_empty(), "{faults:?}");
        let bare = |mix: Option<Mix>| {
            let place = Place { file: 0, start: 0, end: 0 };
            let mut job = mix.unwrap().jobs.remove(0);
            job.place = place;
            job.part.place = place;
            job.validated_on.iter_mut().for_each(|v| v.place = place);
            job
        };
        let job = bare(of_yaml);
        assert_eq!(job, bare(of_sheet));
        assert_eq!((job.yearly, job.lots, job.lot(), job.must), (40_000, 12, 3_334, true));
    }

    #[test]
    fn a_line_with_a_fault_takes_nothing_from_the_others() {
        let sheet = "part,yearly,lots\na,-5,1\nb,100,200\nc,100,2\nd,many,2\n,5,1\n";
        let (mix, faults) = of_sheet(sheet);
        let parts: Vec<String> = mix.unwrap().jobs.into_iter().map(|j| j.part.value).collect();
        assert_eq!(parts, ["c"]);
        let codes: Vec<&str> = faults.iter().map(|f| f.code).collect();
        assert_eq!(codes, ["out-of-range", "contradiction", "not-a-number", "missing-key"], "{faults:?}");
    }

    #[test]
    fn each_fault_is_told() {
        assert_eq!(told("jobs: []\nhorizon: 0 years"), "out-of-range: `0 years` is out of range\n");
        for (job, code) in [
            ("{ part: a, yearly: 1_000, price: 0 EUR }", "out-of-range"),
            ("{ part: a, yearly: 1_000, price: 5 USD }", "wrong-currency"),
            ("{ part: a, yearly: 1_000, chance: perhaps }", "unknown-chance"),
            ("{ part: a, yearly: 1_000, moving: 12_000 EUR }", "wrong-shape"),
            ("{ part: a, yearly: 1_000, must: maybe }", "wrong-shape"),
            ("{ part: a, yearly: 1_000, lots: 0 }", "out-of-range"),
            ("{ part: a, yearly: 1_000.5 }", "out-of-range"),
            ("{ part: a, yearly: 1_000, colour: red }", "unknown-key"),
            ("{ part: a, yearly: 1_000, buy-out: { lot: 90 EUR } }", "missing-key"),
        ] {
            let told = told(&format!("jobs:\n  - {job}\n"));
            assert!(told.starts_with(&format!("{code}: ")), "{job}: {told}");
        }
    }
}
