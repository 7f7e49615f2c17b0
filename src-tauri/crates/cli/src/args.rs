//! The command line as types: parsing, help, man page and completions all come from here.

use std::{collections::BTreeMap, path::PathBuf};

use clap::{Args, Parser, Subcommand, ValueHint};
use clap_complete::Shell;
use engine::Date;

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
    /// Rank the products of a price band
    Band(Band),
    /// List the numbers that score and change them in this catalogue
    #[command(args_conflicts_with_subcommands = true)]
    Rubric(Rubric),
    /// List scoring plugins and decide which to trust
    #[command(subcommand)]
    Plugin(Plugin),
    /// Check the catalogue and this installation
    Doctor,
    /// Do one calculation, JSON in and JSON out
    Compute(Compute),
    /// Print the JSON Schema of a product file
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
    /// A folder with catalogue.toml, or product files
    #[arg(required = true, value_name = "PATH", value_hint = ValueHint::AnyPath)]
    pub(crate) paths: Vec<PathBuf>,
    /// Check and count, change nothing
    #[arg(long)]
    pub(crate) dry_run: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Products {
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
pub(crate) struct Band {
    /// The price band, such as 200..500
    #[arg(value_name = "LOW..HIGH")]
    pub(crate) band: String,
    /// Only stand-mount or floor-standing products
    #[arg(long)]
    pub(crate) kind: Option<String>,
    /// Weights of subsystems, such as cabinet=25,driver=35,crossover=30,wiring=10
    #[arg(long, value_name = "NAME=NUMBER,…", value_parser = weights)]
    pub(crate) weights: Option<Weights>,
    /// Say all that is missing of products that are not ranked
    #[arg(long)]
    pub(crate) all: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Rubric {
    #[command(subcommand)]
    pub(crate) action: Option<RubricAction>,
    /// Only the numbers of this plugin, with what they do; its id or subsystem, such as cabinet
    #[arg(long, value_name = "ID")]
    pub(crate) plugin: Option<String>,
    /// Only what this catalogue changes
    #[arg(long)]
    pub(crate) changed: bool,
    /// All changes ever made, newest first
    #[arg(long, conflicts_with_all = ["plugin", "changed"])]
    pub(crate) history: bool,
}

#[derive(Debug, Subcommand)]
pub(crate) enum RubricAction {
    /// Change a number in this catalogue
    Set {
        /// Which, as listed: cabinet.criterion.panel_mode.weight
        address: String,
        /// A number, or pairs as listed: "120: 0, 200: 30"
        #[arg(allow_hyphen_values = true)]
        value: String,
        /// Why; it is kept with the change
        #[arg(long, value_name = "TEXT")]
        reason: String,
    },
    /// Go back to what the plugin says
    Reset {
        /// Which, as listed
        address: String,
    },
}

/// Weights by subsystem.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Weights(pub(crate) BTreeMap<String, f64>);

#[derive(Debug, Subcommand)]
pub(crate) enum Plugin {
    /// List plugins, who trusts them and how they are shut in
    List,
    /// Trust a plugin file as it is now
    Trust {
        /// The dynamic library
        #[arg(value_hint = ValueHint::FilePath)]
        file: PathBuf,
    },
    /// Trust a plugin no longer
    Revoke {
        /// Its file, or its SHA-256 as listed
        #[arg(value_name = "FILE|SHA256")]
        plugin: String,
    },
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

fn weights(text: &str) -> Result<Weights, String> {
    let mut weights = BTreeMap::new();
    for pair in text.split(',') {
        let (name, number) =
            pair.split_once('=').ok_or_else(|| format!("{pair:?} is not NAME=NUMBER"))?;
        let number: f64 =
            number.trim().parse().map_err(|_| format!("{number:?} is not a number"))?;
        if weights.insert(name.trim().to_owned(), number).is_some() {
            return Err(format!("{name:?} is weighed twice"));
        }
    }
    Ok(Weights(weights))
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_definition_is_sound() {
        Cli::command().debug_assert();
    }

    #[test]
    fn days_have_one_form() {
        assert!(day("2026-11-25").is_ok());
        for bad in ["2026-11-31", "20261125", "2026-11-25T00:00", "26-11-25", "2026-11", ""] {
            assert!(day(bad).is_err(), "{bad} was accepted");
        }
    }

    #[test]
    fn weights_are_pairs() {
        let read = weights("cabinet=25, driver = 35.5").unwrap();
        assert_eq!(
            read.0,
            BTreeMap::from([("cabinet".to_owned(), 25.0), ("driver".to_owned(), 35.5)])
        );
        for bad in ["", "cabinet", "cabinet=", "cabinet=a lot", "cabinet=1,cabinet=2", "a=1,"] {
            assert!(weights(bad).is_err(), "{bad} was accepted");
        }
    }
}
