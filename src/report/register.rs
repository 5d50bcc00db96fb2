//! Kept quotes: the list, one against another, and as comma-separated values.

use super::csv::line;
use super::text::{self, Style, head, number, wrapped};
use comfy_table::Cell;
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;

/// A kept quote in short.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Kept {
    pub identity: String,
    /// In universal time.
    pub saved: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub issued: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub customer: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reference: Option<String>,
    pub parts: String,
    /// At the quantities asked for.
    pub total: String,
    pub currency: String,
}

/// All kept quotes for people.
pub fn list(kept: &[Kept], style: Style) -> String {
    if kept.is_empty() {
        return "No quote is kept; `quote --save` keeps one.\n".to_owned();
    }
    let mut table = text::table(style);
    table.set_header(vec![
        head("quote", false),
        head("issued", false),
        head("customer", false),
        head("reference", false),
        head("parts", false),
        head("order", true),
        head("", false),
    ]);
    for k in kept {
        let day = k.issued.as_deref().unwrap_or_else(|| k.saved.get(..10).unwrap_or_default());
        table.add_row(vec![
            Cell::new(&k.identity),
            Cell::new(day),
            Cell::new(k.customer.as_deref().unwrap_or("-")),
            Cell::new(k.reference.as_deref().unwrap_or("-")),
            Cell::new(&k.parts),
            number(&k.total),
            Cell::new(&k.currency),
        ]);
    }
    format!("{}\n", text::drawn(&table))
}

/// All kept quotes as comma-separated values after RFC 4180.
pub fn csv(kept: &[Kept]) -> String {
    let mut out = "quote,saved,issued,customer,reference,parts,total,currency\r\n".to_owned();
    for k in kept {
        let optional = |o: &Option<String>| o.clone().unwrap_or_default();
        let fields = [
            k.identity.clone(),
            k.saved.clone(),
            optional(&k.issued),
            optional(&k.customer),
            optional(&k.reference),
            k.parts.clone(),
            k.total.clone(),
            k.currency.clone(),
        ];
        out.push_str(&line(&fields));
    }
    out
}

/// One figure of two quotes.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Difference {
    pub part: String,
    pub quantity: u64,
    /// `order`, `material`, `setup`, `cycle`, `machine`.
    pub what: String,
    pub first: String,
    pub second: String,
    /// The second less the first, where both are numbers.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub by: Option<f64>,
}

/// Where two kept quotes differ: price, shares, setup, cycle and route at every quantity that both have; what only one has is
/// told as well.
pub fn compare(first: &Value, second: &Value) -> Vec<Difference> {
    let (a, b) = (figures(first), figures(second));
    let mut out = Vec::new();
    let keys = a.iter().chain(b.iter().filter(|x| a.iter().all(|y| y.0 != x.0))).map(|x| &x.0);
    for key in keys {
        let find = |of: &[(Key, Figure)]| of.iter().find(|x| x.0 == *key).map(|x| x.1.clone());
        let (one, other) = (find(&a), find(&b));
        if one == other {
            continue;
        }
        let by = match (&one, &other) {
            (Some(Figure::Number(x, _)), Some(Figure::Number(y, _))) => Some(y - x),
            _ => None,
        };
        let words = |f: Option<Figure>| f.map_or_else(|| "-".to_owned(), |f| f.words());
        let Key { part, quantity, what } = key.clone();
        out.push(Difference { part, quantity, what, first: words(one), second: words(other), by });
    }
    out
}

#[derive(Clone, Debug, PartialEq)]
struct Key {
    part: String,
    quantity: u64,
    what: String,
}

#[derive(Clone, Debug, PartialEq)]
enum Figure {
    /// With the decimals that it is printed with.
    Number(f64, usize),
    Words(String),
}

impl Figure {
    fn words(&self) -> String {
        match self {
            Figure::Number(value, places) => format!("{value:.places$}"),
            Figure::Words(words) => words.clone(),
        }
    }
}

/// The figures of a kept quote, in the order in which they are told. It is read as data and not as this program's own
/// structures, so that quotes of older versions compare as well.
fn figures(quote: &Value) -> Vec<(Key, Figure)> {
    let list = |v: &Value, name: &str| v.get(name).and_then(Value::as_array).cloned().unwrap_or_default();
    let text = |v: &Value, name: &str| v.get(name).and_then(Value::as_str).unwrap_or_default().to_owned();
    let decimals = quote.get("decimals").and_then(Value::as_u64).unwrap_or(2) as usize;
    let mut out = Vec::new();
    for offer in list(quote, "offers") {
        for b in list(&offer, "breaks") {
            let quantity = b.get("quantity").and_then(Value::as_u64).unwrap_or_default();
            let Some(route) = list(&b, "routes").into_iter().next() else { continue };
            let key = |what: &str| Key { part: text(&offer, "part"), quantity, what: what.to_owned() };
            let amount = |v: Option<&Value>| v.and_then(Value::as_f64).map(|n| Figure::Number(n, decimals));
            let route_words = format!("{}, {}", text(&route, "machine"), text(&route, "mode"));
            out.push((key("route"), Figure::Words(route_words)));
            let plain = |name: &str, of: Option<&Value>, places| {
                of.and_then(Value::as_f64).map(|n| (key(name), Figure::Number(n, places)))
            };
            out.extend(plain("setup, min", route.get("setup_min"), 1));
            out.extend(plain("cycle, s", route.get("cycle").and_then(|c| c.get("total_s")), 2));
            for share in list(&route, "shares") {
                out.extend(amount(share.get("order")).map(|f| (key(&text(&share, "share")), f)));
            }
            out.extend(amount(route.get("total")).map(|f| (key("order"), f)));
        }
    }
    out
}

/// Two quotes side by side for people.
pub fn comparison(names: [&str; 2], differences: &[Difference], style: Style) -> String {
    let title = format!("{} against {}", names[1], names[0]);
    if differences.is_empty() {
        return format!("{title}: no price, share, setup, cycle or route differs\n");
    }
    let mut out = format!("{}\n", style.bold(&title));
    let mut rest = differences;
    while let Some(first) = rest.first() {
        let count = rest.iter().take_while(|d| d.part == first.part && d.quantity == first.quantity).count();
        let (these, others) = rest.split_at(count);
        let pieces = crate::quantity::print::thousands(first.quantity as f64);
        out.push_str(&format!("\n{}\n", wrapped(&format!("{} at {pieces}", first.part), style.width.into(), "")));
        let mut table = text::table(style);
        table.set_header(vec![head("", false), head(names[0], true), head(names[1], true), head("by", true)]);
        for d in these {
            let by = d.by.map_or_else(String::new, |by| format!("{by:+.2}"));
            table.add_row(vec![Cell::new(&d.what), number(&d.first), number(&d.second), number(by)]);
        }
        out.push_str(&format!("{}\n", text::drawn(&table)));
        rest = others;
    }
    out
}
