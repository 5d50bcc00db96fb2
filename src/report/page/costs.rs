//! The cost of a piece: against the quantity, with the quantities at which one row overtakes another; and by kind at the
//! quantity asked.

use super::chart::{Log, SERIES, marker};
use super::stacked::{Stack, stacked};
use super::{Case, Section, named, scrolled};
use crate::quantity::print::{number, thousands};
use crate::report::answer::{CostAnswer, RowAnswer};
use crate::report::svg::{Anchor, At, Canvas, bold_width, joined, width};
use crate::report::text::money;
use maud::{Markup, PreEscaped, html};

const TEXT: f64 = 2.7;
const WIDE: f64 = 190.0;

/// What a row costs at a quantity: what is spread over the order, and what each piece costs.
fn cost_at(row: &RowAnswer, quantity: f64) -> f64 {
    let (fixed, each) = split(&row.cost);
    each + fixed / quantity
}

fn split(c: &CostAnswer) -> (f64, f64) {
    (c.fixed_order, c.each())
}

/// A quantity at which the cheapest row changes.
struct Turn {
    quantity: f64,
    cost: f64,
    from: usize,
    to: usize,
}

/// The rows that a chart shows: the cheapest at some quantity, then the best of the rest.
fn shown<'a>(case: &Case<'a>, (low, high): (f64, f64)) -> Vec<(usize, &'a RowAnswer)> {
    let possible = case.possible();
    let mut picked: Vec<usize> = Vec::new();
    for i in 0..=60 {
        let q = low * libm::pow(high / low, f64::from(i) / 60.0);
        let cheapest =
            (0..possible.len()).min_by(|a, b| cost_at(possible[*a].1, q).total_cmp(&cost_at(possible[*b].1, q)));
        picked.extend(cheapest.filter(|c| !picked.contains(c)));
    }
    picked.truncate(SERIES);
    for i in 0..possible.len() {
        if picked.len() < SERIES && !picked.contains(&i) {
            picked.push(i);
        }
    }
    picked.sort_unstable();
    picked.into_iter().map(|i| possible[i]).collect()
}

/// Where the cheapest of some rows changes, quantities ascending.
fn turns(rows: &[(usize, &RowAnswer)], (low, high): (f64, f64)) -> Vec<Turn> {
    let cheapest =
        |q: f64| (0..rows.len()).min_by(|a, b| cost_at(rows[*a].1, q).total_cmp(&cost_at(rows[*b].1, q))).unwrap_or(0);
    let mut found = Vec::new();
    let mut q = low;
    let mut own = cheapest(q);
    // From one turn to the next: the first crossing of the cheapest line with another that falls below it.
    loop {
        let (fixed, each) = split(&rows[own].1.cost);
        let next = (0..rows.len())
            .filter(|i| *i != own)
            .filter_map(|i| {
                let (f, e) = split(&rows[i].1.cost);
                let at = (f - fixed) / (each - e);
                (e < each && at.is_finite() && at > q * (1.0 + 1e-9)).then_some((at, i))
            })
            .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        match next {
            Some((at, i)) if at <= high => {
                found.push(Turn { quantity: at, cost: cost_at(rows[i].1, at), from: own, to: i });
                (q, own) = (at, i);
            }
            _ => return found,
        }
    }
}

fn range(case: &Case) -> (f64, f64) {
    let quantities = case.answer.rows.iter().flat_map(|r| r.costs.iter().map(|c| c.quantity as f64));
    let (low, high) =
        quantities.fold((case.answer.quantity as f64, case.answer.quantity as f64), |(l, h), q| (l.min(q), h.max(q)));
    // Whole decades, with a little beyond the orders.
    let decade = |v: f64| libm::pow(10.0, v);
    let low = decade(libm::floor(libm::log10(low.max(1.0)) - 0.3).max(0.0));
    let high = decade(libm::ceil(libm::log10(high.max(1.0)) + 0.1));
    (low, high.max(low * 100.0))
}

pub(super) fn curves(case: &Case) -> Option<Section> {
    if case.possible().is_empty() {
        return None;
    }
    let bounds = range(case);
    let rows = shown(case, bounds);
    let turns = turns(&rows, bounds);
    let body = html! {
        (scrolled("Cost against quantity", &html! { figure { (plot(case, &rows, &turns, bounds)) } }))
        (told(case, &rows, &turns))
    };
    Some(Section { key: "curves", title: "Cost of a piece against the order quantity", body })
}

