//! The shop file: rates, people, standard times and what stands on each machine now, from YAML into the model.

mod calibration;
mod finance;
mod group;
mod holdings;
mod mix;
mod people;
mod quotes;
mod standing;
mod tree;
pub(in crate::lang) mod values;
mod write;

use crate::lang::Diagnostic;
use crate::model::figure::{Place, Stated};
use crate::model::machine::{Machine, ModeKind};
use crate::model::shop::{Holding, Markup, Shop, ShopMachine, State};
use crate::quantity::measure::{Currency, Dimension};
use crate::quantity::print::number;
use crate::quantity::units::{edit_distance, meaning};
use crate::quantity::{HourRate, Length, Ratio, Time, YearlyHours};
use crate::tables::{materials, shop_times, thresholds};
use group::Group;
pub use mix::MixText;
use std::collections::BTreeMap;
use tree::{Node, Value};
use values::Words;
pub use write::{WriteError, block, with_calibration};

/// Hours in a leap year: nothing runs longer.
const YEAR_HOURS: f64 = 8784.0;

/// Reads a shop file. Every fault of it is found in one reading; there is a shop only where none of them is an error.
pub fn read_shop(file: u32, text: &str) -> (Option<Shop>, Vec<Diagnostic>) {
    let mut reader = Reader { out: Vec::new(), currency: None, named: Vec::new() };
    let shop = reader.file(file, text);
    (shop.filter(|_| !reader.out.iter().any(Diagnostic::is_error)), reader.out)
}

/// Reads a shop file and holds it against the machines that it names: their attachments, modes and bar ranges.
pub fn read_shop_with(file: u32, text: &str, machines: &[Machine]) -> (Option<Shop>, Vec<Diagnostic>) {
    let mut reader = Reader { out: Vec::new(), currency: None, named: Vec::new() };
    let shop = reader.file(file, text);
    let named = std::mem::take(&mut reader.named);
    for n in &named {
        n.against(machines, &mut reader.out);
    }
    (shop.filter(|_| !reader.out.iter().any(Diagnostic::is_error)), reader.out)
}

/// A machine of the shop file with the places of the names in it.
struct Named {
    machine: String,
    place: Place,
    /// Not a machine that it may buy.
    owned: bool,
    options: Vec<(String, Place)>,
    carriers: Vec<(String, Place)>,
    holdings: Vec<(Holding, Place)>,
    states: Vec<Standing>,
}

/// A mode that stands on a machine, with its bar.
struct Standing {
    mode: Stated<ModeKind>,
    bar: Option<Stated<Length>>,
}

impl Named {
    fn of(name: &str, place: Place) -> Named {
        let machine = name.to_owned();
        let (options, carriers, holdings, states) = Default::default();
        Named { machine, place, owned: true, options, carriers, holdings, states }
    }

