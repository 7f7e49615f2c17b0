//! The command line as types: parsing, help, man page and completions all come from here.

mod bench;
mod keeping;
pub(crate) mod parts;
pub(crate) mod photo;
mod publish;

use std::{collections::BTreeMap, path::PathBuf};

use clap::{Args, Parser, Subcommand, ValueHint};
use clap_complete::Shell;
use engine::Date;

pub(crate) use bench::{Add, Bench};
pub(crate) use keeping::{Backup, Doctor, History, Restore};
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

#[derive(Debug, Subcommand)]
pub(crate) enum Price {
    /// Enter a price, or correct the one of the same date, kind, seller and shop
    Add(AddPrice),
    /// List all prices of a product, and which of them count
    List {
        /// The key, such as marrowfield/stile-5
        product: String,
    },
    /// Withdraw a price that was noted in error
    Withdraw {
        #[command(flatten)]
        which: WhichPrice,
        /// Why; it is kept with the change
        #[arg(long, value_name = "TEXT", default_value = "")]
        reason: String,
    },
}

#[derive(Debug, Args)]
pub(crate) struct AddPrice {
    /// The key, such as marrowfield/stile-5
    pub(crate) product: String,
    /// What was asked for what, such as 249, '129 each', '599 set of 5', '129 EUR each'
    pub(crate) price: String,
    /// When: a day, a month or a year; without it today
    #[arg(long, value_name = "YYYY-MM-DD")]
    pub(crate) date: Option<String>,
    /// list, street or sale; without it street
    #[arg(long)]
    pub(crate) kind: Option<String>,
    /// maker, authorised, marketplace or used; without it the maker for list prices, else authorised
    #[arg(long)]
    pub(crate) seller: Option<String>,
    /// Which shop, where one day has several prices
    #[arg(long, value_name = "NAME", default_value = "")]
    pub(crate) shop: String,
    /// A remark on the price
    #[arg(long, value_name = "TEXT", default_value = "")]
    pub(crate) note: String,
    /// Say how it is understood, save nothing
    #[arg(long)]
    pub(crate) dry_run: bool,
    /// The date of a price that this one corrects
    #[arg(long, value_name = "DATE")]
    pub(crate) instead_of: Option<String>,
    /// Why; it is kept with the change
    #[arg(long, value_name = "TEXT", default_value = "")]
    pub(crate) reason: String,
}