fn told(case: &Case, rows: &[(usize, &RowAnswer)], turns: &[Turn]) -> Markup {
    let left_out = case.possible().len() - rows.len();
    html! {
        @if turns.is_empty() {
            p { "The cheapest row is the same at every quantity shown." }
        } @else {
            ol class="turns" {
                @for t in turns {
                    li {
                        "From " strong { (thousands(libm::ceil(t.quantity))) } " pieces row " (rows[t.to].0) ", "
                        (named(rows[t.to].1)) ", costs less than row " (rows[t.from].0) ", " (named(rows[t.from].1)) ": "
                        (money(t.cost)) " " (case.answer.currency) " there."
                    }
                }
            }
        }
        p class="quiet" {
            "Costs before markup; attachments to buy are not spread over the pieces."
            @if left_out > 0 { " " (left_out) " dearer rows are left out." }
        }
    }
}

fn plot(case: &Case, rows: &[(usize, &RowAnswer)], turns: &[Turn], (low, high): (f64, f64)) -> Markup {
    let names: Vec<String> = rows.iter().map(|(n, r)| format!("{n}  {}", named(r))).collect();
    let room = names.iter().map(|n| width(n, TEXT)).fold(0.0, f64::max);
    let (left, right, top, bottom) = (19.0, WIDE - room - 9.0, 9.0, 92.0);
    let costs = || rows.iter().flat_map(|(_, r)| [cost_at(r, low), cost_at(r, high)]);
    let (least, most) = costs().fold((f64::MAX, 0.0_f64), |(a, b), c| (a.min(c), b.max(c)));
    let x = Log { low, high, from: left, to: right };
    let y = Log { low: least / 1.25, high: most * 1.12, from: bottom, to: top };
    let mut c = Canvas::default();
    let low_words = if turns.is_empty() { bottom + 9.0 } else { bottom + 14.0 };
    axes(&mut c, case, (x, y), low_words);
    let asked = case.answer.quantity as f64;
    if asked > low && asked < high {
        c.line("asked-line", (x.at(asked), top), (x.at(asked), bottom));
        c.text("asked-words", (x.at(asked), top - 1.6), TEXT, Anchor::Middle, &format!("asked: {}", thousands(asked)));
    }
    for (s, (_, row)) in rows.iter().enumerate() {
        let steps = 64;
        let curve: Vec<At> = (0..=steps)
            .map(|i| {
                let q = low * libm::pow(high / low, f64::from(i) / f64::from(steps));
                (x.at(q), y.at(cost_at(row, q)))
            })
            .collect();
        c.empty("polyline", &[("class", &format!("curve s{s}")), ("points", &joined(&curve))]);
        for k in &row.costs {
            let q = k.quantity as f64;
            if q >= low && q <= high {
                marker(&mut c, s, (x.at(q), y.at(k.cost)), 1.1);
            }
        }
    }
    for t in turns {
        let at = (x.at(t.quantity), y.at(t.cost));
        c.line("turn-line", at, (at.0, bottom));
        c.circle("turn", at, 2.1);
    }
    turn_words(&mut c, turns, x, bottom, (left, right));
    // Names at the ends of their curves, apart from each other.
    let mut order: Vec<usize> = (0..rows.len()).collect();
    let end = |s: usize| y.at(cost_at(rows[s].1, high));
    order.sort_by(|a, b| end(*a).total_cmp(&end(*b)).then(a.cmp(b)));
    let wishes: Vec<f64> = order.iter().map(|s| end(*s)).collect();
    let places = crate::report::svg::spread(&wishes, &vec![4.2; wishes.len()], (top, bottom + 3.0)).unwrap_or(wishes);
    for (s, at) in order.into_iter().zip(places) {
        c.line(&format!("lead s{s}"), (right + 0.5, end(s)), (right + 3.2, at));
        marker(&mut c, s, (right + 4.6, at), 1.0);
        c.text("label", (right + 6.8, at + 0.95), TEXT, Anchor::Start, &names[s]);
    }
    let words = format!("Cost of a piece in {} against the order quantity, both logarithmic.", case.answer.currency);
    let id = format!("{}-curves-chart", case.part.name);
    PreEscaped(c.finish("chart", (WIDE, low_words + 3.0), &id, ("Cost against quantity", &words)))
}

