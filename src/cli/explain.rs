//! `explain`: a rule in words.

use super::{Exit, World};
use crate::lang::clauses::suggestion;
use crate::matching::rules::{self, RULES};
use crate::report::explain;
use clap::ValueEnum;

/// Explain a rule: what it compares, why, its source, a spec that trips it and one that does not
#[derive(Debug, clap::Args)]
#[command(after_help = "Example: turnwright explain hand-over")]
pub(super) struct Args {
    /// The rule, by its name
    #[arg(value_name = "RULE", required_unless_present = "list")]
    rule: Option<String>,
    /// List all rules, a line each
    #[arg(long)]
    list: bool,
    /// How the answer is printed
    #[arg(long, value_enum, default_value = "table", value_name = "FORMAT")]
    format: Format,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Format {
    Table,
    Json,
}

pub(super) fn run(args: &Args, world: &mut World) -> Result<Exit, Exit> {
    let style = world.style();
    let Some(name) = args.rule.as_deref().filter(|_| !args.list) else {
        match args.format {
            Format::Table => world.say(&explain::list(style)),
            Format::Json => {
                let all: Vec<_> = RULES.iter().map(|r| explain::answer(*r)).collect();
                world.say_json(&all)?;
            }
        }
        return Ok(Exit::Fine);
    };
    let Some(rule) = rules::find(name) else {
        let near = suggestion(name, RULES.iter().map(|r| r.name()));
        let help = near.map_or_else(|| "`explain --list` names them".to_owned(), |n| format!("did you mean `{n}`?"));
        return Err(world.unable(format!("no rule is named `{name}`; {help}")));
    };
    match args.format {
        Format::Table => world.say(&explain::text(rule, style)),
        Format::Json => world.say_json(&explain::answer(rule))?,
    }
    Ok(Exit::Fine)
}
