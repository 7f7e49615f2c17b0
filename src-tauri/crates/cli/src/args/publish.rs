//! Options of publishing, of editions and of the catalogue as one text.

use std::path::PathBuf;

use clap::{Args, ValueHint};

use super::How;

#[derive(Debug, Args)]
pub(crate) struct Publish {
    /// The price band, such as 200..500
    #[arg(value_name = "LOW..HIGH", required_unless_present_any = ["edition", "show_definition"])]
    pub(crate) band: Option<String>,
    /// The folder to write to; without it nothing is written
    #[arg(long, value_name = "FOLDER", value_hint = ValueHint::DirPath)]
    pub(crate) to: Option<PathBuf>,
    /// Only these formats: md, html, pdf, xlsx, csv, json, jsonld, svg, png; an edition keeps all
    #[arg(long, value_name = "FORMAT,…", value_delimiter = ',')]
    pub(crate) format: Vec<String>,
    /// Write this edition again, byte for byte
    #[arg(long, value_name = "NUMBER", conflicts_with_all = ["band", "draft", "definition", "kind", "weights", "draws", "seed", "kappa", "threads"])]
    pub(crate) edition: Option<u32>,
    /// What it shall hold, as --show-definition prints it [default: what the band's last edition held]
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub(crate) definition: Option<PathBuf>,
    /// Print the definition in use, to go on from
    #[arg(long)]
    pub(crate) show_definition: bool,
    /// Keep nothing; every page says that it is a draft
    #[arg(long)]
    pub(crate) draft: bool,
    /// Replace files of other content in the folder
    #[arg(long)]
    pub(crate) replace: bool,
    #[command(flatten)]
    pub(crate) how: How,
}

#[derive(Debug, Args)]
pub(crate) struct Editions {
    /// Compute this edition anew from what it was made of and say what differs
    #[arg(long, value_name = "NUMBER")]
    pub(crate) check: Option<u32>,
}

#[derive(Debug, Args)]
pub(crate) struct Export {
    /// The file to write; it must not exist
    #[arg(value_hint = ValueHint::FilePath)]
    pub(crate) file: PathBuf,
}
