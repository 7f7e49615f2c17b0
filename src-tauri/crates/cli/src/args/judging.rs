//! The judgement: the numbers that score, and the plugins that hold them.

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueHint};

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