#[derive(Debug, Args)]
pub(crate) struct WhichPrice {
    /// The key, such as marrowfield/stile-5
    pub(crate) product: String,
    /// Its date, as listed
    pub(crate) date: String,
    /// Its kind, where the date has several
    #[arg(long)]
    pub(crate) kind: Option<String>,
    /// Its seller, where the date has several
    #[arg(long)]
    pub(crate) seller: Option<String>,
    /// Its shop, where the date has several
    #[arg(long, value_name = "NAME")]
    pub(crate) shop: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct Band {
    #[command(flatten)]
    pub(crate) asked: Asked,
    /// Say all that is missing of products that are not ranked
    #[arg(long)]
    pub(crate) all: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Bands {
    /// Only stand-mount or floor-standing products
    #[arg(long)]
    pub(crate) kind: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct Compare {
    /// Two to five keys, such as marrowfield/stile-5
    #[arg(required = true, num_args = 2..=5, value_name = "PRODUCT")]
    pub(crate) products: Vec<String>,
    /// Weights of subsystems, such as cabinet=25,driver=35,crossover=30,wiring=10
    #[arg(long, value_name = "NAME=NUMBER,…", value_parser = weights)]
    pub(crate) weights: Option<Weights>,
    /// The seed of the draws; without it 0
    #[arg(long, value_name = "NUMBER")]
    pub(crate) seed: Option<u32>,
}

/// A question about a price band.
#[derive(Debug, Args)]
pub(crate) struct Asked {
    /// The price band, such as 200..500
    #[arg(value_name = "LOW..HIGH")]
    pub(crate) band: String,
    #[command(flatten)]
    pub(crate) how: How,
}

/// How to weigh and to draw.
#[derive(Debug, Args)]
pub(crate) struct How {
    /// Only stand-mount or floor-standing products
    #[arg(long)]
    pub(crate) kind: Option<String>,
    /// Weights of subsystems, such as cabinet=25,driver=35,crossover=30,wiring=10
    #[arg(long, value_name = "NAME=NUMBER,…", value_parser = weights)]
    pub(crate) weights: Option<Weights>,
    /// Draws of weights, 100 to 1000000; without it 10000
    #[arg(long, value_name = "NUMBER")]
    pub(crate) draws: Option<u32>,
    /// The seed of the draws; without it 0
    #[arg(long, value_name = "NUMBER")]
    pub(crate) seed: Option<u32>,
    /// How closely drawn weights lie around those asked for, 1 to 10000; without it 40
    #[arg(long, value_name = "NUMBER")]
    pub(crate) kappa: Option<f64>,
    /// Compute on so many cores, which changes no number; without it on all
    #[arg(long, value_name = "NUMBER")]
    pub(crate) threads: Option<u32>,
}

#[derive(Debug, Args)]
pub(crate) struct WhatIf {
    /// The key, such as marrowfield/stile-5
    pub(crate) product: String,
    /// The price band, such as 200..500
    #[arg(long, value_name = "LOW..HIGH")]
    pub(crate) band: String,
    /// A finding as you would type it, such as cabinet.wall_damping='damping sheet'; may stand several times
    #[arg(long, value_name = "PART.KEY=VALUE", value_parser = pair)]
    pub(crate) set: Vec<(String, String)>,
    /// How the new findings would be known, such as measured or claimed
    #[arg(long, value_name = "GRADE")]
    pub(crate) evidence: Option<String>,
    /// A price as you would type it, such as 249 or '129 each'
    #[arg(long, value_name = "AMOUNT")]
    pub(crate) price: Option<String>,
    /// Weights after the change; --weights are those before
    #[arg(long, value_name = "NAME=NUMBER,…", value_parser = weights)]
    pub(crate) to_weights: Option<Weights>,
    #[command(flatten)]
    pub(crate) how: How,
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
    /// Write a complete small plugin, to go on from
    New(NewPlugin),
    /// Check whether a plugin file keeps the rules of plugins; it is not trusted by it
    Check {
        /// The dynamic library
        #[arg(value_hint = ValueHint::FilePath)]
        file: PathBuf,
        /// Only this check, by its id; may stand several times
        #[arg(long, value_name = "ID")]
        only: Vec<String>,
    },
    /// Trust a plugin file as it is now
    Trust {
        /// The dynamic library
        #[arg(value_hint = ValueHint::FilePath)]
        file: PathBuf,
    },
    /// Lift the quarantine of a plugin that failed too often
    Release {
        /// Its file, or its SHA-256 as listed
        #[arg(value_name = "FILE|SHA256")]
        plugin: String,
    },
    /// Trust a plugin no longer
    Revoke {
        /// Its file, or its SHA-256 as listed
        #[arg(value_name = "FILE|SHA256")]
        plugin: String,
    },
}

#[derive(Debug, Args)]
pub(crate) struct NewPlugin {
    /// The subsystem it scores, such as finish: a-z, 0-9 and _, a letter first
    pub(crate) name: String,
    /// The language: rust or c
    #[arg(long)]
    pub(crate) lang: String,
    /// Your reversed domain; with the name it is the plugin's id
    #[arg(long, default_value = "org.example")]
    pub(crate) domain: String,
    /// The folder to write into; without it one of that name here
    #[arg(long, value_name = "FOLDER", value_hint = ValueHint::DirPath)]
    pub(crate) into: Option<PathBuf>,
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

fn pair(text: &str) -> Result<(String, String), String> {
    text.split_once('=')
        .map(|(address, value)| (address.trim().to_owned(), value.trim().to_owned()))
        .filter(|(address, value)| !address.is_empty() && !value.is_empty())
        .ok_or_else(|| format!("{text:?} is not PART.KEY=VALUE"))
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

    #[test]
    fn a_finding_is_split_at_its_first_equals_sign() {
        assert_eq!(pair("cabinet.note = a=b").unwrap(), ("cabinet.note".into(), "a=b".into()));
        for bad in ["", "cabinet.joint", "=butt", "cabinet.joint="] {
            assert!(pair(bad).is_err(), "{bad} was accepted");
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
