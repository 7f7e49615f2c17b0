//! The arguments of `boxworth photo`.

use std::path::PathBuf;

use clap::{Subcommand, ValueHint};

#[derive(Debug, Subcommand)]
pub(crate) enum Photo {
    /// Keep a photo; location and all else but the picture is taken out first
    Add {
        /// The product, MAKER/MODEL
        product: String,
        /// A JPEG, PNG or WebP picture
        #[arg(value_hint = ValueHint::FilePath)]
        file: PathBuf,
        /// What it shows: a part such as woofer, a finding such as woofer.basket; without it the product
        #[arg(long, value_name = "PART[.KEY]", default_value = "")]
        of: String,
        /// What it shows, in words
        #[arg(long, value_name = "TEXT", default_value = "")]
        caption: String,
        /// The specimen; without it that of the newest teardown
        #[arg(long, value_name = "LABEL")]
        specimen: Option<String>,
        /// The day of the teardown; without it the newest one
        #[arg(long, value_name = "YYYY-MM-DD")]
        date: Option<String>,
        /// Why; kept with the change
        #[arg(long, value_name = "TEXT", default_value = "")]
        reason: String,
    },
    /// List the photos of a product
    List {
        /// The product, MAKER/MODEL
        product: String,
    },
    /// Show what is known of a photo, and where its file is
    Show {
        /// The product, MAKER/MODEL
        product: String,
        /// The photo, as the list names it
        photo: String,
        /// Copy the file there
        #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
        out: Option<PathBuf>,
    },
    /// Give a photo another caption, or let it show something else
    Change {
        /// The product, MAKER/MODEL
        product: String,
        /// The photo, as the list names it
        photo: String,
        /// What it shows, in words
        #[arg(long, value_name = "TEXT")]
        caption: Option<String>,
        /// What it shows: a part or a finding
        #[arg(long, value_name = "PART[.KEY]")]
        of: Option<String>,
        /// Why; kept with the change
        #[arg(long, value_name = "TEXT", default_value = "")]
        reason: String,
    },
    /// Take a photo out; undo brings it back
    Remove {
        /// The product, MAKER/MODEL
        product: String,
        /// The photo, as the list names it
        photo: String,
        /// Why; kept with the change
        #[arg(long, value_name = "TEXT", default_value = "")]
        reason: String,
    },
    /// Delete files of photos that neither the catalogue nor a copy of it names
    Clean {
        /// Also those of photos that were taken out; undo no longer brings their picture back
        #[arg(long)]
        taken_out: bool,
        /// Only say which
        #[arg(long)]
        dry_run: bool,
    },
}