    fn against(&self, machines: &[Machine], out: &mut Vec<Diagnostic>) {
        let Some(machine) = machines.iter().find(|m| m.name == self.machine) else {
            if !self.owned {
                return;
            }
            let message = format!("no machine is called `{}`", self.machine);
            let names: Vec<&str> = machines.iter().map(|m| m.name.as_str()).collect();
            out.push(Diagnostic::warning("unknown-machine", self.place, message).help(nearest(
                &self.machine,
                &names,
                "machine",
            )));
            return;
        };
        for (option, place) in &self.options {
            if !machine.options.iter().any(|o| o.name == *option) {
                let names: Vec<&str> = machine.options.iter().map(|o| o.name.as_str()).collect();
                let message = format!("`{}` has no option `{option}`", machine.name);
                out.push(Diagnostic::error("unknown-option", *place, message).help(nearest(option, &names, "option")));
            }
        }
        for (carrier, place) in &self.carriers {
            if machine.carrier(carrier).is_none() {
                let names: Vec<&str> = machine.carriers.iter().map(|c| c.name.as_str()).collect();
                let message = format!("`{}` has no carrier `{carrier}`", machine.name);
                let help = nearest(carrier, &names, "carrier");
                out.push(Diagnostic::error("unknown-carrier", *place, message).help(help));
            }
        }
        for (holding, place) in &self.holdings {
            let idle = match holding {
                Holding::Sub => machine.sub.is_none().then_some("sub-spindle"),
                Holding::Bushing => machine.mode(ModeKind::Guided).is_none().then_some("mode `guided`"),
                Holding::Main => None,
            };
            if let Some(what) = idle {
                let message = format!("`{}` has no {what}", machine.name);
                out.push(Diagnostic::error("contradiction", *place, message).help("take this list out"));
            }
        }
        for Standing { mode: stated, bar } in &self.states {
            let (kind, place) = (stated.value, stated.place);
            let Some(mode) = machine.mode(kind) else {
                let has: Vec<&str> = machine.modes.iter().map(|m| m.kind.word()).collect();
                let message = format!("`{}` has no mode `{}`", machine.name, kind.word());
                out.push(
                    Diagnostic::error("mode-not-there", place, message).help(format!("it has {}", has.join(", "))),
                );
                continue;
            };
            let (Some(Stated { value: bar, place }), Some(range)) = (bar, &mode.bar) else { continue };
            if !range.contains(*bar) {
                let said = match (range.low, range.high) {
                    (Some(low), Some(high)) => format!("{low} to {high}"),
                    (None, Some(high)) => format!("up to {high}"),
                    (Some(low), None) => format!("from {low}"),
                    (None, None) => continue,
                };
                let message = format!("`{}` does not take bar of {bar} in mode `{}`", machine.name, kind.word());
                out.push(Diagnostic::error("bar-out-of-range", *place, message).help(format!("it takes {said}")));
            }
        }
    }
}

/// The nearest of some names, or all of them.
pub fn nearest(word: &str, names: &[&str], what: &str) -> String {
    let near = names.iter().map(|n| (edit_distance(word, n), n)).min();
    match near {
        Some((distance, name)) if distance <= 1 + word.len() / 4 => format!("did you mean `{name}`?"),
        Some(_) => format!("each {what} known here: {}", names.join(", ")),
        None => format!("no {what} is known here"),
    }
}

struct Reader {
    out: Vec<Diagnostic>,
    currency: Option<Currency>,
    named: Vec<Named>,
}

impl Reader {
    fn file(&mut self, file: u32, text: &str) -> Option<Shop> {
        let root = match tree::read(file, text) {
            Ok(root) => root,
            Err(fault) => {
                self.out.push(fault);
                return None;
            }
        };
        let mut top = Group::of(&root, "the shop file", &mut self.out)?;
        let name = top.required("shop", "shop: Fernhollow Turned Parts").and_then(|n| self.text(n));
        // The currency comes first: every amount is held against it.
        let code = top.required("currency", "currency: EUR");
        self.currency = code.and_then(|n| self.currency(n));
        let machines = top.required("machines", "machines: { gang-20: { hourly: 64 EUR/h } }");
        let machines = machines.and_then(|n| self.machines(n));
        let people = top.required(
            "people",
            "people: { setters: 2, setter: 58 EUR/h, operator: 42 EUR/h, machines per operator: 4 }",
        );
        let people = people.and_then(|n| self.people(n));
        let markup = top.required("markup", "markup: 22 % of cost").and_then(|n| self.markup(n));
        let scrap = top.required("scrap", "scrap: 2 %").and_then(|n| self.percent(n, "2 %", 0.0, 0.99));
        let setup_pieces = top.required("setup pieces", "setup pieces: 4").and_then(|n| self.whole(n, "4", 0, 10_000));
        let setup_times = top.optional("setup").map(|n| self.setup(n)).unwrap_or_default();
        let thresholds = top.optional("thresholds").map(|n| self.thresholds(n)).unwrap_or_default();
        let finance = top.optional("finance").and_then(|n| self.finance(n));
        let overtime = top.optional("overtime").and_then(|n| self.overtime(n));
        let risk = top.optional("risk").and_then(|n| self.risk(n));
        let candidates = top.optional("candidates").and_then(|n| self.candidates(n)).unwrap_or_default();
        let quotes = top.optional("quotes").and_then(|n| self.quotes(n)).unwrap_or_default();
        let calibration = top.optional("calibration").and_then(|n| self.calibration(n)).unwrap_or_default();
        top.finish(&mut self.out);
        Some(Shop {
            name: name?,
            currency: self.currency?,
            machines: machines?,
            people: people?,
            markup: markup?,
            scrap: scrap?,
            setup_pieces: setup_pieces?,
            setup_times,
            thresholds,
            finance,
            overtime,
            risk,
            candidates,
            quotes,
            calibration,
        })
    }

