//! The command line as types: parsing, help, man page and completions all come from here.

mod asked;
mod bench;
mod judging;
mod keeping;
pub(crate) mod parts;
pub(crate) mod photo;
mod price;
mod publish;

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueHint};
use clap_complete::Shell;
use engine::Date;

pub(crate) use asked::{Asked, Band, Bands, Compare, How, WhatIf};
pub(crate) use bench::{Add, Bench};
pub(crate) use judging::{NewPlugin, Plugin, Rubric, RubricAction};
pub(crate) use keeping::{Backup, Doctor, History, Restore};
pub(crate) use price::{AddPrice, Price};
pub(crate) use publish::{Editions, Export, Publish};

use crate::claims::Claims;

const AFTER_HELP: &str = "\
A band is written LOW..HIGH in whole units of the catalogue's currency, real price of a pair; LOW is included, HIGH is \
not, either may be left out. A product is named by its key, maker/model.

Exit status: 0 done; 1 done, and the answer is negative; 2 refused, nothing was changed; 3 fault of the program.";

/// Ranks loudspeakers that were opened and measured inside a price band.
///
/// Findings of a teardown go in as plain files; scoring plugins judge cabinet, drivers, crossover and wiring; products
/// of one price band come out in order, with intervals for what is not known.
#[derive(Debug, Parser)]
#[command(name = "boxworth", version, after_help = AFTER_HELP, subcommand_required = true, arg_required_else_help = true)]
pub(crate) struct Cli {
    #[command(flatten)]
    pub(crate) global: Global,
    #[command(subcommand)]
    pub(crate) command: Command,
}

/// Options of every command.
#[derive(Debug, Args)]
pub(crate) struct Global {
    /// The catalogue; without it the one in your data folder
    #[arg(long, global = true, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub(crate) catalogue: Option<PathBuf>,
    /// Print answers and errors as JSON
    #[arg(long, global = true)]
    pub(crate) json: bool,
    /// Show no progress
    #[arg(long, global = true)]
    pub(crate) no_progress: bool,
    /// Load no plugin where the sandbox is not complete
    #[arg(
        long,
        global = true,
        env = "BOXWORTH_REQUIRE_SANDBOX",
        hide_env_values = true,
        value_parser = clap::builder::FalseyValueParser::new(),
    )]
    pub(crate) require_sandbox: bool,
    /// The day for which prices are taken; without it today
    #[arg(long, global = true, value_name = "YYYY-MM-DD", value_parser = day)]
    pub(crate) as_of: Option<Date>,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Make an empty catalogue
    New(New),
    /// Take in folders or files of the plain format, all or nothing
    Import(Import),
    /// List products with completeness, price and age
    Products(Products),
    /// Show findings, quantities, scores and remarks of a product
    Show(Show),
    /// Put a product on the shelf, or a specimen or a teardown under it
    #[command(subcommand)]
    Add(Add),
    /// Show how far a teardown is, and what is worth finding next
    Bench(Bench),
    /// Enter a finding of a product, or empty its place
    Record(Record),
    /// Show and change the parts list of a crossover
    #[command(subcommand)]
    Network(parts::Network),
    /// Enter, list and withdraw the prices of a product
    #[command(subcommand)]
    Price(Price),
    /// Read, fit and record impedance sweeps
    #[command(subcommand)]
    Sweep(parts::Sweep),
    /// Keep, list and take out photos
    #[command(subcommand)]
    Photo(photo::Photo),
    /// Show what changed of a product, when and why; or write down all that ever happened
    History(History),
    /// Go through a written history in an empty catalogue, which is then the same
    Replay {
        /// The file that `history --write` made
        #[arg(value_hint = ValueHint::FilePath)]
        file: PathBuf,
    },
    /// Take the last change back; whatever was entered or imported last
    Undo,
    /// Do again what was taken back last
    Redo,
    /// Rank the products of a price band
    Band(Band),
    /// Show the prices of the shelf and the bands that are offered
    Bands(Bands),
    /// Show two to five products side by side, down to each finding
    Compare(Compare),
    /// Show how far weights may move before another product is first
    Stability(Asked),
    /// Show what to measure or open next, and what it would settle
    Next(Asked),
    /// Show how standings would move with other findings, price or weights; nothing is saved
    WhatIf(WhatIf),
    /// Show what is usual among the products of a price band
    Normal(Asked),
    /// Test sentences about the products, store them, check a draft review
    #[command(subcommand)]
    Claims(Claims),
    /// List the numbers that score and change them in this catalogue
    #[command(args_conflicts_with_subcommands = true)]
    Rubric(Rubric),
    /// Publish the guide of a price band in all formats, as a numbered edition
    Publish(Publish),
    /// List editions, or check whether one still comes out as it was
    Editions(Editions),
    /// Write the whole catalogue as one JSON text, which `import` reads
    Export(Export),
    /// List scoring plugins, decide which to trust, begin one of your own
    #[command(subcommand)]
    Plugin(Plugin),
    /// Copy the catalogue now, checked, into the folder beside it; a copy before the first change of a day is made anyway
    Backup(Backup),
    /// Put a copy in the place of the catalogue; what was there is kept
    Restore(Restore),
    /// Check the catalogue, its copies and photos, and this installation
    Doctor(Doctor),
    /// Do one calculation, JSON in and JSON out
    Compute(Compute),
    /// Print the JSON Schema of a product file; with --catalogue also of the findings that trusted plugins bring
    Schema,
    /// Print completions for a shell
    Completions(Completions),
    /// Print the man page
    Man,
}

