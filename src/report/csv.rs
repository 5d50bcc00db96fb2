//! Comma-separated values after RFC 4180: one row a machine and mode.

use super::answer::RankAnswer;

/// The columns of the ranking; their names and order are kept between versions.
pub const COLUMNS: &[&str] = &[
    "part",
    "rank",
    "machine",
    "mode",
    "first_end",
    "standing",
    "verdict",
    "setup_min",
    "cycle_s",
    "quantity",
    "cost",
    "price",
    "currency",
    "stock",
    "to_buy",
    "reason",
    "due",
    "reference",
];

/// The head line.
pub fn head() -> String {
    COLUMNS.join(",") + "\r\n"
}

/// One line of fields.
pub(in crate::report) fn line(fields: &[String]) -> String {
    fields.iter().map(|f| field(f)).collect::<Vec<_>>().join(",") + "\r\n"
}

/// The lines of a ranking, one for each row and order quantity.
pub fn ranking(answer: &RankAnswer) -> String {
    let mut out = String::new();
    for (i, row) in answer.rows.iter().enumerate() {
        let first = row.reasons.first();
        let bought: Vec<String> = row.purchases.iter().map(|p| format!("{} x {}", p.count, p.attachment)).collect();
        for cost in &row.costs {
            let fields = [
                answer.part.clone(),
                (i + 1).to_string(),
                row.machine.clone(),
                row.mode.to_owned(),
                row.first_end.to_owned(),
                standing(row.standing).to_owned(),
                row.verdict.word().to_owned(),
                format!("{:.1}", row.setup_min),
                format!("{:.2}", row.cycle.total_s),
                cost.quantity.to_string(),
                format!("{:.4}", cost.cost),
                format!("{:.4}", cost.price),
                answer.currency.clone(),
                row.stock.text.clone(),
                bought.join("; "),
                first.map(|r| r.reason.clone()).unwrap_or_default(),
                answer.due.clone().unwrap_or_default(),
                answer.reference.clone().unwrap_or_default(),
            ];
            out.push_str(&line(&fields));
        }
    }
    out
}

pub(super) fn standing(standing: crate::matching::Standing) -> &'static str {
    use crate::matching::Standing;
    match standing {
        Standing::Owned => "owned",
        Standing::NotStated => "not stated",
        Standing::WithPurchase => "with purchase",
        Standing::Refused => "refused",
    }
}

/// A field, quoted where it must be; a leading formula sign is defused, since spreadsheets run what they open.
pub(crate) fn field(text: &str) -> String {
    let risky = text.starts_with(['=', '+', '@', '\t']) || (text.starts_with('-') && text.parse::<f64>().is_err());
    let text = if risky { format!("'{text}") } else { text.to_owned() };
    if text.contains([',', '"', '\n', '\r']) { format!("\"{}\"", text.replace('"', "\"\"")) } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fields_are_quoted_and_defused() {
        assert_eq!(field("a,b"), "\"a,b\"");
        assert_eq!(field("say \"h9\""), "\"say \"\"h9\"\"\"");
        assert_eq!(field("=1+1"), "'=1+1");
        assert_eq!(field("-3.5"), "-3.5");
    }
}