fn axes(c: &mut Canvas, case: &Case, (x, y): (Log, Log), low_words: f64) {
    for q in x.ticks() {
        c.line("grid", (x.at(q), y.from), (x.at(q), y.to));
        c.text("tick", (x.at(q), y.from + 4.0), TEXT, Anchor::Middle, &thousands(q));
    }
    for v in y.ticks() {
        c.line("grid", (x.from, y.at(v)), (x.to, y.at(v)));
        c.text("tick", (x.from - 1.5, y.at(v) + 0.95), TEXT, Anchor::End, &number(v, 3));
    }
    c.line("axis", (x.from, y.from), (x.to, y.from));
    c.line("axis", (x.from, y.from), (x.from, y.to));
    c.text("axis-words", (x.to, low_words), TEXT, Anchor::End, "pieces of the order");
    c.text(
        "axis-words",
        (x.from - 17.0, y.to - 4.6),
        TEXT,
        Anchor::Start,
        &format!("{} a piece", case.answer.currency),
    );
}

/// The quantities of the turns, beneath the ticks, apart from each other.
fn turn_words(c: &mut Canvas, turns: &[Turn], x: Log, bottom: f64, bounds: (f64, f64)) {
    let words: Vec<String> = turns.iter().map(|t| thousands(libm::ceil(t.quantity))).collect();
    let widths: Vec<f64> = words.iter().map(|w| bold_width(w, TEXT) + 3.0).collect();
    let wishes: Vec<f64> = turns.iter().map(|t| x.at(t.quantity)).collect();
    let places = crate::report::svg::spread(&wishes, &widths, bounds).unwrap_or_else(|| wishes.clone());
    for ((word, at), wish) in words.iter().zip(places).zip(wishes) {
        c.line("turn-line", (wish, bottom + 5.2), (at, bottom + 6.4));
        c.text("turn-words", (at, bottom + 9.2), TEXT, Anchor::Middle, word);
    }
}

/// A kind of cost: its name, and what it is of a piece.
type CostKind = (&'static str, fn(&CostAnswer) -> f64);

/// Kinds of cost in the words of [`super::stacked`].
const KINDS: &[CostKind] = &[
    ("material", |c| c.material),
    ("machine", |c| c.machine),
    ("operator", |c| c.operator),
    ("setting", |c| c.setting),
    ("tools", |c| c.tools),
    ("special collet", |c| c.special_collet),
    ("collets", |c| c.collets),
    ("moving", |c| c.moving),
    ("scrap", |c| c.scrap),
];

pub(super) fn kinds(case: &Case) -> Option<Section> {
    let rows: Vec<(usize, &RowAnswer)> = case.possible().into_iter().take(8).collect();
    if rows.is_empty() {
        return None;
    }
    // Kinds that cost nothing anywhere are left out.
    let kinds: Vec<usize> =
        (0..KINDS.len()).filter(|k| rows.iter().any(|(_, r)| (KINDS[*k].1)(&r.cost) > 0.0)).collect();
    let body = html! {
        (scrolled("Cost by kind", &html! { figure { (bars(case, &rows, &kinds)) } }))
        (scrolled("Cost by kind in figures", &figures(case, &rows, &kinds)))
    };
    Some(Section { key: "kinds", title: "What a piece costs, by kind", body })
}

fn figures(case: &Case, rows: &[(usize, &RowAnswer)], kinds: &[usize]) -> Markup {
    html! {
        table class="kinds" {
            thead {
                tr {
                    th { (case.answer.currency) " a piece at " (thousands(case.answer.quantity as f64)) }
                    @for k in kinds { th class="number" { (KINDS[*k].0) } }
                    th class="number" { "cost" }
                    th class="number" { "price" }
                }
            }
            tbody {
                @for (n, row) in rows {
                    tr {
                        th scope="row" { span class="rank" { (n) } " " (named(row)) }
                        @for k in kinds { td class="number" { (money((KINDS[*k].1)(&row.cost))) } }
                        td class="number total" { (money(row.cost.cost)) }
                        td class="number" { (money(row.cost.price)) }
                    }
                }
            }
        }
    }
}

fn bars(case: &Case, rows: &[(usize, &RowAnswer)], kinds: &[usize]) -> Markup {
    let stack = |(n, row): &(usize, &RowAnswer)| Stack {
        label: format!("{n}  {}", named(row)),
        parts: kinds.iter().map(|k| (KINDS[*k].0, (KINDS[*k].1)(&row.cost))).collect(),
        total: row.cost.cost,
        words: money(row.cost.cost),
    };
    let stacks: Vec<Stack> = rows.iter().map(stack).collect();
    let words = format!("Cost of a piece by kind in {}; the table beneath gives the figures.", case.answer.currency);
    stacked(&format!("{}-kinds", case.part.name), ("Cost by kind", &words), &stacks)
}