#[derive(Debug, Args)]
pub(crate) struct New {
    /// The file to make; it must not exist
    #[arg(value_hint = ValueHint::FilePath)]
    pub(crate) file: PathBuf,
    /// The title; without it the name of the file
    #[arg(long)]
    pub(crate) title: Option<String>,
    /// The month whose money real prices are in; without it last month
    #[arg(long, value_name = "YYYY-MM")]
    pub(crate) base_month: Option<String>,
    /// The currency of bands and of prices that name none
    #[arg(long, value_name = "CODE", default_value = "USD")]
    pub(crate) currency: String,
}

#[derive(Debug, Args)]
pub(crate) struct Import {
    /// A folder with catalogue.toml, product files, or one JSON file that `export` wrote
    #[arg(required = true, value_name = "PATH", value_hint = ValueHint::AnyPath)]
    pub(crate) paths: Vec<PathBuf>,
    /// Check and count, change nothing
    #[arg(long)]
    pub(crate) dry_run: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Products {
    /// Only those in which each of these words stands: in names, findings, notes or shops
    pub(crate) words: Vec<String>,
    /// Only those inside a price band
    #[arg(long, value_name = "LOW..HIGH")]
    pub(crate) band: Option<String>,
    /// Only stand-mount or floor-standing ones
    #[arg(long)]
    pub(crate) kind: Option<String>,
    /// Only those that lack a finding, such as cabinet.lining_thick
    #[arg(long, value_name = "KEY")]
    pub(crate) missing: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct Show {
    /// The key, such as marrowfield/stile-5
    pub(crate) product: String,
}

#[derive(Debug, Args)]
pub(crate) struct Record {
    /// The key, such as marrowfield/stile-5
    pub(crate) product: String,
    /// The finding, such as cabinet.wall_damping
    #[arg(value_name = "PART.KEY")]
    pub(crate) finding: String,
    /// The value as you would say it, such as '1 lb 6 oz', or why there is none, such as 'not inspected'; empty to empty the place
    #[arg(allow_hyphen_values = true)]
    pub(crate) value: String,
    /// How it is known; without it numbers count as measured, the rest as inspected
    #[arg(long, value_name = "GRADE")]
    pub(crate) evidence: Option<String>,
    /// A remark on the finding
    #[arg(long, value_name = "TEXT", default_value = "")]
    pub(crate) note: String,
    /// The day of the teardown; without it that of the newest one
    #[arg(long, value_name = "YYYY-MM-DD")]
    pub(crate) date: Option<String>,
    /// The label of the specimen; without it that of the newest teardown
    #[arg(long, value_name = "LABEL")]
    pub(crate) specimen: Option<String>,
    /// How a new specimen was come by: retail, lent, gift, 'second hand'
    #[arg(long, value_name = "HOW")]
    pub(crate) acquired: Option<String>,
    /// Why; it is kept with the change
    #[arg(long, value_name = "TEXT", default_value = "")]
    pub(crate) reason: String,
}

#[derive(Debug, Args)]
pub(crate) struct Compute {
    /// The calculation, such as closed-box
    pub(crate) name: Option<String>,
    /// Read the input from a file; without it from standard input
    #[arg(long = "in", value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub(crate) input: Option<PathBuf>,
    /// List the names of all calculations
    #[arg(long, conflicts_with_all = ["name", "input", "schema", "explain"])]
    pub(crate) list: bool,
    /// Print the JSON Schema of input and output
    #[arg(long, conflicts_with_all = ["input", "explain"])]
    pub(crate) schema: bool,
    /// Print formula, units, valid range and source
    #[arg(long, conflicts_with = "input")]
    pub(crate) explain: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Completions {
    /// The shell
    pub(crate) shell: Shell,
}

/// A day, in this one form only.
fn day(text: &str) -> Result<Date, String> {
    text.parse::<Date>()
        .ok()
        .filter(|it| it.to_string() == text)
        .ok_or_else(|| "not a day; write YYYY-MM-DD".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_definition_is_sound() {
        Cli::command().debug_assert();
    }

    /// An edition is given out as it was; what would weigh or draw it anew is not passed over in silence.
    #[test]
    fn an_edition_is_not_asked_for_with_weights_or_draws() {
        let read = |more: &[&str]| {
            let asked = ["boxworth", "publish", "--edition", "1"];
            Cli::try_parse_from(asked.iter().chain(more).copied()).is_ok()
        };
        assert!(read(&["--to", "out"]));
        for more in [
            ["--weights", "cabinet=1"],
            ["--seed", "3"],
            ["--draws", "500"],
            ["--kappa", "20"],
            ["--kind", "floor-standing"],
        ] {
            assert!(!read(&more), "{more:?} was accepted");
        }
    }

    #[test]
    fn days_have_one_form() {
        assert!(day("2026-11-25").is_ok());
        for bad in ["2026-11-31", "20261125", "2026-11-25T00:00", "26-11-25", "2026-11", ""] {
            assert!(day(bad).is_err(), "{bad} was accepted");
        }
    }
}