    /// Keeps a value, or tells what is wrong with it.
    fn keep<T>(&mut self, result: Result<T, Diagnostic>) -> Option<T> {
        result.map_err(|fault| self.out.push(fault)).ok()
    }

    fn words<'n>(&mut self, node: &'n Node) -> Option<Words<'n>> {
        match &node.value {
            Value::Scalar(text) => Some(Words { text, place: node.place }),
            _ => {
                let message = format!("a single value is expected, not {}", node.word());
                self.out.push(
                    Diagnostic::error("wrong-shape", node.shown(), message).help("write the value behind the colon"),
                );
                None
            }
        }
    }

    fn text(&mut self, node: &Node) -> Option<String> {
        let words = self.words(node)?;
        Some(words.text.to_owned())
    }

    fn currency(&mut self, node: &Node) -> Option<Currency> {
        let words = self.words(node)?;
        let found = meaning(words.text).filter(|m| m.dimension == Dimension::MONEY).and_then(|m| m.currency);
        if found.is_none() {
            let message = format!("`{}` is not a currency", words.text);
            self.out.push(
                Diagnostic::error("unknown-currency", words.place, message)
                    .help("write its three-letter code after ISO 4217, such as `EUR`"),
            );
        }
        found
    }

    fn rate(&mut self, node: &Node, example: &str) -> Option<HourRate> {
        let words = self.words(node)?;
        let rate: HourRate = self.keep(values::money(words, self.currency, example))?;
        self.keep(values::within(words, rate.to_per_hour(), f64::MIN_POSITIVE, 1e9, "an hour rate above nothing"))?;
        Some(rate)
    }

    fn hours(&mut self, node: &Node, example: &str) -> Option<YearlyHours> {
        let words = self.words(node)?;
        let hours: YearlyHours = self.keep(values::quantity(words, example))?;
        self.keep(values::within(
            words,
            hours.to_h_per_year(),
            f64::MIN_POSITIVE,
            YEAR_HOURS,
            "more than nothing and at most the 8,784 h of a leap year",
        ))?;
        Some(hours)
    }

    fn percent(&mut self, node: &Node, example: &str, low: f64, high: f64) -> Option<Ratio> {
        let words = self.words(node)?;
        let share: Ratio = self.keep(values::quantity(words, example))?;
        let said = format!("{} to {}", Ratio::fraction(low), Ratio::fraction(high));
        self.keep(values::within(words, share.to_fraction(), low, high, &said))?;
        Some(share)
    }

    fn whole(&mut self, node: &Node, example: &str, low: u32, high: u32) -> Option<u32> {
        let words = self.words(node)?;
        let count = self.keep(values::count(words, example))?;
        self.keep(values::within(
            words,
            f64::from(count),
            f64::from(low),
            f64::from(high),
            &format!("{low} to {high}"),
        ))?;
        Some(count)
    }

    fn time(&mut self, node: &Node, example: &str) -> Option<Time> {
        let words = self.words(node)?;
        let time: Time = self.keep(values::quantity(words, example))?;
        self.keep(values::within(words, time.to_hours(), 0.0, 168.0, "no less than nothing and at most a week"))?;
        Some(time)
    }

    /// A delivery by the calendar.
    fn delivery(&mut self, node: &Node) -> Option<Time> {
        let words = self.words(node)?;
        let time: Time = self.keep(values::quantity(words, "3 weeks"))?;
        self.keep(values::within(words, time.to_weeks(), 0.0, 104.0, "no less than nothing and at most two years"))?;
        Some(time)
    }

    fn machines(&mut self, node: &Node) -> Option<BTreeMap<String, ShopMachine>> {
        let group = Group::of(node, "machines", &mut self.out)?;
        let mut machines = BTreeMap::new();
        for entry in group.entries() {
            if let Some(machine) = self.machine(&entry.key, entry.key_place, &entry.node) {
                machines.insert(entry.key.clone(), machine);
            }
        }
        if group.entries().next().is_none() {
            self.out.push(
                Diagnostic::error("missing-key", node.named_at, "the shop has no machine")
                    .help("name at least one below `machines`, such as `gang-20: { hourly: 64 EUR/h }`"),
            );
        }
        Some(machines)
    }

    /// Machines that the shop may buy, with what it would have for them. A command that does not ask about them reads no spec
    /// of theirs.
    fn candidates(&mut self, node: &Node) -> Option<BTreeMap<String, ShopMachine>> {
        let owned = self.named.len();
        let candidates = self.machines(node);
        self.named[owned..].iter_mut().for_each(|n| n.owned = false);
        candidates
    }

    fn machine(&mut self, name: &str, place: Place, node: &Node) -> Option<ShopMachine> {
        let mut group = Group::of(node, name, &mut self.out)?;
        let hourly = group.required("hourly", "hourly: 64 EUR/h");
        let hourly = hourly.and_then(|n| self.rate(n, "64 EUR/h").map(|value| Stated { value, place: n.place }));
        let available = group.optional("available").and_then(|n| self.hours(n, "3_400 h/year"));
        let running = group.optional("running").and_then(|n| self.rate(n, "9 EUR/h"));
        let load = group.optional("load").and_then(|n| self.load(n));
        let sells = group.optional("sells").and_then(|n| self.sells(n));
        let mut named = Named::of(name, place);
        let owned = group.optional("owned").map(|n| self.owned(n, &mut named)).unwrap_or_default();
        let holdings = group.optional("collets").map(|n| self.holdings(n, &mut named)).unwrap_or_default();
        let mut now = Vec::new();
        if let Some(node) = group.optional("now") {
            for item in self.items(node, "now: [{ mode: guided, bar: 12 mm }]") {
                now.extend(self.state(item, &owned, &mut named));
            }
        }
        if now.is_empty() {
            now.push(State::default());
        }
        group.finish(&mut self.out);
        self.named.push(named);
        Some(ShopMachine { hourly, available, running, load, sells, owned, holdings, now })
    }

    fn items<'n>(&mut self, node: &'n Node, example: &str) -> &'n [Node] {
        match &node.value {
            Value::List(items) => items,
            _ => {
                let message = format!("a list is expected, not {}", node.word());
                self.out.push(
                    Diagnostic::error("wrong-shape", node.shown(), message).help(format!("write it like `{example}`")),
                );
                &[]
            }
        }
    }

    /// `[whirling, whirling]` or `{ whirling: 2 }`.
    fn owned(&mut self, node: &Node, named: &mut Named) -> BTreeMap<String, u32> {
        let mut owned: BTreeMap<String, u32> = BTreeMap::new();
        if let Value::Map(_) = node.value {
            let Some(group) = Group::of(node, "owned", &mut self.out) else { return owned };
            for entry in group.entries() {
                named.options.push((entry.key.clone(), entry.key_place));
                if let Some(count) = self.whole(&entry.node, "2", 1, 100) {
                    owned.insert(entry.key.clone(), count);
                }
            }
            return owned;
        }
        for item in self.items(node, "owned: { whirling: 2 }") {
            if let Some(words) = self.words(item) {
                named.options.push((words.text.to_owned(), words.place));
                *owned.entry(words.text.to_owned()).or_default() += 1;
            }
        }
        owned
    }

    fn state(&mut self, node: &Node, owned: &BTreeMap<String, u32>, named: &mut Named) -> Option<State> {
        let mut group = Group::of(node, "now", &mut self.out)?;
        let mut state = State::default();
        let mode = group.optional("mode").and_then(|n| self.mode(n).map(|m| Stated { value: m, place: n.place }));
        let bar = group.optional("bar").and_then(|n| self.bar(n).map(|b| Stated { value: b, place: n.place }));
        state.mode = mode.map(|m| m.value);
        state.bar = bar.map(|b| b.value);
        if let Some(mode) = mode {
            named.states.push(Standing { mode, bar });
        }
        state.sub = group.optional("sub").and_then(|n| self.bar(n));
        state.job = group.optional("job").and_then(|n| self.words(n)).map(|w| w.text.to_owned());
        state.material = group.optional("material").and_then(|n| self.words(n)).map(|w| self.material(w));
        state.cold = group.optional("cold").is_some_and(|n| self.yes(n));
        if let Some(node) = group.optional("mounted") {
            for item in self.items(node, "mounted: [whirling]") {
                let Some(words) = self.words(item) else { continue };
                let Some((head, place)) = self.keep(standing::mounted(words)) else { continue };
                named.options.push((head.name.clone(), place));
                let name = head.name.clone();
                state.mounted.push(head);
                let there = state.mounted.iter().filter(|m| m.name == name).count();
                let have = owned.get(&name).copied().unwrap_or(0);
                if there as u64 > u64::from(have) {
                    let message = format!(
                        "`{name}` is mounted once more on one machine than the shop owns: {there} against {have}"
                    );
                    self.out.push(
                        Diagnostic::error("mounted-not-owned", place, message)
                            .help(format!("write `owned: {{ {name}: {there} }}`")),
                    );
                }
            }
        }
        if let Some(node) = group.optional("tools") {
            for item in self.items(node, "tools: [finishing tool, drill 3.3 mm on end]") {
                let Some(words) = self.words(item) else { continue };
                let Some((tool, place)) = self.keep(standing::tool(words)) else { continue };
                if let (Some(name), Some(place)) = (&tool.carrier, place) {
                    named.carriers.push((name.clone(), place));
                }
                state.tools.push(tool);
            }
        }
        group.finish(&mut self.out);
        Some(state)
    }

    /// The key of a material; one that a spec defines is kept as it is written.
    fn material(&mut self, words: Words) -> String {
        if let Some(known) = materials::find(words.text) {
            return known.key.clone();
        }
        if let Some(near) = materials::nearest(words.text) {
            let message = format!("no material `{}` in the table", words.text);
            let help = format!("did you mean `{near}`? A material of a spec is written as there");
            self.out.push(Diagnostic::warning("unknown-material", words.place, message).help(help));
        }
        words.text.to_owned()
    }

    fn yes(&mut self, node: &Node) -> bool {
        let Some(words) = self.words(node) else { return false };
        if !matches!(words.text, "true" | "false") {
            let message = format!("`{}` is neither true nor false", words.text);
            self.out.push(Diagnostic::error("wrong-shape", words.place, message).help("write `cold: true`"));
        }
        words.text == "true"
    }

    fn mode(&mut self, node: &Node) -> Option<ModeKind> {
        let words = self.words(node)?;
        let all = [ModeKind::Guided, ModeKind::Collet, ModeKind::Supported];
        let found = all.into_iter().find(|m| m.word() == words.text);
        if found.is_none() {
            let names = all.map(ModeKind::word);
            let message = format!("`{}` is not a way to hold the bar", words.text);
            self.out.push(
                Diagnostic::error("unknown-mode", words.place, message).help(nearest(words.text, &names, "mode")),
            );
        }
        found
    }

    fn bar(&mut self, node: &Node) -> Option<Length> {
        let words = self.words(node)?;
        let bar: Length = self.keep(values::quantity(words, "12 mm"))?;
        self.keep(values::within(words, bar.to_mm(), 0.05, 500.0, "a bar of 0.05 to 500 mm"))?;
        Some(bar)
    }

    fn markup(&mut self, node: &Node) -> Option<Markup> {
        let words = self.words(node)?;
        let (share, of) =
            match words.text.split_once(" of ") {
                Some((share, of)) => (share.trim_end(), of.trim()),
                None => {
                    let text = words.text;
                    let message = format!("`{text}` does not say what it is a share of");
                    self.out.push(Diagnostic::error("markup-of-what", words.place, message).help(format!(
                        "write `{text} of cost` or `{text} of price`: at 22 % the two differ by a quarter"
                    )));
                    return None;
                }
            };
        let end = words.place.start + u32::try_from(share.len()).unwrap_or(0);
        let words_of_share = Words { text: share, place: Place { end, ..words.place } };
        let ratio: Ratio = self.keep(values::quantity(words_of_share, "22 % of cost"))?;
        let (low, high, made): (f64, f64, fn(Ratio) -> Markup) = match of {
            "cost" => (0.0, 10.0, Markup::OfCost),
            "price" => (0.0, 0.95, Markup::OfPrice),
            _ => {
                let message = format!("`{of}` is neither cost nor price");
                self.out.push(
                    Diagnostic::error("markup-of-what", words.place, message)
                        .help("write `22 % of cost` or `22 % of price`"),
                );
                return None;
            }
        };
        let said = format!("{} to {} of {of}", Ratio::fraction(low), Ratio::fraction(high));
        self.keep(values::within(words_of_share, ratio.to_fraction(), low, high, &said))?;
        Some(made(ratio))
    }

    fn setup(&mut self, node: &Node) -> BTreeMap<String, Time> {
        let mut times = BTreeMap::new();
        let Some(group) = Group::of(node, "setup", &mut self.out) else { return times };
        for entry in group.entries() {
            let key = entry.key.replace(' ', "-");
            if !setup_keys().any(|k| k == key) {
                let words: Vec<String> = setup_keys().map(in_words).collect();
                let words: Vec<&str> = words.iter().map(String::as_str).collect();
                let message = format!("`{}` is not a standard time", entry.key);
                self.out.push(Diagnostic::error("unknown-setup-time", entry.key_place, message).help(nearest(
                    &entry.key,
                    &words,
                    "standard time",
                )));
            }
            let time = match key.as_str() {
                "special-collet" | "collet-delivery" | "bushing-delivery" => self.delivery(&entry.node),
                _ => self.time(&entry.node, "10 min"),
            };
            if let Some(time) = time {
                times.insert(key, time);
            }
        }
        times
    }

    fn thresholds(&mut self, node: &Node) -> BTreeMap<String, f64> {
        let mut replaced = BTreeMap::new();
        let Some(group) = Group::of(node, "thresholds", &mut self.out) else { return replaced };
        for entry in group.entries() {
            let Some(known) = thresholds::all().iter().find(|t| t.name == entry.key) else {
                let names: Vec<&str> = thresholds::all().iter().map(|t| t.name.as_str()).collect();
                let message = format!("`{}` is not a threshold", entry.key);
                self.out.push(Diagnostic::error("unknown-threshold", entry.key_place, message).help(nearest(
                    &entry.key,
                    &names,
                    "threshold",
                )));
                continue;
            };
            let Some(words) = self.words(&entry.node) else { continue };
            let example = format!("{} {}", number(known.value, 3), known.unit);
            let read = match meaning(&known.unit) {
                Some(unit) => values::measure(words, unit.dimension, &example).map(|m| m.value / unit.factor),
                None => values::bare(words, &number(known.value, 3)),
            };
            if let Some(value) = self.keep(read)
                && self.keep(values::within(words, value, 0.0, 1e6, "a number no less than nothing")).is_some()
            {
                replaced.insert(entry.key.clone(), value);
            }
        }
        replaced
    }
}

/// The standard times that a shop may replace: those of the table, and proving out a job for the first time or again.
pub(in crate::lang) fn setup_keys() -> impl Iterator<Item = &'static str> {
    shop_times::keys().chain(["prove-out-new", "prove-out-repeat"])
}

/// A key as a shop file writes it: `first article per dimension`, `prove-out new`.
pub fn in_words(key: &str) -> String {
    let words = key.replace('-', " ");
    ["prove out", "pick off", "re grip", "feed out", "tear down", "clean out"]
        .iter()
        .fold(words, |w, joined| w.replace(joined, &joined.replace(' ', "-")))
}
